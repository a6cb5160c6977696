"""Figures of a quote and its sheet layout as plain values and back: what was offered stays so."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from server.errors import Sentence
from server.findings import Reason
from server.shop.blank_layout import GridBlock
from server.shop.nesting import EqualNest, block_places
from server.shop.quote_line import Line
from server.shop.sheet_room import Blank, NestSettings, Place
from server.storage.plain_finding import plain_reasons, plain_sentence, reasons_of, sentence_of


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure as it was worked out: what it is, its money, why, and what it is made of."""

    name: str
    told: Sentence
    cost_minor: int
    reason: Reason
    parts: tuple["Figure", ...]

    def walk(self) -> Iterator["Figure"]:
        """The figure and everything below it, parents first."""
        yield self
        for part in self.parts:
            yield from part.walk()

    def find(self, name: str) -> "Figure | None":
        """The figure of this name here or below."""
        return next((figure for figure in self.walk() if figure.name == name), None)


def plain_line(line: Line, *, digits: int) -> dict[str, Any]:
    """A line of a quote with everything below it."""
    return {
        "name": line.name,
        "told": plain_sentence(line.told),
        "cost_minor": line.cost_minor(digits),
        "reason": plain_reasons([line.reason(digits)])[0],
        "parts": [plain_line(part, digits=digits) for part in line.parts],
    }


def figure_of(plain: Mapping[str, Any]) -> Figure:
    """The figure that `plain_line` wrote."""
    return Figure(
        name=plain["name"],
        told=sentence_of(plain["told"]),
        cost_minor=int(plain["cost_minor"]),
        reason=reasons_of([plain["reason"]])[0],
        parts=tuple(figure_of(part) for part in plain["parts"]),
    )


@dataclass(frozen=True, slots=True)
class SheetLayout:
    """How the blanks lie on one full sheet, as the price was worked out with it."""

    sheet_width_mm: float
    sheet_height_mm: float
    per_sheet_count: int
    bound_count: int
    used_ratio: float
    places: tuple[Place, ...]


def plain_layout(nest: EqualNest) -> dict[str, Any]:
    """A full sheet's layout."""
    return {
        "sheet_mm": [nest.sheet.width_mm, nest.sheet.height_mm],
        "blank_mm": [nest.blank.width_mm, nest.blank.height_mm],
        "spacing_mm": nest.settings.spacing_mm,
        "edge_mm": nest.settings.edge_mm,
        "per_sheet": nest.per_sheet_count,
        "bound": nest.bound_per_sheet_count,
        "used_ratio": nest.full_sheet_used_ratio,
        "blocks": [
            [block.x_um, block.y_um, block.columns_count, block.rows_count, block.turned]
            for block in nest.blocks
        ],
    }


def layout_of(plain: Mapping[str, Any]) -> SheetLayout:
    """The layout that `plain_layout` wrote."""
    width_mm, height_mm = plain["blank_mm"]
    settings = NestSettings(plain["spacing_mm"], plain["edge_mm"])
    blocks = [GridBlock(*block) for block in plain["blocks"]]
    return SheetLayout(
        sheet_width_mm=plain["sheet_mm"][0],
        sheet_height_mm=plain["sheet_mm"][1],
        per_sheet_count=plain["per_sheet"],
        bound_count=plain["bound"],
        used_ratio=plain["used_ratio"],
        places=tuple(block_places(Blank(width_mm, height_mm), settings, blocks)),
    )
