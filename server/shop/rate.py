"""The shop's own rates: what an hour costs, overhead, margin, and what else a price is made with."""

from dataclasses import dataclass
from fractions import Fraction

from server.errors import Amount, ShopError, say
from server.mechanics.elementary import need_above, need_between
from server.shop.money import LARGEST_MINOR
from server.shop.quote import PriceRule
from server.shop.quote_cost import Charge

LARGEST_RATE_MINOR = 10**9
MOST_OTHER_RATES = 12


@dataclass(frozen=True, slots=True)
class OtherRate:
    """An hour of another kind of work: welding, deburring, packing."""

    name: str
    per_hour_minor: int


@dataclass(frozen=True, slots=True)
class ShopRates:
    """What the shop counts with. Money in minor units of `currency`; ratios are shares of one.

    `margin_ratio` is a share of the price; `overhead_ratio` is added on own work.
    """

    currency: str
    brake_per_hour_minor: int
    cut_per_hour_minor: int
    overhead_ratio: float
    margin_ratio: float
    minimum_charge_minor: int
    scrap_allowance_ratio: float
    remnant_credit_ratio: float
    spacing_mm: float
    edge_mm: float
    least_remnant_mm: float
    tool_change_min: float
    first_article_min: float
    programming_min: float
    validity_days_count: int
    terms: str
    cutter: str
    charge: Charge = "by mass"
    price_rule: PriceRule = "total first"
    other: tuple[OtherRate, ...] = ()

    def __post_init__(self) -> None:
        for name in ("brake_per_hour_minor", "cut_per_hour_minor"):
            _need_money(name, getattr(self, name), LARGEST_RATE_MINOR)
        _need_money("minimum_charge_minor", self.minimum_charge_minor, LARGEST_MINOR)
        if not 0 <= self.margin_ratio < 1:
            raise ShopError(
                "margin_eats_price",
                say(
                    "A margin of {margin} is no share of the price.",
                    margin=Amount(self.margin_ratio * 100, "percent"),
                ),
                remedy="Margin is a share of the price: below 100 %.",
                where="margin_ratio",
            )
        need_between("overhead_ratio", self.overhead_ratio, 0.0, 10.0, "ratio")
        need_between("scrap_allowance_ratio", self.scrap_allowance_ratio, 0.0, 10.0, "ratio")
        need_between("remnant_credit_ratio", self.remnant_credit_ratio, 0.0, 1.0, "ratio")
        need_above("validity_days_count", self.validity_days_count, 0, "count")
        if len({one.name.casefold() for one in self.other}) < len(self.other):
            raise ShopError(
                "already_exists",
                "Two of the other hour rates have the same name.",
                remedy="Give each its own name.",
                where="other",
            )

    def per_hour(self, minor: int, digits: int) -> Fraction:
        """A rate in major units, exact."""
        return Fraction(minor, 10**digits)


def example_rates(currency: str) -> ShopRates:
    """Starting values to think with. They are invented: every shop has its own."""
    return ShopRates(
        currency=currency,
        brake_per_hour_minor=6500,
        cut_per_hour_minor=9500,
        overhead_ratio=0.12,
        margin_ratio=0.25,
        minimum_charge_minor=6000,
        scrap_allowance_ratio=0.15,
        remnant_credit_ratio=0.5,
        spacing_mm=5.0,
        edge_mm=10.0,
        least_remnant_mm=200.0,
        tool_change_min=8.0,
        first_article_min=12.0,
        programming_min=15.0,
        validity_days_count=30,
        terms="Prices without tax, ex works. Payment within 30 days of the invoice.",
        cutter="Laser",
        other=(
            OtherRate("Welding", 6000),
            OtherRate("Deburring", 4500),
            OtherRate("Packing", 4000),
        ),
    )


def _need_money(name: str, amount_minor: int, most_minor: int) -> None:
    if not 0 <= amount_minor <= most_minor:
        raise ShopError(
            "out_of_range",
            "This amount is below nothing, or more than a shop ever charges.",
            remedy="Check the decimal mark.",
            where=name,
        )
