"""How many equal rectangles one sheet gives, with the layout and a bound that says how sure.

Lengths are whole micrometres, so that nothing overlaps by a rounding. Three searches, the best
wins: all guillotine layouts (exact, by dynamic programming over the widths and heights that pieces
can add up to), the pinwheel of five such blocks (a first-order non-guillotine layout), and plain
grid blocks for very small pieces. The count is proven best where it meets the bound.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

IntArray = NDArray[np.int64]

MOST_TABLE_CELLS = 3000
MOST_PINWHEELS = 2_000_000
MOST_EDGE_COLUMNS = 200
_NO_CUT, _CUT_WIDTH, _CUT_HEIGHT, _GRID, _GRID_TURNED = range(5)


@dataclass(frozen=True, slots=True)
class GridBlock:
    """A block of equal pieces in columns and rows, its corner at (x, y). Lengths in micrometres."""

    x_um: int
    y_um: int
    columns_count: int
    rows_count: int
    turned: bool

    @property
    def pieces_count(self) -> int:
        """Pieces in the block."""
        return self.columns_count * self.rows_count


@dataclass(frozen=True, slots=True)
class EqualLayout:
    """A layout of equal pieces: blocks, count, and the most that any layout could hold."""

    blocks: tuple[GridBlock, ...]
    count: int
    bound_count: int

    @property
    def proven_best(self) -> bool:
        """True when no layout can hold more."""
        return self.count == self.bound_count


def barnes_bound(*, width: int, height: int, long_side: int, short_side: int) -> int:
    """The most a x b rectangles that fit a rectangle, turned or not, by the waste of their rods.

    Formula: (W H - max over c in (a, b) of min(r s, (c-r)(c-s))) // (a b), r = W mod c, s = H mod c

    Args:
        width: width of the rectangle to fill, whole units [count].
        height: its height [count].
        long_side: one side of the pieces [count].
        short_side: the other side [count].

    Returns: the bound [count].

    References: F. W. Barnes, Packing the maximum number of m x n tiles in a large p x q rectangle,
        Discrete Mathematics 26 (1979) 93-100.

    >>> barnes_bound(width=5, height=5, long_side=3, short_side=1)
    8
    """
    waste = 0
    for rod in (long_side, short_side):
        r, s = width % rod, height % rod
        waste = max(waste, min(r * s, (rod - r) * (rod - s)))
    return (width * height - waste) // (long_side * short_side)


def grid_layout(*, width: int, height: int, piece_width: int, piece_height: int) -> EqualLayout:
    """The one best layout when pieces may not be turned: columns and rows.

    >>> grid_layout(width=10, height=7, piece_width=3, piece_height=2).count
    9
    """
    columns, rows = width // piece_width, height // piece_height
    blocks = (GridBlock(0, 0, columns, rows, turned=False),) if columns and rows else ()
    return EqualLayout(blocks, columns * rows, columns * rows)


class TurnedLayouts:
    """Layouts of one piece, turned or not, in a rectangle and in every smaller one.

    The table over all widths and heights also answers how little of the sheet a few pieces need.
    """

    def __init__(self, *, width: int, height: int, piece_width: int, piece_height: int) -> None:
        self.grain = math.gcd(piece_width, piece_height)
        self.piece = (piece_width // self.grain, piece_height // self.grain)
        self.width, self.height = width // self.grain, height // self.grain
        xs, ys = (_sums(self.piece, most) for most in (self.width, self.height))
        if xs is not None and ys is not None and len(xs) * len(ys) <= MOST_TABLE_CELLS:
            self.tabled, self.xs, self.ys = True, xs, ys
        else:
            self.tabled = False
            self.xs, self.ys = (_multiples(self.piece, m) for m in (self.width, self.height))
        self.bound = barnes_bound(
            width=int(self.xs[-1]) if self.tabled else self.width,
            height=int(self.ys[-1]) if self.tabled else self.height,
            long_side=self.piece[0],
            short_side=self.piece[1],
        )

    @cached_property
    def best(self) -> EqualLayout:
        """The best layout found for the whole rectangle."""
        layout = self._guillotine_layout(len(self.xs) - 1, len(self.ys) - 1)
        if layout.count < self.bound and self.tabled:
            layout = self._pinwheel_layout(layout)
        return layout

    def shortest_strip(self, count: int, *, along_width: bool) -> int | None:
        """The narrowest full strip of the sheet that holds so many pieces; None when none does."""
        counts = self._table[0][:, -1] if along_width else self._table[0][-1, :]
        sizes = self.xs if along_width else self.ys
        fitting = np.flatnonzero(counts >= count)
        return int(sizes[fitting[0]]) * self.grain if fitting.size else None

    def strip_layout(self, strip: int, *, along_width: bool) -> EqualLayout:
        """The layout in a strip whose width is one of the table's."""
        size = strip // self.grain
        if along_width:
            return self._guillotine_layout(int(np.searchsorted(self.xs, size)), len(self.ys) - 1)
        return self._guillotine_layout(len(self.xs) - 1, int(np.searchsorted(self.ys, size)))

    @cached_property
    def _table(self) -> tuple[IntArray, IntArray, IntArray]:
        """Best guillotine count, kind of choice and place of the cut for every width and height."""
        xs, ys, (a, b) = self.xs, self.ys, self.piece
        plain = (xs // a)[:, None] * (ys // b)[None, :]
        turned = (xs // b)[:, None] * (ys // a)[None, :]
        count = np.maximum(plain, turned)
        kind = np.where(plain >= turned, _GRID, _GRID_TURNED).astype(np.int64)
        place = np.zeros_like(count)
        rest_of = [_floor_index(ys, y - ys[: j // 2 + 1]) for j, y in enumerate(ys)]
        for i, x in enumerate(xs):
            cuts = np.arange(1, i)
            cuts = cuts[xs[cuts] <= x // 2]
            if cuts.size:
                both = count[cuts] + count[_floor_index(xs, x - xs[cuts])]
                chosen = both.argmax(axis=0)
                _keep_better(count, kind, place, i, both.max(axis=0), cuts[chosen])
            row = count[i]
            for j in range(2, len(ys)):
                half = rest_of[j]
                both = row[1 : len(half)] + row[half[1:]]
                if both.size and (most := both.max()) > row[j]:
                    row[j], kind[i, j] = most, _CUT_HEIGHT
                    place[i, j] = int(both.argmax()) + 1
        return count, kind, place

    def _guillotine_layout(self, i: int, j: int) -> EqualLayout:
        blocks = tuple(self._blocks(i, j, 0, 0))
        return EqualLayout(blocks, sum(b.pieces_count for b in blocks), self.bound)

    def _blocks(self, i: int, j: int, x: int, y: int) -> Iterator[GridBlock]:
        count, kind, place = self._table
        if not count[i, j]:
            return
        a, b = self.piece
        width, height = int(self.xs[i]), int(self.ys[j])
        cut = int(place[i, j])
        match int(kind[i, j]):
            case 1:
                yield from self._blocks(cut, j, x, y)
                rest = int(_floor_index(self.xs, width - self.xs[cut]))
                yield from self._blocks(rest, j, x + int(self.xs[cut]), y)
            case 2:
                yield from self._blocks(i, cut, x, y)
                rest = int(_floor_index(self.ys, height - self.ys[cut]))
                yield from self._blocks(i, rest, x, y + int(self.ys[cut]))
            case 3:
                yield self._grid(x, y, width // a, height // b, turned=False)
            case _:
                yield self._grid(x, y, width // b, height // a, turned=True)

    def _grid(self, x: int, y: int, columns: int, rows: int, *, turned: bool) -> GridBlock:
        return GridBlock(x * self.grain, y * self.grain, columns, rows, turned=turned)

    def _pinwheel_layout(self, known: EqualLayout) -> EqualLayout:
        """The best pinwheel of five guillotine blocks, where it beats the layout known."""
        xs, ys, count = self.xs, self.ys, self._table[0]
        if (len(xs) * len(ys)) ** 2 // 4 > MOST_PINWHEELS:
            return known
        x_rest, y_rest = (_floor_index(s, s[-1] - s) for s in (xs, ys))
        y_between = _floor_index(ys, np.maximum(ys[None, :] - ys[:, None], 0))
        upward = np.triu(np.ones((len(ys), len(ys)), dtype=bool), 1)
        most, chosen = known.count, None
        for x1 in range(1, len(xs) - 1):
            for x2 in range(x1 + 1, len(xs)):
                middle = int(_floor_index(xs, xs[x2] - xs[x1]))
                outer = (count[x2] + count[x1][y_rest])[:, None]
                inner = (count[x_rest[x2]] + count[x_rest[x1]][y_rest])[None, :]
                total = np.where(upward, outer + inner + count[middle][y_between], 0)
                if (found := int(total.max())) > most:
                    y1, y2 = divmod(int(total.argmax()), len(ys))
                    most, chosen = found, (x1, x2, y1, y2)
                    if most == self.bound:
                        return self._pinwheel(*chosen)
        return known if chosen is None else self._pinwheel(*chosen)

    def _pinwheel(self, x1: int, x2: int, y1: int, y2: int) -> EqualLayout:
        xs, ys = self.xs, self.ys
        left, right, low, high = int(xs[x1]), int(xs[x2]), int(ys[y1]), int(ys[y2])

        def right_of(edge: int) -> int:
            return int(_floor_index(xs, xs[-1] - edge))

        def above(edge: int) -> int:
            return int(_floor_index(ys, ys[-1] - edge))

        blocks = (
            *self._blocks(x2, y1, 0, 0),
            *self._blocks(right_of(right), y2, right, 0),
            *self._blocks(right_of(left), above(high), left, high),
            *self._blocks(x1, above(low), 0, low),
            *self._blocks(
                int(_floor_index(xs, right - left)), int(_floor_index(ys, high - low)), left, low
            ),
        )
        return EqualLayout(blocks, sum(b.pieces_count for b in blocks), self.bound)


def _keep_better(
    count: IntArray, kind: IntArray, place: IntArray, i: int, both: IntArray, cut: IntArray
) -> None:
    better = both > count[i]
    count[i] = np.where(better, both, count[i])
    kind[i] = np.where(better, _CUT_WIDTH, kind[i])
    place[i] = np.where(better, cut, place[i])


def _sums(piece: tuple[int, int], most: int) -> IntArray | None:
    """Every length up to `most` that whole pieces side by side can have; None when too many."""
    a, b = piece
    if (most // a + 1) * (most // b + 1) > 50 * MOST_TABLE_CELLS:
        return None
    sums = np.add.outer(
        np.arange(0, most + 1, a, dtype=np.int64), np.arange(0, most + 1, b, dtype=np.int64)
    )
    return np.unique(sums[sums <= most])


def _multiples(piece: tuple[int, int], most: int) -> IntArray:
    """A few useful lengths for very small pieces: multiples of a side, and what they leave."""
    chosen: set[int] = {0}
    for side, other in (piece, piece[::-1]):
        whole = most // side
        for columns in range(max(0, whole - min(other, MOST_EDGE_COLUMNS)), whole + 1):
            width = columns * side
            chosen.add(width + (most - width) // other * other)
        for columns in _spread(whole, 12):
            width = columns * side
            chosen.update((width, (most - width) // other * other))
    return np.array(sorted(chosen), dtype=np.int64)


def _spread(whole: int, steps: int) -> list[int]:
    return sorted({round(whole * n / steps) for n in range(steps + 1)})


def _floor_index(sizes: IntArray, values: IntArray | int) -> IntArray:
    """Index of the largest size that is not above each value."""
    return np.asarray(np.searchsorted(sizes, values, side="right") - 1)
