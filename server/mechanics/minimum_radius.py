"""The smallest inside radius a metal takes without cracking, by published tables and rules."""

import math
from collections.abc import Mapping
from fractions import Fraction
from typing import Literal

from server.errors import Amount, ShopError, say
from server.mechanics.elementary import need_above, need_between
from server.units.length import mm_from_inches

Rolling = Literal["across", "along"]

DIN_THICKNESS_TO_MM = (
    1.0,
    1.5,
    2.5,
    3.0,
    4.0,
    5.0,
    6.0,
    7.0,
    8.0,
    10.0,
    12.0,
    14.0,
    16.0,
    18.0,
    20.0,
)
DIN_MINIMUM_MM: Mapping[float, tuple[float, ...]] = {
    390.0: (1, 1.6, 2.5, 3, 5, 6, 8, 10, 12, 16, 20, 25, 28, 36, 40),
    490.0: (1.2, 2, 3, 4, 5, 8, 10, 12, 16, 20, 25, 28, 32, 40, 45),
    640.0: (1.6, 2.5, 4, 5, 6, 8, 10, 12, 16, 20, 25, 32, 36, 45, 50),
}
"""Least inside radius by tensile strength up to (390, 490, 640 MPa) and thickness up to. The rows
printed in the published cases are checked; those between them are from memory."""


def din6935_minimum_radius(
    *,
    tensile_strength_mpa: float,
    thickness_mm: float,
    bend_angle_deg: float = 90.0,
    bend_line: Rolling = "across",
) -> float:
    """Smallest recommended inside radius of a steel sheet.

    Formula: table look-up; for a bend line along the rolling direction, or a bend over 120, the
        next thicker row is used

    Args:
        tensile_strength_mpa: least tensile strength of the grade [mpa], above 0, to 640.
        thickness_mm: sheet thickness [mm], above 0, to 20.
        bend_angle_deg: bend angle [deg].
        bend_line: whether the bend line lies across or along the rolling direction.

    Returns: the radius [mm].

    Raises: ShopError `out_of_range`, or `out_of_table` where the table has no row.

    References: DIN 6935 (1975-10), table of smallest bending radii.

    >>> din6935_minimum_radius(tensile_strength_mpa=360.0, thickness_mm=2.0)
    2.5
    >>> din6935_minimum_radius(tensile_strength_mpa=360.0, thickness_mm=2.0, bend_line="along")
    3.0
    """
    need_above("tensile_strength_mpa", tensile_strength_mpa, 0.0, "mpa")
    need_above("thickness_mm", thickness_mm, 0.0, "mm")
    row = next((index for index, to in enumerate(DIN_THICKNESS_TO_MM) if thickness_mm <= to), 99)
    row += int(bend_line == "along" or bend_angle_deg > 120.0)
    column = next((limit for limit in DIN_MINIMUM_MM if tensile_strength_mpa <= limit), None)
    if column is None or row >= len(DIN_THICKNESS_TO_MM):
        raise ShopError(
            "out_of_table",
            say(
                "DIN 6935 has no row for {thickness} at {strength}.",
                thickness=Amount(thickness_mm, "mm"),
                strength=Amount(tensile_strength_mpa, "mpa"),
            ),
            remedy="Ask the mill for the smallest radius.",
            where="thickness_mm",
        )
    return float(DIN_MINIMUM_MM[column][row])


ALUMINIUM_THICKNESS_IN = ("1/32", "1/16", "1/8", "1/4")
ALUMINIUM_MINIMUM_RATIO: Mapping[str, tuple[float, ...]] = {
    "1100-O": (0, 0, 0, 0.5),
    "1100-H14": (0, 0, 0, 1.5),
    "3003-O": (0, 0, 0, 0.5),
    "3003-H14": (0, 0, 1, 1.5),
    "5052-O": (0, 0, 0.5, 1),
    "5052-H32": (0, 1, 1.5, 1.5),
    "5052-H34": (1, 1.5, 2, 2.5),
    "6061-O": (0, 0, 1, 1.5),
    "6061-T4": (0, 1, 1.5, 3),
    "6061-T6": (1, 1.5, 2.5, 3.5),
}
"""Least inside radius / thickness for a 90 degree cold bend. Cells not printed in the published
cases (1/4 in 1100-O and 3003-O, and others between checked ones) are from memory."""


