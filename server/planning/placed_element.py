"""Elements of a half where strokes have brought them, in blocks that are tested together.

What an element meets depends only on where it is, so it is found once for each of its states; and
as all states of a half are few, they are found for all of them in one call.
"""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from server.geometry.solid import Solid
from server.geometry.solid_stack import SolidStack

Corner = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Element:
    """A face, or the zone of a bend hanging on its nearer face; `mask` has the strokes that place
    it, for a zone its own included.
    """

    kind: str
    index: int
    near: int
    mask: int


@dataclass(eq=False, frozen=True, slots=True)
class PlacedElement:
    """An element where some of its strokes have brought it, in the half's frame.

    There is one of it for every such state: what is found out about it is kept by it. `flat` while
    it lies in the plane of the bend line; the corners are of the box around it. It is known in its
    block by `place`.
    """

    element: Element
    flat: bool
    solids: tuple[Solid, ...]
    low_mm: Corner
    high_mm: Corner
    block: "PlacedBlock"
    place: int


class PlacedBlock:
    """Elements in some of their states, and their solids side by side.

    `first[place]` is the number of an element's first solid; one more entry ends the last.
    """

    def __init__(self, found: Sequence[tuple[Element, bool, tuple[Solid, ...]]]) -> None:
        self.stack = SolidStack([solid for _, _, solids in found for solid in solids])
        self.first = [0]
        for _, _, solids in found:
            self.first.append(self.first[-1] + len(solids))
        boxes = boxes_of(self.stack.corners, self.first)
        self.placed = tuple(
            PlacedElement(element, flat, solids, low, high, self, place)
            for place, ((element, flat, solids), (low, high)) in enumerate(
                zip(found, boxes, strict=True)
            )
        )

    @cached_property
    def owner(self) -> list[int]:
        """For each solid the place of its element."""
        return [
            place
            for place in range(len(self.placed))
            for _ in range(self.first[place], self.first[place + 1])
        ]

    @cached_property
    def rows_of(self) -> list[range]:
        """For each element the numbers of its solids."""
        return [range(start, end) for start, end in itertools.pairwise(self.first)]

    @cached_property
    def rows(self) -> NDArray[np.intp]:
        """The numbers of all solids."""
        return np.arange(self.stack.count)

    @cached_property
    def rows_not_flat(self) -> NDArray[np.intp]:
        """The numbers of the solids that do not lie in the plane of the bend line."""
        flat = [self.placed[place].flat for place in self.owner]
        return np.nonzero(~np.array(flat, dtype=bool))[0]


def boxes_of(corners: np.ndarray, first: Sequence[int]) -> list[tuple[Corner, Corner]]:
    """Least and greatest corner of each element's solids; of nothing, a box nothing is near to."""
    lows, highs = corners.min(axis=1), corners.max(axis=1)
    counts = [end - start for start, end in itertools.pairwise(first)]
    starts = [start for start, count in zip(first, counts, strict=False) if count]
    none: tuple[Corner, Corner] = ((math.inf,) * 3, (-math.inf,) * 3)
    if not starts:
        return [none] * len(counts)
    least = iter(np.minimum.reduceat(lows, starts).tolist())
    most = iter(np.maximum.reduceat(highs, starts).tolist())
    found: list[tuple[Corner, Corner]] = []
    for count in counts:
        if count:
            (x0, y0, z0), (x1, y1, z1) = next(least), next(most)
            found.append(((x0, y0, z0), (x1, y1, z1)))
        else:
            found.append(none)
    return found
