"""The unit a reader thinks in: what stands beside a number, and the factor to and from ours.

A reader who chose inches reads US customary units throughout; every other reader reads ours.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from server.errors import Unit
from server.units.imperial import (
    KG_PER_POUND,
    KN_PER_SHORT_TON,
    METRES_PER_FOOT,
    MPA_PER_KSI,
)
from server.units.length import MM_PER_INCH, LengthUnit


@dataclass(frozen=True, slots=True)
class ReaderUnit:
    """A unit as a reader sees it: its symbol, how much of ours it is, and usual decimals."""

    symbol: str
    ours_factor: float
    decimals_count: int


INCH_READER: Mapping[Unit, ReaderUnit] = {
    "mm": ReaderUnit("in", MM_PER_INCH, 3),
    "kn": ReaderUnit("ton", KN_PER_SHORT_TON, 1),
    "kn_per_m": ReaderUnit("ton/ft", KN_PER_SHORT_TON / METRES_PER_FOOT, 2),
    "kg": ReaderUnit("lb", KG_PER_POUND, 1),
    "mpa": ReaderUnit("ksi", MPA_PER_KSI, 1),
    "mm_per_s": ReaderUnit("in/s", MM_PER_INCH, 2),
    "mm_per_deg": ReaderUnit("in/°", MM_PER_INCH, 4),
    "m_per_s": ReaderUnit("ft/s", METRES_PER_FOOT, 2),
    "mm2": ReaderUnit("in²", MM_PER_INCH * MM_PER_INCH, 1),
}
OUR_SYMBOL: Mapping[Unit, str] = {
    "mm": "mm",
    "kn": "kN",
    "kn_per_m": "kN/m",
    "kg": "kg",
    "mpa": "MPa",
    "mm_per_s": "mm/s",
    "m_per_s": "m/s",
    "s": "s",
    "min": "min",
    "deg": "°",
    "percent": "%",
}


def unit_symbol(unit: Unit, reader: LengthUnit) -> str:
    """What stands beside a number of a kind for a reader.

    >>> unit_symbol("kn_per_m", "in"), unit_symbol("kn_per_m", "mm")
    ('ton/ft', 'kN/m')
    """
    if reader == "in" and unit in INCH_READER:
        return INCH_READER[unit].symbol
    return OUR_SYMBOL.get(unit, "")


def to_reader(value: float, unit: Unit, reader: LengthUnit) -> float:
    """A number of ours as the reader's.

    >>> round(to_reader(800.0, "kn", "in"), 2)
    89.92
    """
    if reader == "in" and unit in INCH_READER:
        return value / INCH_READER[unit].ours_factor
    return value


def from_reader(value: float, unit: Unit, reader: LengthUnit) -> float:
    """A reader's number as ours: `to_reader` inverted.

    >>> round(from_reader(1.0, "kn_per_m", "in"), 3)
    29.188
    """
    if reader == "in" and unit in INCH_READER:
        return value * INCH_READER[unit].ours_factor
    return value
