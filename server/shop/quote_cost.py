"""The cost lines of a quote: material, cutting, set-up, bending, other work, bought-out."""

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from server.errors import Amount, ShopError, say
from server.findings import Given
from server.mechanics.elementary import need_above, need_between
from server.shop.money import exact
from server.shop.nesting import EqualNest
from server.shop.quote_line import Line, money_given, summed
from server.shop.sheet_room import Blank, Sheet
from server.shop.time_standard import TimeFigure

Charge = Literal["by mass", "by sheet"]
HIGHEST_PRICE = 1e9
MM3_PER_M3 = 10**9
SECONDS_PER_HOUR = 3600
MINUTES_PER_HOUR = 60

REPEAT_FIRST_ARTICLE_RATIO = 0.5
"""Share of the first article's time a repeat still takes. Common practice, no source; a setting."""


@dataclass(frozen=True, slots=True)
class PartWork:
    """What is cut and bent of one part. At least one of blank and outline area has to be known.

    `outline_area_mm2` is the true area, holes left out; without it the blank's rectangle counts.
    """

    thickness_mm: float
    cut_length_mm: float
    pierces_count: int
    bends_count: int
    tool_changes_count: int = 0
    blank: Blank | None = None
    outline_area_mm2: float | None = None

    def __post_init__(self) -> None:
        need_above("thickness_mm", self.thickness_mm, 0.0, "mm")
        need_between("thickness_mm", self.thickness_mm, 0.0, 1000.0, "mm")
        need_between("cut_length_mm", self.cut_length_mm, 0.0, 1e9, "mm")
        need_between("pierces", self.pierces_count, 0, 1e6, "count")
        need_between("bends", self.bends_count, 0, 1e5, "count")
        need_between("tool_changes", self.tool_changes_count, 0, 1e4, "count")
        if self.outline_area_mm2 is not None:
            need_above("outline_area_mm2", self.outline_area_mm2, 0.0, "mm2")
            need_between("outline_area_mm2", self.outline_area_mm2, 0.0, 1e10, "mm2")
        elif self.blank is None:
            raise ShopError(
                "no_blank",
                "Neither the blank's sides nor the outline's area is given.",
                remedy="Give blank_mm, or outline_area_mm2.",
                where="blank_mm",
            )
        if self.blank is not None:
            for side in (self.blank.width_mm, self.blank.height_mm):
                need_above("blank_mm", side, 0.0, "mm")

    @property
    def net_area_mm2(self) -> Fraction:
        """The area that is paid for, exact."""
        if self.outline_area_mm2 is not None:
            return exact(self.outline_area_mm2)
        assert self.blank is not None
        return exact(self.blank.width_mm) * exact(self.blank.height_mm)


@dataclass(frozen=True, slots=True)
class SheetPrice:
    """The sheet the part is cut from and its price. Prices are in major units.

    `by mass` charges the parts' own mass and a scrap allowance; `by sheet` charges whole sheets
    less a credit for the remnant kept, for material bought for one job.
    """

    price_per_kg: float | Fraction
    density_kg_m3: float
    sheet: Sheet
    scrap_allowance: float
    charge: Charge = "by mass"
    remnant_credit_ratio: float = 0.0

    def __post_init__(self) -> None:
        need_between("price_per_kg", float(self.price_per_kg), 0.0, HIGHEST_PRICE, "ratio")
        need_above("density_kg_m3", self.density_kg_m3, 0.0, "ratio")
        need_between("density_kg_m3", self.density_kg_m3, 0.0, 30_000.0, "ratio")
        need_between("scrap_allowance", self.scrap_allowance, 0.0, 10.0, "ratio")
        need_between("remnant_credit_ratio", self.remnant_credit_ratio, 0.0, 1.0, "ratio")
        for side in (self.sheet.width_mm, self.sheet.height_mm):
            need_above("sheet_mm", side, 0.0, "mm")


