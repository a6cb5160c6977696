"""Length conversion. The only place in the house where the inch factor stands."""

from fractions import Fraction
from typing import Literal

LengthUnit = Literal["mm", "in"]

MM_PER_INCH = 25.4  # exact by definition: international yard and pound agreement, 1959
MM_PER_INCH_EXACT = Fraction(127, 5)
MM_PER_FOOT_EXACT = 12 * MM_PER_INCH_EXACT

MM_PER: dict[str, Fraction] = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": MM_PER_INCH_EXACT,
    "ft": MM_PER_FOOT_EXACT,
}


def mm_from_inches(length_in: float) -> float:
    """Millimetres from inches.

    >>> mm_from_inches(2.0)
    50.8
    """
    return length_in * MM_PER_INCH


def inches_from_mm(length_mm: float) -> float:
    """Inches from millimetres.

    >>> inches_from_mm(50.8)
    2.0
    """
    return length_mm / MM_PER_INCH


def from_mm(length_mm: float, unit: LengthUnit) -> float:
    """A length in the reader's unit.

    >>> from_mm(25.4, "in")
    1.0
    """
    return length_mm if unit == "mm" else inches_from_mm(length_mm)


def to_mm(length: float, unit: LengthUnit) -> float:
    """Millimetres from a length in the reader's unit.

    >>> to_mm(1.0, "in")
    25.4
    """
    return length if unit == "mm" else mm_from_inches(length)
