"""A sheet's usable room in whole micrometres, and the blanks that are to lie on it."""

import math
from dataclasses import dataclass
from typing import Literal

from server.errors import Amount, ShopError, say
from server.mechanics.elementary import need_above, need_between
from server.shop.money import exact

Grain = Literal["any", "along_width", "along_height"]
Turn = Literal["free", "kept", "turned"]
Free = tuple[int, int, int, int]
"""A free rectangle: corner and sides in micrometres."""

UM_PER_MM = 1000
LONGEST_MM = 50_000.0


@dataclass(frozen=True, slots=True)
class Sheet:
    """A raw sheet, its grain (rolling direction) along its width or its height."""

    width_mm: float
    height_mm: float
    grain_along: Literal["width", "height"] = "width"

    @property
    def area_mm2(self) -> float:
        """Area of the sheet."""
        return self.width_mm * self.height_mm


@dataclass(frozen=True, slots=True)
class Blank:
    """The rectangle around one part's flat, and which of its sides has to lie along the grain."""

    width_mm: float
    height_mm: float
    grain: Grain = "any"
    name: str = ""

    @property
    def area_mm2(self) -> float:
        """Area of the rectangle."""
        return self.width_mm * self.height_mm


@dataclass(frozen=True, slots=True)
class NestSettings:
    """Room between blanks and at the sheet's edge; the least remnant worth keeping.

    Common practice, no source: spacing at least the thickness, rests under 200 mm are scrap.
    """

    spacing_mm: float = 0.0
    edge_mm: float = 0.0
    least_remnant_mm: float = 200.0


@dataclass(frozen=True, slots=True)
class Place:
    """One blank on the sheet: its corner and its sides as they lie."""

    blank: int
    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    turned: bool


@dataclass(frozen=True, slots=True)
class Remnant:
    """A rectangle left whole."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float

    @property
    def area_mm2(self) -> float:
        """Area of the rest."""
        return self.width_mm * self.height_mm


def need_quantity(quantity_count: int) -> None:
    """Refuse a quantity that is not a whole number of at least one.

    Raises: ShopError `no_quantity`.
    """
    if quantity_count < 1:
        raise ShopError(
            "no_quantity",
            say("A quantity of {count} cannot be made.", count=Amount(quantity_count, "count")),
            remedy="Ask for at least one.",
            where="quantity",
        )


class SheetRoom:
    """The usable part of a sheet in micrometres, grown by one spacing as every blank is."""

    def __init__(self, sheet: Sheet, settings: NestSettings) -> None:
        _need_lengths(sheet, settings)
        self.sheet, self.settings = sheet, settings
        self.spacing_um = _up(settings.spacing_mm)
        self.edge_um = _up(settings.edge_mm)
        self.width_um, self.height_um = (
            max(0, math.floor(exact(side) * UM_PER_MM) - 2 * self.edge_um + self.spacing_um)
            for side in (sheet.width_mm, sheet.height_mm)
        )

    def inflated(self, blank: Blank) -> tuple[int, int]:
        """A blank's sides with one spacing added, so that grown blanks may touch."""
        for side in (blank.width_mm, blank.height_mm):
            need_above("blank_mm", side, 0.0, "mm")
            need_between("blank_mm", side, 0.0, LONGEST_MM, "mm")
        return _up(blank.width_mm) + self.spacing_um, _up(blank.height_mm) + self.spacing_um

    def takes(self, inflated: tuple[int, int], turn: Turn) -> bool:
        """Whether a grown blank fits the room in a way it may lie."""
        ways = {"kept": (inflated,), "turned": (inflated[::-1],)}.get(
            turn, (inflated, inflated[::-1])
        )
        return any(w <= self.width_um and h <= self.height_um for w, h in ways)

    def remnant(self, rest: Free | None) -> Remnant | None:
        """A free rectangle of the grown room as a remnant of the real sheet, if worth keeping."""
        if rest is None:
            return None
        x, y, width, height = rest
        left = 0 if x == 0 else x + self.edge_um
        low = 0 if y == 0 else y + self.edge_um
        right, top = (
            whole if start + side >= room else start + side + self.edge_um - self.spacing_um
            for start, side, room, whole in (
                (x, width, self.width_um, math.floor(exact(self.sheet.width_mm) * UM_PER_MM)),
                (y, height, self.height_um, math.floor(exact(self.sheet.height_mm) * UM_PER_MM)),
            )
        )
        found = Remnant(*(um / UM_PER_MM for um in (left, low, right - left, top - low)))
        least = self.settings.least_remnant_mm
        return found if min(found.width_mm, found.height_mm) >= least else None


def turn_for(blank: Blank, sheet: Sheet) -> Turn:
    """How a blank may lie on a sheet, by its grain."""
    if blank.grain == "any":
        return "free"
    return "kept" if blank.grain == f"along_{sheet.grain_along}" else "turned"


def _up(length_mm: float) -> int:
    return math.ceil(exact(length_mm) * UM_PER_MM)


def _need_lengths(sheet: Sheet, settings: NestSettings) -> None:
    for side in (sheet.width_mm, sheet.height_mm):
        need_above("sheet_mm", side, 0.0, "mm")
        need_between("sheet_mm", side, 0.0, LONGEST_MM, "mm")
    need_between("spacing_mm", settings.spacing_mm, 0.0, 1000.0, "mm")
    need_between("edge_mm", settings.edge_mm, 0.0, 1000.0, "mm")


def exceeds_sheet(blank: Blank, sheet: Sheet) -> ShopError:
    """The trouble of a blank that no lay brings onto the sheet."""
    return ShopError(
        "blank_exceeds_sheet",
        say(
            "The blank of {width} x {height} does not fit the sheet of {sheet_width} x "
            "{sheet_height} with its edge and grain.",
            width=Amount(blank.width_mm, "mm"),
            height=Amount(blank.height_mm, "mm"),
            sheet_width=Amount(sheet.width_mm, "mm"),
            sheet_height=Amount(sheet.height_mm, "mm"),
        ),
        remedy="Use a larger sheet, less edge, or allow the blank to be turned.",
        where="blank_mm",
    )