@dataclass(frozen=True, slots=True)
class Rates:
    """What an hour costs the shop, in major units."""

    cut_per_hour: float | Fraction
    brake_per_hour: float | Fraction

    def __post_init__(self) -> None:
        need_between("cut_per_hour", float(self.cut_per_hour), 0.0, HIGHEST_PRICE, "ratio")
        need_between("brake_per_hour", float(self.brake_per_hour), 0.0, HIGHEST_PRICE, "ratio")


@dataclass(frozen=True, slots=True)
class WorkTimes:
    """Times a quote counts with. `bend_s` is one bend of one part, handling included.

    `load_s` is fetching and stacking one part; `people_count` work at the brake together. `bend` is
    the learned figure `bend_s` came from, for its spread.
    """

    cut_speed_mm_per_s: float
    pierce_s: float
    setup_min: float
    tool_change_min: float
    first_article_min: float
    bend_s: float
    load_s: float = 0.0
    programming_min: float = 0.0
    people_count: int = 1
    repeat_first_article_ratio: float = REPEAT_FIRST_ARTICLE_RATIO
    bend: TimeFigure | None = None

    def __post_init__(self) -> None:
        need_above("cut_speed_mm_per_s", self.cut_speed_mm_per_s, 0.0, "mm_per_s")
        for name in ("pierce_s", "bend_s", "load_s"):
            need_between(name, getattr(self, name), 0.0, 1e6, "s")
        for name in ("setup_min", "tool_change_min", "first_article_min", "programming_min"):
            need_between(name, getattr(self, name), 0.0, 1e6, "min")
        need_between("people_count", self.people_count, 1, 10, "count")
        need_between(
            "repeat_first_article_ratio", self.repeat_first_article_ratio, 0.0, 1.0, "ratio"
        )

    @property
    def bend_range_s(self) -> tuple[float, float]:
        """The short and the long end of what such bends take."""
        if self.bend is None:
            return self.bend_s, self.bend_s
        return min(self.bend.low_s, self.bend_s), max(self.bend.high_s, self.bend_s)


@dataclass(frozen=True, slots=True)
class OtherWork:
    """Another operation of our own: welding, deburring, packing."""

    name: str
    rate_per_hour: float | Fraction
    per_part_min: float
    setup_min: float = 0.0

    def __post_init__(self) -> None:
        need_between("rate_per_hour", float(self.rate_per_hour), 0.0, HIGHEST_PRICE, "ratio")
        need_between("per_part_min", self.per_part_min, 0.0, 1e6, "min")
        need_between("setup_min", self.setup_min, 0.0, 1e6, "min")


@dataclass(frozen=True, slots=True)
class Bought:
    """Something bought: inserts, powder coating outside. Prices in major units."""

    name: str
    per_part: float | Fraction
    per_order: float | Fraction = 0.0

    def __post_init__(self) -> None:
        need_between("per_part", float(self.per_part), 0.0, HIGHEST_PRICE, "ratio")
        need_between("per_order", float(self.per_order), 0.0, HIGHEST_PRICE, "ratio")


def material_line(
    *, part: PartWork, price: SheetPrice, quantity: int, nest: EqualNest | None, sheets: int
) -> Line:
    """Material: mass x price x (1 + scrap allowance), or whole sheets less the remnant's credit."""
    per_kg, each_kg = exact(price.price_per_kg), _mass_kg(part.net_area_mm2, part, price)
    if price.charge == "by mass":
        return Line(
            "material",
            say("Material by the parts' own mass"),
            quantity * each_kg * per_kg * (1 + exact(price.scrap_allowance)),
            "quantity x mass x price x (1 + scrap allowance)",
            (
                Given("n", "quantity", Amount(quantity, "count")),
                Given("m", "mass of one part", Amount(float(each_kg), "kg")),
                money_given("p", "price", per_kg, per=" per kg"),
                Given("s", "scrap allowance", Amount(price.scrap_allowance * 100, "percent")),
            ),
        )
    sheet = price.sheet
    sheet_kg = _mass_kg(exact(sheet.width_mm) * exact(sheet.height_mm), part, price)
    whole = Line(
        "sheets_bought",
        say("{n} sheets", n=Amount(sheets, "count")),
        sheets * sheet_kg * per_kg,
        "sheets x mass of a sheet x price",
        (
            Given("n", "sheets", Amount(sheets, "count")),
            Given("m", "mass of a sheet", Amount(float(sheet_kg), "kg")),
            money_given("p", "price", per_kg, per=" per kg"),
        ),
    )
    return summed("material", say("Material by whole sheets"), (whole, *_credit(nest, part, price)))


