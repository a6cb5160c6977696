"""Price breaks of a part, every figure open to its parts."""

from typing import Annotated, Literal

from pydantic import Field

from server.actions.calc.body import Body, Count, Real
from server.shop.money import decimal_string, exact, rounded_minor
from server.shop.quote import Quote, QuoteBreak, QuoteRequest, quote
from server.shop.quote_cost import PartWork, Rates, SheetPrice, WorkTimes
from server.shop.quote_line import Line
from server.shop.sheet_room import Blank, Grain, NestSettings, Sheet

Size = Annotated[list[Real], Field(min_length=2, max_length=2)]


class MaterialBody(Body):
    """What the sheet costs and how large it is."""

    price_per_kg: Real
    density_kg_m3: Real
    sheet_mm: Size
    scrap_allowance: Real


class RatesBody(Body):
    """Rates in major units."""

    cut_per_hour: Real
    brake_per_hour: Real


class TimesBody(Body):
    """Times to count with."""

    cut_speed_mm_per_s: Real
    pierce_s: Real
    setup_min: Real
    tool_change_min: Real
    first_article_min: Real
    bend_s: Real
    load_s: Real = 0.0
    programming_min: Real = 0.0


class Request(Body):
    """One part at one or more quantities. `outline_area_mm2` is paid for where it is given."""

    quantities: Annotated[list[Count], Field(min_length=1, max_length=50)]
    material: MaterialBody
    thickness_mm: Real
    blank_mm: Size | None = None
    outline_area_mm2: Real | None = None
    cut_length_mm: Real
    pierces: Count
    bends: Count
    tool_changes: Count
    rates: RatesBody
    times: TimesBody
    margin: Real
    minimum_charge: Real = 0.0
    spacing_mm: Real = 0.0
    edge_mm: Real = 0.0
    grain: Grain = "any"
    overhead: Real = 0.0
    repeat: bool = False
    price_rule: Literal["total first", "unit first"] = "total first"

    def request(self) -> QuoteRequest:
        """The shop's own request."""
        sheet_width, sheet_height = self.material.sheet_mm
        blank = None
        if self.blank_mm is not None:
            width, height = self.blank_mm
            blank = Blank(width, height, self.grain)
        return QuoteRequest(
            part=PartWork(
                thickness_mm=self.thickness_mm,
                cut_length_mm=self.cut_length_mm,
                pierces_count=self.pierces,
                bends_count=self.bends,
                tool_changes_count=self.tool_changes,
                blank=blank,
                outline_area_mm2=self.outline_area_mm2,
            ),
            sheet_price=SheetPrice(
                price_per_kg=self.material.price_per_kg,
                density_kg_m3=self.material.density_kg_m3,
                sheet=Sheet(sheet_width, sheet_height),
                scrap_allowance=self.material.scrap_allowance,
            ),
            rates=Rates(**self.rates.model_dump()),
            times=WorkTimes(**self.times.model_dump()),
            quantities=tuple(self.quantities),
            margin=self.margin,
            minimum_charge_minor=rounded_minor(exact(self.minimum_charge)),
            overhead_ratio=self.overhead,
            nest=NestSettings(spacing_mm=self.spacing_mm, edge_mm=self.edge_mm),
            repeat=self.repeat,
            price_rule=self.price_rule,
        )


def answer(request: Request) -> dict[str, object]:
    """The price at each quantity; money as decimal strings, figures for the whole quantity."""
    priced = quote(request.request())
    first = priced.breaks[0].nest
    return {
        "breaks": [_break_as_json(one) for one in priced.breaks],
        "blanks_per_sheet": priced.blanks_per_sheet_count,
        "blanks_per_sheet_bound": first.bound_per_sheet_count if first else None,
        "rules": {
            "figures": "for the whole quantity; exact inside, rounded half-even when shown",
            "margin": "a share of the price: price = cost / (1 - margin)",
            "unit_price": _unit_price_rule(priced),
        },
    }


def _unit_price_rule(priced: Quote) -> str:
    if priced.request.price_rule == "unit first":
        return "rounded; total is exactly unit price x quantity"
    return "total / quantity, rounded; rounding is total less unit price x quantity"


def _break_as_json(one: QuoteBreak) -> dict[str, object]:
    return {
        "quantity": one.quantity_count,
        "material": decimal_string(one.cost_minor("material")),
        "cutting": decimal_string(one.cost_minor("cutting")),
        "bending": decimal_string(one.cost_minor("bending")),
        "setup": decimal_string(one.cost_minor("setup")),
        "overhead": decimal_string(one.cost_minor("overhead")),
        "cost": decimal_string(one.cost_minor("cost")),
        "margin": decimal_string(one.cost_minor("margin")),
        "unit_price": decimal_string(one.unit_price_minor),
        "total": decimal_string(one.total_minor),
        "rounding": decimal_string(one.rounding_minor),
        "minimum_applied": one.minimum_applied,
        "sheets": one.sheets_count,
        "used_ratio": one.nest.used_ratio if one.nest else None,
        "explained": _line_as_json(one.price),
    }


def _line_as_json(line: Line) -> dict[str, object]:
    return {
        "name": line.name,
        "told": str(line.told),
        "cost": decimal_string(line.cost_minor()),
        "formula": line.formula,
        "given": {given.name: str(given.value) for given in line.given},
        **({"parts": [_line_as_json(part) for part in line.parts]} if line.parts else {}),
    }
