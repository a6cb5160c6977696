"""What a part costs and what to ask for it, by quantity, with every figure open to its parts.

Rules, stated once:

* margin is a share of the price, not of the cost: price = cost / (1 - margin);
* all figures are exact until shown, then rounded half-even to the minor unit; a total is rounded
  from the exact sum, so shown parts may miss it by a minor unit or two;
* by default the total is rounded and the unit price is the total over the quantity, rounded: unit
  price x quantity may miss the total by up to half a minor unit a piece, and the line `rounding`
  shows by how much (`total first`). A shop that must have unit price x quantity = total to the cent
  chooses `unit first`: the unit price is rounded and the total is its multiple;
* the minimum charge holds for the total of a break.
"""

from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Literal

from server.errors import Amount, ShopError, say
from server.mechanics.elementary import need_above, need_between
from server.shop.money import LARGEST_MINOR, exact, rounded_minor
from server.shop.nesting import EqualNest, nest_equal
from server.shop.quote_cost import (
    Bought,
    OtherWork,
    PartWork,
    Rates,
    SheetPrice,
    WorkTimes,
    bending_line,
    bought_line,
    cutting_line,
    material_line,
    other_line,
    setup_line,
)
from server.shop.quote_line import Line, money_given, summed
from server.shop.sheet_room import NestSettings, need_quantity

PriceRule = Literal["total first", "unit first"]
MOST_BREAKS = 50
MOST_QUANTITY = 10_000_000


@dataclass(frozen=True, slots=True)
class QuoteRequest:
    """Everything a price is worked out from. `margin` is a share of the price, 0 up to below 1.

    `repeat` leaves out what is done once: programming, and the part of the first article a proven
    bend sequence no longer needs.
    """

    part: PartWork
    sheet_price: SheetPrice
    rates: Rates
    times: WorkTimes
    quantities: tuple[int, ...]
    margin: float
    minimum_charge_minor: int = 0
    overhead_ratio: float = 0.0
    other_work: tuple[OtherWork, ...] = ()
    bought: tuple[Bought, ...] = ()
    nest: NestSettings = field(default_factory=NestSettings)
    repeat: bool = False
    price_rule: PriceRule = "total first"
    minor_digits_count: int = 2


@dataclass(frozen=True, slots=True)
class QuoteBreak:
    """The price at one quantity. `price` is the tree behind `total_minor`.

    `cost_low` and `cost_high` are the cost when bending takes the short or the long end of what
    such bends usually take. `rounding_minor` is total less unit price x quantity.
    """

    quantity_count: int
    price: Line
    cost: Fraction
    cost_low: Fraction
    cost_high: Fraction
    unit_price_minor: int
    total_minor: int
    rounding_minor: int
    minimum_applied: bool
    nest: EqualNest | None
    sheets_count: int

    def cost_minor(self, name: str, digits: int = 2) -> int:
        """One figure of the tree, rounded for showing; 0 when the quote has no such line."""
        line = self.price.find(name)
        return line.cost_minor(digits) if line else 0

    @property
    def margin_share(self) -> Fraction:
        """The margin as it came out, minimum charge and rounding included."""
        total = self.price.cost
        return (total - self.cost) / total if total else Fraction()


@dataclass(frozen=True, slots=True)
class Quote:
    """The prices asked for, in the order of the quantities asked."""

    request: QuoteRequest
    breaks: tuple[QuoteBreak, ...]
    blanks_per_sheet_count: int

    def at(self, quantity_count: int) -> QuoteBreak:
        """The break of one of the quantities asked.

        Raises: ShopError `no_such_break`.
        """
        for one in self.breaks:
            if one.quantity_count == quantity_count:
                return one
        raise ShopError(
            "no_such_break",
            say("The quote has no price for {count}.", count=Amount(quantity_count, "count")),
            remedy="Add the quantity to the price breaks.",
            where="quantities",
        )


@dataclass(frozen=True, slots=True)
class PriceChange:
    """One figure before and after, at one quantity, exact in major units."""

    quantity_count: int
    name: str
    before: Fraction
    after: Fraction


