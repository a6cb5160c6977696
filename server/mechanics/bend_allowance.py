"""How much sheet a bend uses: allowance, outside setback, deduction."""

import math

from server.errors import ShopError, say
from server.mechanics.elementary import Number, need_above, need_between, radians, tan

TANGENT_FROM_DEG = 165.0


def bend_allowance(
    *, bend_angle_deg: Number, inside_radius_mm: Number, thickness_mm: Number, k_factor: Number
) -> Number:
    """Length of the neutral line in a bend.

    Formula: BA = (pi/180) A (r + K t)

    Args:
        bend_angle_deg: angle the sheet is turned through [deg], 0 to 180.
        inside_radius_mm: inside radius after release [mm], 0 or more.
        thickness_mm: sheet thickness [mm], above 0.
        k_factor: neutral line's distance from the inside surface / thickness [ratio], 0 to 1.

    Returns: the arc length [mm].

    Raises: ShopError `out_of_range` outside the stated ranges.

    References: US Navy NAVEDTRA 14119 Hull Maintenance Technician, ch. 13, p. 13-43, with K = 0.5;
        M. P. Groover, Fundamentals of Modern Manufacturing, 4th ed., sec. 20.2.

    >>> round(bend_allowance(bend_angle_deg=90.0, inside_radius_mm=2.0, thickness_mm=2.0,
    ...                      k_factor=0.42), 4)
    4.4611
    """
    need_between("bend_angle_deg", bend_angle_deg, 0.0, 180.0, "deg")
    need_between("inside_radius_mm", inside_radius_mm, 0.0, 1e5, "mm")
    need_above("thickness_mm", thickness_mm, 0.0, "mm")
    need_between("k_factor", k_factor, 0.0, 1.0, "ratio")
    return radians(bend_angle_deg) * (inside_radius_mm + k_factor * thickness_mm)


def outside_setback(
    *, bend_angle_deg: float, inside_radius_mm: float, thickness_mm: float, to_tangent: bool = False
) -> float:
    """Distance from a bend's tangent point to the point the outside leg is dimensioned to.

    Formula: OSSB = tan(A/2) (r + t) to the apex (mold line); r + t to the tangent plane above 90.

    Args:
        bend_angle_deg: angle the sheet is turned through [deg], 0 to 180.
        inside_radius_mm: inside radius after release [mm], 0 or more.
        thickness_mm: sheet thickness [mm], above 0.
        to_tangent: whether a leg beside a bend over 90 is dimensioned to the tangent plane.

    Returns: the setback [mm].

    Raises: ShopError `out_of_range`; `apex_too_far` to the apex from 165 up, where it runs away.

    References: FAA AC 43.13-1B (1998), Table 4-7, p. 4-15 (K = tan(A/2));
        DIN 6935 (1975) for dimensions to the tangent plane.

    >>> outside_setback(bend_angle_deg=90.0, inside_radius_mm=2.0, thickness_mm=2.0)
    4.0
    """
    need_between("bend_angle_deg", bend_angle_deg, 0.0, 180.0, "deg")
    need_between("inside_radius_mm", inside_radius_mm, 0.0, 1e5, "mm")
    need_above("thickness_mm", thickness_mm, 0.0, "mm")
    if bend_angle_deg == 90.0 or (to_tangent and bend_angle_deg > 90.0):
        return inside_radius_mm + thickness_mm
    if bend_angle_deg >= TANGENT_FROM_DEG:
        raise ShopError(
            "apex_too_far",
            say("At {angle} the mold lines meet far outside the part.", angle=f"{bend_angle_deg}°"),
            remedy="Dimension this leg to the tangent plane.",
            where="dimension_to",
        )
    return setback_coefficient(bend_angle_deg=bend_angle_deg) * (inside_radius_mm + thickness_mm)


def setback_coefficient(*, bend_angle_deg: float) -> float:
    """Setback per unit of outside radius, the K of the FAA's setback chart.

    Formula: tan(A/2)

    Args:
        bend_angle_deg: angle the sheet is turned through [deg], 0 to 179.

    Returns: the coefficient [ratio].

    Raises: ShopError `out_of_range` outside 0 to 179.

    References: FAA AC 43.13-1B (1998), Table 4-7, p. 4-15.

    >>> round(setback_coefficient(bend_angle_deg=120.0), 3)
    1.732
    """
    need_between("bend_angle_deg", bend_angle_deg, 0.0, 179.0, "deg")
    return 1.0 if bend_angle_deg == 90.0 else tan(radians(bend_angle_deg) / 2)


def bend_deduction(*, outside_setback_mm: Number, bend_allowance_mm: Number) -> Number:
    """How much shorter the flat is than the sum of the two outside legs.

    Formula: BD = 2 OSSB - BA

    Args:
        outside_setback_mm: setback of the bend [mm].
        bend_allowance_mm: neutral line length of the bend [mm].

    Returns: the deduction [mm]; negative for a large radius bent a little.

    References: definition; FAA-H-8083-31 (2012), ch. 4, uses the same parts.

    >>> round(bend_deduction(outside_setback_mm=4.0, bend_allowance_mm=4.4611), 4)
    3.5389
    """
    return 2 * outside_setback_mm - bend_allowance_mm