def aluminium_minimum_radius_ratio(*, alloy: str, thickness_mm: float) -> float:
    """Smallest inside radius of an aluminium alloy and temper for a 90 degree cold bend.

    Formula: table look-up, the next thicker column

    Args:
        alloy: alloy and temper, such as "5052-H32".
        thickness_mm: sheet thickness [mm], above 0, to 6.35.

    Returns: least inside radius / thickness [ratio].

    Raises: ShopError `unknown_alloy`, or `out_of_table` for a thicker sheet.

    References: The Aluminum Association, Aluminum Design Manual (January 2005), Part VII, table of
        recommended minimum bend radii for 90-degree cold bends.

    >>> aluminium_minimum_radius_ratio(alloy="5052-H32", thickness_mm=3.0)
    1.5
    """
    need_above("thickness_mm", thickness_mm, 0.0, "mm")
    if alloy not in ALUMINIUM_MINIMUM_RATIO:
        raise ShopError(
            "unknown_alloy",
            say("The table has no alloy '{alloy}'.", alloy=alloy),
            remedy=say("Rows: {rows}.", rows=", ".join(ALUMINIUM_MINIMUM_RATIO)),
            where="alloy",
        )
    for text, ratio in zip(ALUMINIUM_THICKNESS_IN, ALUMINIUM_MINIMUM_RATIO[alloy], strict=True):
        if thickness_mm <= mm_from_inches(float(Fraction(text))) + 1e-9:
            return float(ratio)
    raise ShopError(
        "out_of_table",
        say("The table ends at 1/4 in; this is {t}.", t=Amount(thickness_mm, "mm")),
        remedy="Ask the mill for the smallest radius.",
        where="thickness_mm",
    )


def minimum_radius_ratio_from_ductility(*, reduction_of_area_percent: float) -> float:
    """Smallest inside radius / thickness from a tension test's reduction of area.

    Formula: R/T = 50/r - 1, not below 0

    Args:
        reduction_of_area_percent: reduction of area [percent], above 0, to 100.

    Returns: the ratio [ratio].

    Raises: ShopError `out_of_range` outside 0 to 100.

    References: S. Kalpakjian, S. R. Schmid, Manufacturing Processes for Engineering Materials,
        Eq. 16.6 (formula from memory).

    >>> minimum_radius_ratio_from_ductility(reduction_of_area_percent=10.0)
    4.0
    """
    need_above("reduction_of_area_percent", reduction_of_area_percent, 0.0, "percent")
    need_between("reduction_of_area_percent", reduction_of_area_percent, 0.0, 100.0, "percent")
    return max(0.0, 50.0 / reduction_of_area_percent - 1.0)


def outer_fibre_strain(*, inside_radius_mm: float, thickness_mm: float) -> float:
    """Strain of the outer face of a bend.

    Formula: e = 1 / (2 R/T + 1)

    Args:
        inside_radius_mm: inside radius [mm], 0 or more.
        thickness_mm: sheet thickness [mm], above 0.

    Returns: the strain [ratio].

    Raises: ShopError `out_of_range` outside the stated ranges.

    References: S. Kalpakjian, S. R. Schmid, Manufacturing Processes for Engineering Materials,
        Eq. 16.4.

    >>> round(outer_fibre_strain(inside_radius_mm=1.0, thickness_mm=1.0), 4)
    0.3333
    """
    need_between("inside_radius_mm", inside_radius_mm, 0.0, math.inf, "mm")
    need_above("thickness_mm", thickness_mm, 0.0, "mm")
    return 1.0 / (2.0 * inside_radius_mm / thickness_mm + 1.0)


FAA_2024_T3_MINIMUM_IN: Mapping[float, float] = {0.040: 0.16}
"""Smallest bend radius of 2024-T3 by thickness in inches: FAA-H-8083-31 (2012), Fig. 4-125; only
the cell we could read."""