def quote(request: QuoteRequest) -> Quote:
    """The price at every quantity asked.

    Formula: price = max(minimum, cost / (1 - margin)), cost = material + cutting + set-up +
        bending + other work + bought + overhead

    Args:
        request: part, prices, rates, times and quantities.

    Returns: a `Quote`.

    Raises: ShopError naming the field: `out_of_range`, `no_quantity`, `no_price_breaks`,
        `margin_eats_price`, `blank_exceeds_sheet`, `no_blank`.

    References: margin on price: common practice of the trade, no source; figures worked by hand in
        the tests.
    """
    _check(request)
    breaks = tuple(_break(request, quantity) for quantity in request.quantities)
    return Quote(request, breaks, _per_sheet(request, breaks[0].nest))


def as_repeat(request: QuoteRequest, *, known_setup_min: float | None = None) -> QuoteRequest:
    """The same part ordered again: no programming, shorter first article, the set-up known.

    Args:
        request: the quote of the first order.
        known_setup_min: set-up time measured on the earlier run [min], where there is one.

    Returns: a `QuoteRequest` with `repeat` set.

    Raises: ShopError `out_of_range` for a negative set-up time.
    """
    times = request.times
    if known_setup_min is not None:
        need_between("known_setup_min", known_setup_min, 0.0, 1e5, "min")
        times = replace(times, setup_min=known_setup_min)
    return replace(request, times=times, repeat=True)


def price_changes(before: Quote, after: Quote) -> tuple[PriceChange, ...]:
    """Every figure that differs between two quotes of the same quantities, parents first.

    A quote is worked out again whenever the V (and with it the flat), the material or the bend
    sequence changes; this is what the reader is shown.
    """
    changes: list[PriceChange] = []
    for one in before.breaks:
        other = next((b for b in after.breaks if b.quantity_count == one.quantity_count), None)
        if other is None:
            continue
        figures = {line.name: line.cost for line in one.price.walk()}
        later = {line.name: line.cost for line in other.price.walk()}
        changes.extend(
            PriceChange(one.quantity_count, name, was, now)
            for name in dict.fromkeys((*figures, *later))
            if (was := figures.get(name, Fraction())) != (now := later.get(name, Fraction()))
        )
    return tuple(changes)


def _break(request: QuoteRequest, quantity: int) -> QuoteBreak:
    nest = None
    if request.part.blank is not None:
        nest = nest_equal(
            blank=request.part.blank,
            sheet=request.sheet_price.sheet,
            quantity_count=quantity,
            settings=request.nest,
        )
    sheets = nest.sheets_count if nest else _sheets_by_area(request, quantity)
    cost = _cost(request, quantity, nest, sheets)
    low, high = (
        _cost(_with_bend_seconds(request, seconds), quantity, nest, sheets).cost
        for seconds in request.times.bend_range_s
    )
    margin = exact(request.margin)
    wanted = cost.cost / (1 - margin)
    digits = request.minor_digits_count
    minor = Fraction(1, 10**digits)
    unit, total = _rounded_price(request, wanted, quantity)
    minimum = request.minimum_charge_minor * minor
    top_up = max(minimum - wanted, Fraction())
    lines = [cost, _margin_line(cost.cost, margin, wanted)]
    if top_up:
        lines.append(
            Line(
                "minimum_charge",
                say("Up to the minimum charge"),
                top_up,
                "minimum - price by cost and margin",
                (money_given("m", "minimum charge", minimum),),
            )
        )
    rounding = total * minor - wanted - top_up
    lines.append(Line("rounding_to_minor", say("Rounding to the minor unit"), rounding))
    return QuoteBreak(
        quantity_count=quantity,
        price=summed("total", say("Price for {n}", n=Amount(quantity, "count")), tuple(lines)),
        cost=cost.cost,
        cost_low=low,
        cost_high=high,
        unit_price_minor=unit,
        total_minor=total,
        rounding_minor=total - unit * quantity,
        minimum_applied=top_up > 0,
        nest=nest,
        sheets_count=sheets,
    )


