"""Where the neutral line lies, by rule or from a measured strip."""

import math
from typing import Literal

from server.mechanics.elementary import need_above, need_between

KRule = Literal["din6935", "faa", "fixed"]

DIN_STRAIGHT_FROM_RATIO = 5.0
FAA_K_FACTOR = 0.0078 / (math.pi / 180)


def din6935_correction(*, inside_radius_mm: float, thickness_mm: float) -> float:
    """Correction factor k of DIN 6935, twice the K-factor.

    Formula: k = 0.65 + 0.5 log10(r/t) for r/t <= 5, else 1; not below 0

    Args:
        inside_radius_mm: inside radius [mm], 0 or more.
        thickness_mm: sheet thickness [mm], above 0.

    Returns: the correction factor [ratio]. Below r/t = 0.05 the logarithm would be negative:
        the factor stays at 0.

    Raises: ShopError `out_of_range` outside the stated ranges.

    References: DIN 6935 (1975), formula as printed in Tabellenbuch Metall, Europa-Lehrmittel.

    >>> round(din6935_correction(inside_radius_mm=6.0, thickness_mm=5.0), 3)
    0.69
    """
    need_between("inside_radius_mm", inside_radius_mm, 0.0, 1e5, "mm")
    need_above("thickness_mm", thickness_mm, 0.0, "mm")
    ratio = inside_radius_mm / thickness_mm
    if ratio > DIN_STRAIGHT_FROM_RATIO:
        return 1.0
    if ratio <= 0.05:
        return 0.0
    return max(0.0, 0.65 + 0.5 * math.log10(ratio))


def din6935_k_factor(*, inside_radius_mm: float, thickness_mm: float) -> float:
    """K-factor by the DIN 6935 rule.

    Formula: K = k/2, k as in `din6935_correction`

    Args:
        inside_radius_mm: inside radius [mm], 0 or more.
        thickness_mm: sheet thickness [mm], above 0.

    Returns: the K-factor [ratio], 0 to 0.5.

    Raises: ShopError `out_of_range` outside the stated ranges.

    References: DIN 6935 (1975), as printed in Tabellenbuch Metall, Europa-Lehrmittel.

    >>> din6935_k_factor(inside_radius_mm=2.0, thickness_mm=2.0)
    0.325
    """
    return din6935_correction(inside_radius_mm=inside_radius_mm, thickness_mm=thickness_mm) / 2


def groover_k_factor(*, inside_radius_mm: float, thickness_mm: float) -> float:
    """K-factor by the textbook's two-value rule.

    Formula: K = 0.33 for r < 2 t, else 0.50

    Args:
        inside_radius_mm: inside radius [mm], 0 or more.
        thickness_mm: sheet thickness [mm], above 0.

    Returns: the K-factor [ratio].

    Raises: ShopError `out_of_range` outside the stated ranges.

    References: M. P. Groover, Fundamentals of Modern Manufacturing, 4th ed., sec. 20.2.

    >>> groover_k_factor(inside_radius_mm=4.75, thickness_mm=3.2)
    0.33
    """
    need_between("inside_radius_mm", inside_radius_mm, 0.0, 1e5, "mm")
    need_above("thickness_mm", thickness_mm, 0.0, "mm")
    return 0.33 if inside_radius_mm < 2 * thickness_mm else 0.50


def k_factor_from_allowance(
    *,
    bend_allowance_mm: float,
    bend_angle_deg: float,
    inside_radius_mm: float,
    thickness_mm: float,
) -> float:
    """K-factor that a measured bend allowance implies.

    Formula: K = (BA / (pi A/180) - r) / t

    Args:
        bend_allowance_mm: neutral line length of the bend [mm].
        bend_angle_deg: angle the sheet is turned through [deg], above 0, to 180.
        inside_radius_mm: inside radius [mm], 0 or more.
        thickness_mm: sheet thickness [mm], above 0.

    Returns: the K-factor [ratio]; outside 0 to 1 it says that a measurement is wrong.

    Raises: ShopError `out_of_range` outside the stated ranges.

    References: `bend_allowance.bend_allowance`, solved for K.

    >>> round(k_factor_from_allowance(bend_allowance_mm=4.4610615, bend_angle_deg=90.0,
    ...                               inside_radius_mm=2.0, thickness_mm=2.0), 4)
    0.42
    """
    need_above("bend_angle_deg", bend_angle_deg, 0.0, "deg")
    need_between("bend_angle_deg", bend_angle_deg, 0.0, 180.0, "deg")
    need_between("inside_radius_mm", inside_radius_mm, 0.0, 1e5, "mm")
    need_above("thickness_mm", thickness_mm, 0.0, "mm")
    return (bend_allowance_mm / math.radians(bend_angle_deg) - inside_radius_mm) / thickness_mm
