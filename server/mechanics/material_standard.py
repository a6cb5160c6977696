"""What product standards promise of a sheet beyond one number for each grade.

The material table holds one value for each limit. Standards step some limits by thickness, and
give values for forming that no other formula needs; those are here, each with its range.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from server.errors import Amount, ShopError, say
from server.mechanics.elementary import need_above

Quantity = Literal[
    "yield_min_mpa",
    "yield_max_mpa",
    "tensile_min_mpa",
    "tensile_max_mpa",
    "elongation_a80_min_percent",
    "elongation_a5_min_percent",
    "elongation_typical_percent",
    "anisotropy_r90_min_ratio",
    "hardening_n90_min_ratio",
    "mandrel_180_ratio",
    "radius_90_ratio",
]

_ANY = 1e9
_SEEN_MC = "EN 10149-2, seen in a supplier's copy of the tables"
_MC = "EN 10149-2:2013, from memory"
_EN_485 = "EN 485-2, recommended inside radius for 90 degrees, from memory"


@dataclass(frozen=True, slots=True)
class StandardValue:
    """One value of a standard, for thicknesses over the one and up to the other [mm]."""

    material: str
    quantity: Quantity
    value: float
    over_mm: float
    to_mm: float
    source: str


def _mc_grade(
    grade: str, a80: float, a5: float, mandrel: float, source: str
) -> Iterator[StandardValue]:
    yield StandardValue(grade, "elongation_a80_min_percent", a80, 0.0, 2.999, source)
    yield StandardValue(grade, "elongation_a5_min_percent", a5, 2.999, 20.0, source)
    yield StandardValue(grade, "mandrel_180_ratio", mandrel, 0.0, 20.0, source)


def _by_thickness(
    material: str, quantity: Quantity, source: str, *steps: tuple[float, float, float]
) -> Iterator[StandardValue]:
    for over_mm, to_mm, value in steps:
        yield StandardValue(material, quantity, value, over_mm, to_mm, source)


_EN_10025 = "EN 10025-2, seen in several copies of its tables"
_EN_10025_MEMORY = "EN 10025-2, from memory"
_EN_10130 = "EN 10130:2006 table 2, from memory"
_EN_10111 = "EN 10111:2008, from memory"
STANDARD_VALUES: tuple[StandardValue, ...] = (
    *_by_thickness("S235JR", "yield_min_mpa", _EN_10025, (0.0, 16.0, 235), (16.0, 40.0, 225)),
    *_by_thickness("S235JR", "tensile_min_mpa", _EN_10025, (0.0, 100.0, 360)),
    *_by_thickness("S235JR", "tensile_max_mpa", _EN_10025, (0.0, 100.0, 510)),
    *_by_thickness(
        "S275JR", "tensile_min_mpa", _EN_10025_MEMORY, (0.0, 2.999, 430), (2.999, 100.0, 410)
    ),
    *_by_thickness(
        "S275JR", "tensile_max_mpa", _EN_10025_MEMORY, (0.0, 2.999, 580), (2.999, 100.0, 560)
    ),
    *_by_thickness(
        "S355J2", "tensile_min_mpa", _EN_10025_MEMORY, (0.0, 2.999, 510), (2.999, 100.0, 470)
    ),
    *_by_thickness(
        "S355J2", "tensile_max_mpa", _EN_10025_MEMORY, (0.0, 2.999, 680), (2.999, 100.0, 630)
    ),
    *_mc_grade("S315MC", 20, 24, 0.0, _SEEN_MC),
    *_mc_grade("S420MC", 16, 19, 0.5, _SEEN_MC),
    *_mc_grade("S460MC", 14, 17, 1.0, _SEEN_MC),
    *_mc_grade("S700MC", 10, 12, 2.0, _MC),
    *_by_thickness("DC03", "anisotropy_r90_min_ratio", _EN_10130, (0.0, 3.0, 1.3)),
    *_by_thickness("DC04", "anisotropy_r90_min_ratio", _EN_10130, (0.0, 3.0, 1.6)),
    *_by_thickness("DC04", "hardening_n90_min_ratio", _EN_10130, (0.0, 3.0, 0.18)),
    *_by_thickness("DD11", "yield_max_mpa", _EN_10111, (0.999, 1.999, 360), (1.999, 11.0, 340)),
    *_by_thickness("DD13", "yield_max_mpa", _EN_10111, (0.999, 1.999, 330), (1.999, 11.0, 310)),
    *_by_thickness(
        "EN AW-1050A H14",
        "radius_90_ratio",
        _EN_485,
        (0.5, 1.5, 0.5),
        (1.5, 3.0, 1.0),
        (3.0, 6.0, 1.5),
    ),
    *_by_thickness(
        "EN AW-5754 H22",
        "radius_90_ratio",
        _EN_485,
        (0.5, 1.5, 1.0),
        (1.5, 3.0, 1.5),
        (3.0, 6.0, 1.5),
    ),
    *_by_thickness(
        "EN AW-5083 H111",
        "radius_90_ratio",
        _EN_485,
        (0.5, 1.5, 1.0),
        (1.5, 3.0, 1.0),
        (3.0, 6.0, 1.5),
    ),
    *_by_thickness(
        "6061-T6", "elongation_typical_percent", "a mill's data sheet, seen", (0.0, _ANY, 17)
    ),
)


def standard_value(*, material: str, quantity: Quantity, thickness_mm: float) -> float:
    """A standard's value for a grade and thickness.

    Formula: table look-up by ranges over .. to

    Args:
        material: code of the grade, as in the material table.
        quantity: what is asked; its name ends in its unit.
        thickness_mm: nominal sheet thickness [mm], above 0.

    Returns: the value, in the unit the quantity's name ends in.

    Raises: ShopError `out_of_range` for a thickness that is not above 0, `out_of_table` where no
        value was read.

    References: the standard named in each row of `STANDARD_VALUES`.

    >>> standard_value(material="S235JR", quantity="yield_min_mpa", thickness_mm=20.0)
    225
    """
    need_above("thickness_mm", thickness_mm, 0.0, "mm")
    for row in STANDARD_VALUES:
        if (
            row.material == material
            and row.quantity == quantity
            and row.over_mm < thickness_mm <= row.to_mm
        ):
            return row.value
    raise ShopError(
        "out_of_table",
        say(
            "We hold no {quantity} of {material} at {thickness}.",
            quantity=str(quantity),
            material=material,
            thickness=Amount(thickness_mm, "mm"),
        ),
        remedy="Look it up in the standard or on the mill's certificate.",
        where="material",
    )