def faa_bend_allowance(
    *, bend_angle_deg: float, inside_radius_mm: float, thickness_mm: float
) -> float:
    """Bend allowance by the airframe mechanic's empirical formula.

    Formula: BA = (0.01743 R + 0.0078 T) N

    Args:
        bend_angle_deg: angle the sheet is turned through [deg], 0 to 180.
        inside_radius_mm: inside radius [mm], 0 or more.
        thickness_mm: sheet thickness [mm], above 0.

    Returns: the arc length [mm].

    Raises: ShopError `out_of_range` outside the stated ranges.

    References: FAA-H-8083-31, Aviation Maintenance Technician Handbook - Airframe, vol. 1 (2012),
        ch. 4. Its radius term is 0.13 % below the exact pi/180.

    >>> round(faa_bend_allowance(bend_angle_deg=90.0, inside_radius_mm=0.16, thickness_mm=0.04), 6)
    0.279072
    """
    need_between("bend_angle_deg", bend_angle_deg, 0.0, 180.0, "deg")
    need_between("inside_radius_mm", inside_radius_mm, 0.0, 1e5, "mm")
    need_above("thickness_mm", thickness_mm, 0.0, "mm")
    return (0.01743 * inside_radius_mm + 0.0078 * thickness_mm) * bend_angle_deg


STRAIGHT_STOCK_COEFFICIENT = {
    "soft brass or copper": 0.55,
    "half-hard copper or brass, soft steel, aluminium": 0.64,
    "hard copper, bronze, cold rolled steel, spring steel": 0.71,
}


def straight_stock_bend_allowance(
    *, bend_angle_deg: float, inside_radius_mm: float, thickness_mm: float, stock: str
) -> float:
    """Bend allowance by the straight-stock formulas of Machinery's Handbook.

    Formula: L = (c T + 1.57 R) A/90, c = 0.55, 0.64 or 0.71 by class of stock

    Args:
        bend_angle_deg: angle the sheet is turned through [deg], 0 to 180.
        inside_radius_mm: inside radius [mm], 0 or more.
        thickness_mm: sheet thickness [mm], above 0.
        stock: one of the classes in `STRAIGHT_STOCK_COEFFICIENT`.

    Returns: the arc length [mm].

    Raises: ShopError `out_of_range`, or `unknown_stock` for a class that is not listed.

    References: Machinery's Handbook, "Bending Sheet Metal", 26th-28th ed. (coefficients from
        memory).

    >>> round(straight_stock_bend_allowance(bend_angle_deg=90.0, inside_radius_mm=0.125,
    ...     thickness_mm=0.0625, stock="soft brass or copper"), 4)
    0.2306
    """
    need_between("bend_angle_deg", bend_angle_deg, 0.0, 180.0, "deg")
    need_between("inside_radius_mm", inside_radius_mm, 0.0, 1e5, "mm")
    need_above("thickness_mm", thickness_mm, 0.0, "mm")
    if stock not in STRAIGHT_STOCK_COEFFICIENT:
        raise ShopError(
            "unknown_stock",
            say("There is no straight-stock class '{stock}'.", stock=stock),
            remedy=say("Use one of: {names}.", names="; ".join(STRAIGHT_STOCK_COEFFICIENT)),
            where="stock",
        )
    length_at_90 = STRAIGHT_STOCK_COEFFICIENT[stock] * thickness_mm + 1.57 * inside_radius_mm
    return length_at_90 * bend_angle_deg / 90


def radius_from_allowance(
    *, bend_allowance_mm: float, bend_angle_deg: float, thickness_mm: float, k_factor: float
) -> float:
    """Inside radius that a bend allowance implies.

    Formula: r = BA / (pi A / 180) - K t

    Args:
        bend_allowance_mm: neutral line length of the bend [mm], above 0.
        bend_angle_deg: angle the sheet is turned through [deg], above 0.
        thickness_mm: sheet thickness [mm], above 0.
        k_factor: neutral line's distance from the inside surface / thickness [ratio], 0 to 1.

    Returns: the inside radius [mm]; negative when the allowance is too short for the angle.

    Raises: ShopError `out_of_range` outside the stated ranges.

    References: `bend_allowance`, solved for r.

    >>> round(radius_from_allowance(bend_allowance_mm=4.4610615, bend_angle_deg=90.0,
    ...                             thickness_mm=2.0, k_factor=0.42), 6)
    2.0
    """
    need_above("bend_allowance_mm", bend_allowance_mm, 0.0, "mm")
    need_above("bend_angle_deg", bend_angle_deg, 0.0, "deg")
    need_above("thickness_mm", thickness_mm, 0.0, "mm")
    need_between("k_factor", k_factor, 0.0, 1.0, "ratio")
    return bend_allowance_mm / (bend_angle_deg * math.pi / 180) - k_factor * thickness_mm