def _credit(nest: EqualNest | None, part: PartWork, price: SheetPrice) -> tuple[Line, ...]:
    if nest is None or nest.remnant is None or not price.remnant_credit_ratio:
        return ()
    rest = nest.remnant
    rest_kg = _mass_kg(exact(rest.width_mm) * exact(rest.height_mm), part, price)
    return (
        Line(
            "remnant_credit",
            say(
                "Remnant of {width} x {height} goes back to stock",
                width=Amount(rest.width_mm, "mm"),
                height=Amount(rest.height_mm, "mm"),
            ),
            -rest_kg * exact(price.price_per_kg) * exact(price.remnant_credit_ratio),
            "- mass of the remnant x price x credit",
            (
                Given("m", "mass of the remnant", Amount(float(rest_kg), "kg")),
                Given("c", "credit", Amount(price.remnant_credit_ratio * 100, "percent")),
            ),
        ),
    )


def cutting_line(*, part: PartWork, times: WorkTimes, rates: Rates, quantity: int) -> Line:
    """Cutting: contours at the cutting speed, and the pierces."""
    rate = exact(rates.cut_per_hour)
    moving_s = exact(part.cut_length_mm) / exact(times.cut_speed_mm_per_s)
    piercing_s = part.pierces_count * exact(times.pierce_s)
    speed = Given("v", "cutting speed", Amount(times.cut_speed_mm_per_s, "mm_per_s"))
    parts = (
        Line(
            "contours",
            say("Contours of {length}", length=Amount(part.cut_length_mm, "mm")),
            quantity * moving_s / SECONDS_PER_HOUR * rate,
            "quantity x length / speed x rate",
            (
                Given("n", "quantity", Amount(quantity, "count")),
                Given("l", "cut length", Amount(part.cut_length_mm, "mm")),
                speed,
                money_given("r", "cutter", rate, per=" per hour"),
            ),
        ),
        Line(
            "pierces",
            say("{n} pierces", n=Amount(part.pierces_count, "count")),
            quantity * piercing_s / SECONDS_PER_HOUR * rate,
            "quantity x pierces x pierce time x rate",
            (
                Given("n", "quantity", Amount(quantity, "count")),
                Given("k", "pierces", Amount(part.pierces_count, "count")),
                Given("t", "pierce time", Amount(times.pierce_s, "s")),
                money_given("r", "cutter", rate, per=" per hour"),
            ),
        ),
    )
    return summed("cutting", say("Cutting"), parts)


