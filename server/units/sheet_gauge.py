"""Sheet gauge numbers: a gauge is a unit of thickness that differs by material family.

Sources:
* Uncoated steel, "Manufacturers' Standard Gage": 41.82 lb/ft2 per inch of thickness; the table is
  printed to four decimals.
* Stainless, US Standard gauge of 15 U.S.C. 206: weight in oz/ft2 of wrought iron at 480 lb/ft3,
  so one inch is 640 oz/ft2. Exact fractions of an inch.
* Galvanized sheet gage: the coated sheet weighs 2.5 oz/ft2 more than the uncoated number.
* Aluminium (also brass and copper sheet): Brown & Sharpe / American wire gauge, ASTM B258,
  t = 0.005 x 92^((36 - n)/39), printed to four decimals.
"""

import math
from collections.abc import Mapping
from typing import Literal, get_args

from server.errors import ShopError, say
from server.units.length import mm_from_inches

GaugeFamily = Literal["steel", "galvanized", "stainless", "aluminium"]
GAUGE_FAMILIES: tuple[GaugeFamily, ...] = get_args(GaugeFamily)

OZ_PER_FT2: Mapping[int, float] = {
    3: 160, 4: 150, 5: 140, 6: 130, 7: 120, 8: 110, 9: 100, 10: 90, 11: 80, 12: 70,
    13: 60, 14: 50, 15: 45, 16: 40, 17: 36, 18: 32, 19: 28, 20: 24, 21: 22, 22: 20,
    23: 18, 24: 16, 25: 14, 26: 12, 27: 11, 28: 10, 29: 9, 30: 8, 31: 7, 32: 6.5,
    33: 6, 34: 5.5, 35: 5, 36: 4.5, 37: 4.25, 38: 4,
}  # fmt: skip

LB_PER_FT2_PER_INCH = 41.82
OZ_PER_FT2_PER_INCH_OF_IRON = 640.0
ZINC_OZ_PER_FT2 = 2.5
RANGE: Mapping[GaugeFamily, tuple[int, int]] = {
    "steel": (3, 38),
    "galvanized": (8, 32),
    "stainless": (3, 38),
    "aluminium": (1, 40),
}


def gauge_weight_lb_per_ft2(gauge: int) -> float:
    """Nominal weight of uncoated steel sheet of a gauge number, in lb/ft2.

    >>> gauge_weight_lb_per_ft2(16)
    2.5

    Raises: ShopError `unknown_gauge` outside gauges 3 to 38.
    """
    return OZ_PER_FT2[_known(gauge, "steel")] / 16


def gauge_thickness_in(*, family: GaugeFamily, gauge: int) -> float:
    """Sheet thickness of a gauge number in inches, as the family's standard table prints it.

    >>> gauge_thickness_in(family="galvanized", gauge=16)
    0.0635
    >>> gauge_thickness_in(family="aluminium", gauge=16)
    0.0508

    Raises: ShopError `unknown_gauge` when the family's table has no such number.
    """
    number = _known(gauge, family)
    if family == "aluminium":
        return round(0.005 * math.exp(math.log(92.0) * (36 - number) / 39), 4)
    weight_oz = OZ_PER_FT2[number]
    if family == "stainless":
        return weight_oz / OZ_PER_FT2_PER_INCH_OF_IRON
    if family == "galvanized":
        weight_oz += ZINC_OZ_PER_FT2
    return round(weight_oz / 16 / LB_PER_FT2_PER_INCH, 4)


def gauge_thickness_mm(*, family: GaugeFamily, gauge: int) -> float:
    """Sheet thickness of a gauge number in millimetres (see `gauge_thickness_in`).

    Exact: an inch figure of at most eight decimals has at most ten in millimetres.

    >>> gauge_thickness_mm(family="steel", gauge=11)
    3.03784

    Raises: ShopError `unknown_gauge` when the family's table has no such number.
    """
    return round(mm_from_inches(gauge_thickness_in(family=family, gauge=gauge)), 10)


def _known(gauge: int, family: GaugeFamily) -> int:
    if family not in RANGE:
        raise ShopError(
            "unknown_gauge_family",
            say("There is no gauge table for '{family}'.", family=str(family)),
            remedy="Choose steel, galvanized, stainless or aluminium.",
            where="family",
        )
    least, most = RANGE[family]
    if not least <= gauge <= most:
        raise ShopError(
            "unknown_gauge",
            say("The {family} table has no gauge {gauge}.", family=family, gauge=str(gauge)),
            remedy=say(
                "Use a number from {least} to {most}, or type the thickness itself.",
                least=str(least),
                most=str(most),
            ),
            where="gauge",
        )
    return gauge
