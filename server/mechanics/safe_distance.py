"""How far away hands and guards have to be. The machine's manual and local rules come first.

These numbers help to see that a distance is too small. They never show that it is enough: a
competent person judges a guard, with the measured stopping time of the machine.
"""

from server.errors import Amount, say
from server.findings import Finding
from server.mechanics.elementary import need_above, need_between
from server.units.length import mm_from_inches

HAND_SPEED_MM_PER_S = mm_from_inches(63.0)
"""Hand speed constant, 63 in/s: 29 CFR 1910.217(c)(3)(iii)(e) and ANSI B11.19."""

PENETRATION_FACTOR = 3.4
PENETRATION_FREE_MM = mm_from_inches(0.276)
LARGEST_SENSITIVITY_MM = mm_from_inches(2.5)
"""Dpf = 3.4 (S - 0.276 in) for an object sensitivity below 2.5 in: ANSI B11.19 (from memory)."""

SAFE_DISTANCE_MM = mm_from_inches(4.0)
"""Least distance between hands and the point of operation where work is guarded by distance alone:
OSHA instruction CPL 02-01-025 (1997), the figure of 4 in from memory."""

ISO_NEAR_SPEED_MM_PER_S = 2000.0
ISO_FAR_SPEED_MM_PER_S = 1600.0
ISO_NEAR_TO_MM = 500.0
ISO_LEAST_MM = 100.0
ISO_LARGEST_SENSITIVITY_MM = 40.0
"""ISO 13855:2010, vertical light curtain with a detection capability up to 40 mm (from memory)."""


def depth_penetration(*, object_sensitivity_mm: float) -> float:
    """How far a hand reaches through a light curtain before it is seen.

    Formula: Dpf = 3.4 (S - 0.276 in), not below 0

    Args:
        object_sensitivity_mm: smallest object the curtain always sees [mm], above 0, to 63.5.

    Returns: the depth penetration factor [mm].

    Raises: ShopError `out_of_range` outside the stated range.

    References: ANSI B11.19, depth penetration factor (from memory).

    >>> round(depth_penetration(object_sensitivity_mm=19.05), 2)
    40.93
    """
    need_above("object_sensitivity_mm", object_sensitivity_mm, 0.0, "mm")
    need_between("object_sensitivity_mm", object_sensitivity_mm, 0.0, LARGEST_SENSITIVITY_MM, "mm")
    return max(0.0, PENETRATION_FACTOR * (object_sensitivity_mm - PENETRATION_FREE_MM))


def safeguarding_distance(
    *,
    stopping_time_s: float,
    penetration_mm: float,
    hand_speed_mm_per_s: float = HAND_SPEED_MM_PER_S,
) -> float:
    """Least distance of a light curtain or two-hand control from the point of operation.

    Formula: Ds = K T + Dpf

    Args:
        stopping_time_s: whole time until the ram stands still, machine, control and sensor
            [s], above 0.
        penetration_mm: depth penetration of `depth_penetration`, 0 for two-hand controls [mm].
        hand_speed_mm_per_s: hand speed constant [mm_per_s], above 0.

    Returns: the distance [mm].

    Raises: ShopError `out_of_range` outside the stated ranges.

    References: ANSI B11.19; 29 CFR 1910.217(c)(3)(iii)(e) with 63 in/s.

    >>> round(safeguarding_distance(stopping_time_s=0.2, penetration_mm=40.93464))
    361
    """
    need_above("stopping_time_s", stopping_time_s, 0.0, "s")
    need_between("penetration_mm", penetration_mm, 0.0, 2000.0, "mm")
    need_above("hand_speed_mm_per_s", hand_speed_mm_per_s, 0.0, "mm_per_s")
    return hand_speed_mm_per_s * stopping_time_s + penetration_mm


def iso13855_distance(*, stopping_time_s: float, detection_mm: float) -> float:
    """Least distance of a vertical light curtain from the point of operation.

    Formula: S = K T + 8 (d - 14), the bracket not below 0; K = 2000 mm/s and S at least 100 mm;
        where that comes above 500 mm, K = 1600 mm/s and S at least 500 mm

    Args:
        stopping_time_s: whole time until the ram stands still [s], above 0.
        detection_mm: detection capability of the curtain [mm], above 0, to 40.

    Returns: the distance [mm].

    Raises: ShopError `out_of_range` outside the stated ranges.

    References: ISO 13855:2010, vertical detection zone (from memory).

    >>> iso13855_distance(stopping_time_s=0.1, detection_mm=30.0)
    328.0
    """
    need_above("stopping_time_s", stopping_time_s, 0.0, "s")
    need_above("detection_mm", detection_mm, 0.0, "mm")
    need_between("detection_mm", detection_mm, 0.0, ISO_LARGEST_SENSITIVITY_MM, "mm")
    reach_mm = 8.0 * max(0.0, detection_mm - 14.0)
    near_mm = ISO_NEAR_SPEED_MM_PER_S * stopping_time_s + reach_mm
    if near_mm <= ISO_NEAR_TO_MM:
        return max(ISO_LEAST_MM, near_mm)
    return max(ISO_NEAR_TO_MM, ISO_FAR_SPEED_MM_PER_S * stopping_time_s + reach_mm)


def check_hand_distance(*, hand_distance_mm: float, bend: int | None = None) -> tuple[Finding, ...]:
    """Whether the part is so small that hands come near the tools while holding it.

    Args:
        hand_distance_mm: bend line to the nearest place the part can be held [mm], 0 or more.
        bend: index of the bend, for the finding.

    Returns: a caution when hands come nearer than the safe distance, else nothing.

    Raises: ShopError `out_of_range` for a negative distance.
    """
    need_between("hand_distance_mm", hand_distance_mm, 0.0, 1e6, "mm")
    if hand_distance_mm >= SAFE_DISTANCE_MM:
        return ()
    return (
        Finding(
            "caution",
            "hands_near",
            say(
                "Held by its edge, this part brings hands within {distance} of the tools; "
                "{least} is the least where distance is the only protection.",
                distance=Amount(hand_distance_mm, "mm"),
                least=Amount(SAFE_DISTANCE_MM, "mm"),
            ),
            say(
                "Bend it with the machine's guard in use or from a larger blank, rest it on the "
                "gauge, and keep hands off the sheet; the machine's manual and local rules decide."
            ),
            source="OSHA instruction CPL 02-01-025 (1997), the figure from memory",
            bend=bend,
            amount=Amount(SAFE_DISTANCE_MM - hand_distance_mm, "mm"),
        ),
    )