def setup_line(*, part: PartWork, times: WorkTimes, rates: Rates, repeat: bool) -> Line:
    """Once per order: tools, tool changes on the way, first article, programming when new."""
    rate = exact(rates.brake_per_hour)

    def minutes(name: str, told: str, each: Fraction, count: int = 1) -> Line:
        return Line(
            name,
            say(told),
            count * each / MINUTES_PER_HOUR * rate,
            "minutes x rate" if count == 1 else "count x minutes x rate",
            (
                Given("k", "count", Amount(count, "count")),
                Given("t", "time each", Amount(float(each), "min")),
                money_given("r", "brake", rate, per=" per hour"),
            ),
        )

    first_article = exact(times.first_article_min)
    if repeat:
        first_article *= exact(times.repeat_first_article_ratio)
    parts = [
        minutes("tool_set_up", "Tools in and touched off", exact(times.setup_min)),
        minutes(
            "tool_changes",
            "Changes of tools within the part",
            exact(times.tool_change_min),
            part.tool_changes_count,
        ),
        minutes(
            "first_article",
            "First part checked, bend sequence known" if repeat else "First article",
            first_article,
        ),
    ]
    if times.programming_min and not repeat:
        parts.append(
            minutes("programming", "Bend sequence worked out", exact(times.programming_min))
        )
    return summed("setup", say("Set-up of a repeat" if repeat else "Set-up"), tuple(parts))


def bending_line(*, part: PartWork, times: WorkTimes, rates: Rates, quantity: int) -> Line:
    """Every part: every bend with its handling, and fetching and stacking."""
    rate = exact(rates.brake_per_hour)
    people = times.people_count
    bend = Given("t", "time of a bend", Amount(times.bend_s, "s"))
    spread = (Given("", "how sure", str(times.bend.told)),) if times.bend else ()
    parts = [
        Line(
            "bends",
            say("{n} bends a part", n=Amount(part.bends_count, "count")),
            quantity * part.bends_count * people * exact(times.bend_s) / SECONDS_PER_HOUR * rate,
            "quantity x bends x time x people x rate",
            (
                Given("n", "quantity", Amount(quantity, "count")),
                Given("k", "bends", Amount(part.bends_count, "count")),
                bend,
                Given("q", "people", Amount(people, "count")),
                money_given("r", "brake", rate, per=" per hour"),
                *spread,
            ),
            times.bend.source if times.bend else "",
        )
    ]
    if times.load_s:
        parts.append(
            Line(
                "loading",
                say("Fetch and stack"),
                quantity * people * exact(times.load_s) / SECONDS_PER_HOUR * rate,
                "quantity x time x people x rate",
                (
                    Given("n", "quantity", Amount(quantity, "count")),
                    Given("t", "time a part", Amount(times.load_s, "s")),
                    Given("q", "people", Amount(people, "count")),
                    money_given("r", "brake", rate, per=" per hour"),
                ),
            )
        )
    return summed("bending", say("Bending"), tuple(parts))


def other_line(work: OtherWork, quantity: int) -> Line:
    """Another operation: its set-up once, its minutes for every part."""
    minutes = exact(work.setup_min) + quantity * exact(work.per_part_min)
    rate = exact(work.rate_per_hour)
    return Line(
        f"work:{work.name}",
        say("{name}", name=work.name),
        minutes / MINUTES_PER_HOUR * rate,
        "(set-up + quantity x minutes) x rate",
        (
            Given("s", "set-up", Amount(work.setup_min, "min")),
            Given("n", "quantity", Amount(quantity, "count")),
            Given("t", "time a part", Amount(work.per_part_min, "min")),
            money_given("r", "rate", rate, per=" per hour"),
        ),
    )


def bought_line(bought: Bought, quantity: int) -> Line:
    """Something bought, per order and per part."""
    return Line(
        f"bought:{bought.name}",
        say("{name}", name=bought.name),
        exact(bought.per_order) + quantity * exact(bought.per_part),
        "per order + quantity x per part",
        (
            Given("n", "quantity", Amount(quantity, "count")),
            money_given("p", "per part", exact(bought.per_part)),
            money_given("o", "per order", exact(bought.per_order)),
        ),
    )


def _mass_kg(area_mm2: Fraction, part: PartWork, price: SheetPrice) -> Fraction:
    """Mass by the same formula as `mechanics.handling.sheet_mass`, in exact arithmetic."""
    return area_mm2 * exact(part.thickness_mm) * exact(price.density_kg_m3) / MM3_PER_M3
