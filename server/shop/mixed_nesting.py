"""Different parts on shared sheets: rectpack's heuristics, the best of several, and the rest left."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Literal

from server.errors import Amount, ShopError, say
from server.shop.sheet_room import (
    UM_PER_MM,
    Blank,
    Free,
    NestSettings,
    Place,
    Remnant,
    Sheet,
    SheetRoom,
    Turn,
    exceeds_sheet,
    need_quantity,
    turn_for,
)

Lay = Literal["as given", "flat", "upright"]
Rect = tuple[int, int, int, int, int]
"""Corner, sides in micrometres, and the index of the blank."""

LAYS: tuple[Lay, ...] = ("as given", "flat", "upright")
MOST_PLACED = 600
MOST_THOROUGH = 80
"""Pieces up to which the slower heuristics are tried too."""


@dataclass(frozen=True, slots=True)
class MixedNest:
    """Different parts on shared sheets: where each lies, sheets needed and a bound on them."""

    sheet: Sheet
    sheets: tuple[tuple[Place, ...], ...]
    least_sheets_count: int
    used_ratio: float
    remnant: Remnant | None

    @property
    def sheets_count(self) -> int:
        """Sheets needed."""
        return len(self.sheets)


def nest_mixed(
    *,
    wanted: Sequence[tuple[Blank, int]],
    sheet: Sheet,
    settings: NestSettings | None = None,
) -> MixedNest:
    """Different blanks on shared sheets, by the best of several rectpack heuristics.

    Args:
        wanted: each blank with its quantity, 1 or more.
        sheet: the raw sheet, as many as it takes.
        settings: spacing, edge and least remnant.

    Returns: a `MixedNest`; fewest sheets, then the largest remnant.

    Raises: ShopError `out_of_range`, `blank_exceeds_sheet`, `nothing_to_nest`, or
        `too_many_to_nest` above `MOST_PLACED` pieces.

    References: rectpack (Apache 2.0), after J. Jylanki, A thousand ways to pack the bin (2010).
    """
    settings = settings or NestSettings()
    room = SheetRoom(sheet, settings)
    if not wanted:
        raise ShopError("nothing_to_nest", "No blank was given.", remedy="Give at least one.")
    total = 0
    for blank, quantity in wanted:
        need_quantity(quantity)
        total += quantity
        if not room.takes(room.inflated(blank), turn_for(blank, sheet)):
            raise exceeds_sheet(blank, sheet)
    if total > MOST_PLACED:
        raise ShopError(
            "too_many_to_nest",
            say(
                "{total} blanks of several parts are too many for one estimate.",
                total=Amount(total, "count"),
            ),
            remedy=say("Nest at most {most} at once.", most=Amount(MOST_PLACED, "count")),
        )
    packings = list(_packings(wanted, room))
    best = min(packings, key=lambda sheets: (len(sheets), -_rest_area(sheets[-1], room)))
    blank_area = sum(blank.area_mm2 * quantity for blank, quantity in wanted)
    inflated_area = sum(math.prod(room.inflated(blank)) * quantity for blank, quantity in wanted)
    rest = _largest_rest(best[-1], room)
    return MixedNest(
        sheet=sheet,
        sheets=tuple(tuple(_placed(rect, wanted, room) for rect in rects) for rects in best),
        least_sheets_count=-(-inflated_area // (room.width_um * room.height_um)),
        used_ratio=blank_area / (len(best) * sheet.area_mm2),
        remnant=room.remnant(rest),
    )


def _packings(wanted: Sequence[tuple[Blank, int]], room: SheetRoom) -> Iterator[list[list[Rect]]]:
    """Packings by several heuristics. rectpack turns all rectangles or none: where the grain keeps
    some from turning, the others are laid the same way up, flat, or upright beforehand.
    """
    import rectpack

    turns = [turn_for(blank, room.sheet) for blank, _ in wanted]
    all_free = all(turn == "free" for turn in turns)
    total = sum(quantity for _, quantity in wanted)
    quick = (rectpack.GuillotineBssfSas, rectpack.SkylineMwfl)
    slow = (rectpack.MaxRectsBssf, rectpack.MaxRectsBaf) if total <= MOST_THOROUGH else ()
    orders = (rectpack.SORT_AREA, rectpack.SORT_LSIDE, rectpack.SORT_SSIDE)
    for lay in LAYS[:1] if all_free else LAYS:
        sized = [
            _lying(room, blank, turn, lay) for (blank, _), turn in zip(wanted, turns, strict=True)
        ]
        for algorithm, order in product((*quick, *slow), orders):
            packer = rectpack.newPacker(pack_algo=algorithm, sort_algo=order, rotation=all_free)
            packer.add_bin(room.width_um, room.height_um, count=total)
            for index, (_, quantity) in enumerate(wanted):
                for _ in range(quantity):
                    packer.add_rect(*sized[index], rid=index)
            packer.pack()
            sheets: list[list[Rect]] = [[] for _ in range(len(packer))]
            for number, *rect in packer.rect_list():
                sheets[number].append(tuple(rect))
            if sum(map(len, sheets)) == total:
                yield sheets


def _lying(room: SheetRoom, blank: Blank, turn: Turn, lay: Lay) -> tuple[int, int]:
    """A blank's grown sides as they are to lie on the sheet."""
    width, height = room.inflated(blank)
    if turn == "free":
        long, short = max(width, height), min(width, height)
        ways = {"as given": (width, height), "flat": (long, short), "upright": (short, long)}
        chosen = ways[lay]
        fits = chosen[0] <= room.width_um and chosen[1] <= room.height_um
        return chosen if fits else chosen[::-1]
    return (width, height) if turn == "kept" else (height, width)


