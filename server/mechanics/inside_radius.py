"""The inside radius an air bend takes by itself."""

from server.mechanics.elementary import Number, larger, need_above, need_between

DEFAULT_RADIUS_RATIO = 0.16
CREASE_RATIO = 0.63

RADIUS_RATIO_BY_FAMILY = {
    "steel": 0.16,
    "galvanized": 0.16,
    "stainless": 0.21,
    "aluminium": 0.13,
    "copper": 0.14,
    "brass": 0.15,
}
"""Natural inside radius / V opening. Common practice, no source: mild steel 0.16, stainless 0.20 to
0.22, soft aluminium 0.12 to 0.13; copper and brass are our estimates between them. A shop's own
trials replace it."""


def loaded_inside_radius(
    *, punch_tip_radius_mm: Number, radius_ratio: Number, v_opening_mm: Number
) -> Number:
    """Inside radius of an air bend while the punch still presses.

    Formula: ri = max(punch tip radius, c V)

    Args:
        punch_tip_radius_mm: punch tip radius [mm], 0 or more.
        radius_ratio: natural radius / V opening, by material family [ratio], above 0, to 1.
        v_opening_mm: V opening between the sharp intersections [mm], above 0.

    Returns: the loaded inside radius [mm].

    Raises: ShopError `out_of_range` outside the stated ranges.

    References: common practice, no source; the share of V by material is discussed by S. Benson in
        The Fabricator, "Predicting an air-formed sheet metal inside bend radius".

    >>> loaded_inside_radius(punch_tip_radius_mm=1.0, radius_ratio=0.16, v_opening_mm=16.0)
    2.56
    """
    need_between("punch.tip_radius_mm", punch_tip_radius_mm, 0.0, 1e5, "mm")
    need_above("material.radius_ratio", radius_ratio, 0.0, "ratio")
    need_between("material.radius_ratio", radius_ratio, 0.0, 1.0, "ratio")
    need_above("die.v_opening_mm", v_opening_mm, 0.0, "mm")
    return larger(punch_tip_radius_mm, radius_ratio * v_opening_mm)


def radius_ratio_from_tensile(*, tensile_strength_mpa: float) -> float:
    """Natural radius / V opening by proportion to tensile strength.

    Formula: c = 0.155 x Rm / 413.7 MPa

    Args:
        tensile_strength_mpa: tensile strength [mpa], above 0.

    Returns: the ratio [ratio].

    Raises: ShopError `out_of_range` for a strength that is not above 0.

    References: S. Benson, The Fabricator, "Forming aluminum on the press brake: bending soft, not
        so soft": 15.5 % at 60 ksi, other materials in proportion. A rule of thumb: very soft
        metal folds around the punch instead.

    >>> round(radius_ratio_from_tensile(tensile_strength_mpa=413.685), 3)
    0.155
    """
    need_above("tensile_strength_mpa", tensile_strength_mpa, 0.0, "mpa")
    return 0.155 * tensile_strength_mpa / SIXTY_KSI_MPA


SIXTY_KSI_MPA = 413.685
"""60,000 psi in MPa; 1 psi = 6.894757 kPa (NIST SP 811, Appendix B)."""


def punch_creases(*, punch_tip_radius_mm: float, thickness_mm: float) -> bool:
    """Whether the punch tip is sharp enough to crease the sheet instead of rolling it.

    Formula: tip radius < 0.63 t

    Args:
        punch_tip_radius_mm: punch tip radius [mm], 0 or more.
        thickness_mm: sheet thickness [mm], above 0.

    Returns: True when it creases.

    References: common practice, no source.

    >>> punch_creases(punch_tip_radius_mm=1.0, thickness_mm=2.0)
    True
    """
    return punch_tip_radius_mm < CREASE_RATIO * thickness_mm
