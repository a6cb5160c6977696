"""Holes, edges and reliefs beside a bend: how near they may come."""

from server.errors import Amount, say
from server.findings import Finding
from server.mechanics.elementary import need_above, need_between

HOLE_THICKNESS_RATIO = 2.5
CAREFUL_THICKNESS_RATIO = 3.0
"""Hole edge to bend 2.5 t + r, or 3 t + r where the hole has to stay round. Common practice, no
source; a shop setting."""


def hole_to_bend_distance(
    *,
    thickness_mm: float,
    inside_radius_mm: float,
    thickness_ratio: float = HOLE_THICKNESS_RATIO,
) -> float:
    """Least distance from the bend's tangent line to the edge of a hole that should stay round.

    Formula: a = c t + r, c = 2.5 (or 3)

    Args:
        thickness_mm: sheet thickness [mm], above 0.
        inside_radius_mm: inside radius [mm], 0 or more.
        thickness_ratio: c of the formula [ratio], above 0.

    Returns: the distance [mm], measured on the flat from the tangent line of the bend.

    Raises: ShopError `out_of_range` outside the stated ranges.

    References: common practice, no source.

    >>> hole_to_bend_distance(thickness_mm=2.0, inside_radius_mm=2.5)
    7.5
    """
    need_above("thickness_mm", thickness_mm, 0.0, "mm")
    need_between("inside_radius_mm", inside_radius_mm, 0.0, 1e5, "mm")
    need_above("thickness_ratio", thickness_ratio, 0.0, "ratio")
    return thickness_ratio * thickness_mm + inside_radius_mm


def clear_of_die_distance(*, v_opening_mm: float, thickness_mm: float) -> float:
    """Distance from the bend line beyond which a hole never lies over the V.

    Formula: a = V/2 + t

    Args:
        v_opening_mm: V opening [mm], above 0.
        thickness_mm: sheet thickness [mm], above 0.

    Returns: the distance [mm], measured on the flat from the bend line.

    Raises: ShopError `out_of_range` for a value that is not above 0.

    References: common practice, no source.

    >>> clear_of_die_distance(v_opening_mm=16.0, thickness_mm=2.0)
    10.0
    """
    need_above("v_opening_mm", v_opening_mm, 0.0, "mm")
    need_above("thickness_mm", thickness_mm, 0.0, "mm")
    return v_opening_mm / 2 + thickness_mm


def relief_width(*, thickness_mm: float) -> float:
    """Least width of a relief cut at the end of a bend.

    Formula: b = t

    Args:
        thickness_mm: sheet thickness [mm], above 0.

    Returns: the width [mm].

    Raises: ShopError `out_of_range` for a thickness that is not above 0.

    References: common practice, no source.

    >>> relief_width(thickness_mm=2.0)
    2.0
    """
    need_above("thickness_mm", thickness_mm, 0.0, "mm")
    return thickness_mm


def relief_depth(*, inside_radius_mm: float, thickness_mm: float) -> float:
    """Depth a relief has to go beyond, from the outer mold line of the bend inwards.

    Formula: h = r + t

    Args:
        inside_radius_mm: inside radius [mm], 0 or more.
        thickness_mm: sheet thickness [mm], above 0.

    Returns: the depth [mm].

    Raises: ShopError `out_of_range` outside the stated ranges.

    References: common practice, no source.

    >>> relief_depth(inside_radius_mm=2.5, thickness_mm=2.0)
    4.5
    """
    need_between("inside_radius_mm", inside_radius_mm, 0.0, 1e5, "mm")
    need_above("thickness_mm", thickness_mm, 0.0, "mm")
    return inside_radius_mm + thickness_mm


def check_hole_to_bend(
    *,
    distance_mm: float,
    thickness_mm: float,
    inside_radius_mm: float,
    thickness_ratio: float = HOLE_THICKNESS_RATIO,
    bend: int | None = None,
) -> tuple[Finding, ...]:
    """Whether a hole or a cut edge comes so near a bend that it is pulled out of shape.

    Args:
        distance_mm: tangent line of the bend to the hole's edge [mm]; negative when the hole
            reaches into the bend.
        thickness_mm: sheet thickness [mm], above 0.
        inside_radius_mm: inside radius [mm], 0 or more.
        thickness_ratio: c of `hole_to_bend_distance` [ratio], above 0.
        bend: index of the bend, for the finding.

    Returns: a caution when it is too near, else nothing.

    Raises: ShopError `out_of_range` from the formula used.
    """
    least_mm = hole_to_bend_distance(
        thickness_mm=thickness_mm,
        inside_radius_mm=inside_radius_mm,
        thickness_ratio=thickness_ratio,
    )
    if distance_mm >= least_mm * (1 - 1e-9):
        return ()
    return (
        Finding(
            "caution",
            "hole_near_bend",
            say(
                "A hole or edge is {distance} from the bend; nearer than {least} it is pulled out "
                "of shape.",
                distance=Amount(distance_mm, "mm"),
                least=Amount(least_mm, "mm"),
            ),
            say("Move it away, cut it after bending, or add a relief along the bend."),
            source="2.5 t + r from the bend's tangent (common practice, no source)",
            bend=bend,
            amount=Amount(least_mm - distance_mm, "mm"),
        ),
    )


def check_relief(
    *,
    width_mm: float,
    depth_mm: float,
    thickness_mm: float,
    inside_radius_mm: float,
    bend: int | None = None,
) -> tuple[Finding, ...]:
    """Whether a relief at the end of a bend is wide and deep enough not to tear.

    Args:
        width_mm: width of the relief along the bend [mm].
        depth_mm: depth of the relief from the outer mold line inwards [mm].
        thickness_mm: sheet thickness [mm], above 0.
        inside_radius_mm: inside radius [mm], 0 or more.
        bend: index of the bend, for the finding.

    Returns: a caution for each dimension that is too small.

    Raises: ShopError `out_of_range` from the formulas used.
    """
    least_depth_mm = relief_depth(inside_radius_mm=inside_radius_mm, thickness_mm=thickness_mm)
    wanted = (
        ("wide", width_mm, relief_width(thickness_mm=thickness_mm), width_mm < thickness_mm),
        ("deep", depth_mm, least_depth_mm, depth_mm <= least_depth_mm),
    )
    return tuple(
        Finding(
            "caution",
            f"relief_not_{word}_enough",
            say(
                "The relief is {given} {word}; it tears unless it is at least {least}.",
                given=Amount(given_mm, "mm"),
                word=word,
                least=Amount(least_mm, "mm"),
            ),
            say("Make the relief larger."),
            source="t wide, deeper than r + t (common practice, no source)",
            bend=bend,
            amount=Amount(least_mm - given_mm, "mm"),
        )
        for word, given_mm, least_mm, too_small in wanted
        if too_small
    )