def _placed(rect: Rect, wanted: Sequence[tuple[Blank, int]], room: SheetRoom) -> Place:
    x, y, width, _, index = rect
    blank = wanted[index][0]
    turn = turn_for(blank, room.sheet)
    turned = turn == "turned" or (turn == "free" and width != room.inflated(blank)[0])
    across, up = (blank.height_mm, blank.width_mm) if turned else (blank.width_mm, blank.height_mm)
    return Place(
        index,
        (room.edge_um + x) / UM_PER_MM,
        (room.edge_um + y) / UM_PER_MM,
        across,
        up,
        turned=turned,
    )


def _largest_rest(rects: Sequence[Rect], room: SheetRoom) -> Free | None:
    """The largest empty rectangle: every maximal one is kept while the blanks are cut out."""
    free: list[Free] = [(0, 0, room.width_um, room.height_um)]
    for x, y, width, height, _ in rects:
        split: list[Free] = []
        for fx, fy, fw, fh in free:
            if x >= fx + fw or x + width <= fx or y >= fy + fh or y + height <= fy:
                split.append((fx, fy, fw, fh))
                continue
            split.extend(
                part
                for part in (
                    (fx, fy, x - fx, fh),
                    (x + width, fy, fx + fw - x - width, fh),
                    (fx, fy, fw, y - fy),
                    (fx, y + height, fw, fy + fh - y - height),
                )
                if part[2] > 0 and part[3] > 0
            )
        free = _maximal(split)
    return max(free, key=lambda rest: rest[2] * rest[3], default=None)


def _maximal(rests: Sequence[Free]) -> list[Free]:
    kept: list[Free] = []
    for rest in sorted(set(rests), key=lambda r: -r[2] * r[3]):
        x, y, width, height = rest
        if not any(
            k[0] <= x and k[1] <= y and k[0] + k[2] >= x + width and k[1] + k[3] >= y + height
            for k in kept
        ):
            kept.append(rest)
    return kept


def _rest_area(rects: Sequence[Rect], room: SheetRoom) -> int:
    rest = _largest_rest(rects, room)
    return rest[2] * rest[3] if rest else 0