def _cost(request: QuoteRequest, quantity: int, nest: EqualNest | None, sheets: int) -> Line:
    part, times, rates = request.part, request.times, request.rates
    own = (
        cutting_line(part=part, times=times, rates=rates, quantity=quantity),
        setup_line(part=part, times=times, rates=rates, repeat=request.repeat),
        bending_line(part=part, times=times, rates=rates, quantity=quantity),
        *(other_line(work, quantity) for work in request.other_work),
    )
    own_cost = sum((line.cost for line in own), Fraction())
    ratio = exact(request.overhead_ratio)
    lines = [
        material_line(
            part=part, price=request.sheet_price, quantity=quantity, nest=nest, sheets=sheets
        ),
        *own,
        *(bought_line(one, quantity) for one in request.bought),
    ]
    if ratio:
        lines.append(
            Line(
                "overhead",
                say("Overhead on own work, {share}", share=Amount(float(ratio * 100), "percent")),
                own_cost * ratio,
                "(cutting + set-up + bending + other work) x overhead",
                (money_given("w", "own work", own_cost),),
                "the shop's own setting",
            )
        )
    return summed("cost", say("Cost"), tuple(lines))


def _margin_line(cost: Fraction, margin: Fraction, wanted: Fraction) -> Line:
    return Line(
        "margin",
        say("Margin, {share} of the price", share=Amount(float(margin * 100), "percent")),
        wanted - cost,
        "cost / (1 - margin) - cost",
        (money_given("c", "cost", cost),),
        "the shop's own setting; a share of the price, not of the cost",
    )


def _rounded_price(request: QuoteRequest, wanted: Fraction, quantity: int) -> tuple[int, int]:
    """Unit price and total in minor units by the shop's rule."""
    digits, minimum = request.minor_digits_count, request.minimum_charge_minor
    if request.price_rule == "total first":
        total = max(rounded_minor(wanted, digits=digits), minimum)
        return round(Fraction(total, quantity)), total
    unit = rounded_minor(wanted / quantity, digits=digits)
    if unit * quantity < minimum:
        unit = -(-minimum // quantity)
    return unit, unit * quantity


def _with_bend_seconds(request: QuoteRequest, seconds: float) -> QuoteRequest:
    return replace(request, times=replace(request.times, bend_s=seconds))


def _sheets_by_area(request: QuoteRequest, quantity: int) -> int:
    return -(-quantity // _per_sheet(request, None))


def _per_sheet(request: QuoteRequest, nest: EqualNest | None) -> int:
    """Blanks per sheet; without the blank's sides an estimate by area and scrap allowance."""
    if nest is not None:
        return nest.per_sheet_count
    sheet = request.sheet_price.sheet
    usable = exact(sheet.width_mm) * exact(sheet.height_mm)
    each = request.part.net_area_mm2 * (1 + exact(request.sheet_price.scrap_allowance))
    if (count := int(usable / each)) == 0:
        raise ShopError(
            "blank_exceeds_sheet",
            "The outline with its scrap is larger than the sheet.",
            remedy="Use a larger sheet.",
            where="sheet_mm",
        )
    return count


def _check(request: QuoteRequest) -> None:
    if not request.quantities or len(request.quantities) > MOST_BREAKS:
        raise ShopError(
            "no_price_breaks",
            say("A quote has 1 to {most} quantities.", most=Amount(MOST_BREAKS, "count")),
            remedy="Give at least one quantity.",
            where="quantities",
        )
    for quantity in request.quantities:
        need_quantity(quantity)
        need_between("quantities", quantity, 1, MOST_QUANTITY, "count")
    if not 0 <= request.margin < 1:
        raise ShopError(
            "margin_eats_price",
            say(
                "A margin of {margin} is no share of the price.",
                margin=Amount(request.margin * 100, "percent"),
            ),
            remedy="Margin is a share of the price: give 0.25 for a quarter; below 1.",
            where="margin",
        )
    need_between("overhead", request.overhead_ratio, 0.0, 10.0, "ratio")
    if not 0 <= request.minimum_charge_minor <= LARGEST_MINOR:
        raise ShopError(  # the number itself is not told: it may be too long for any page
            "out_of_range",
            "The minimum charge is below nothing, or more than a shop ever charges.",
            remedy="Use an amount from 0 up; check the decimal mark.",
            where="minimum_charge",
        )
    need_above("thickness_mm", request.part.thickness_mm, 0.0, "mm")
