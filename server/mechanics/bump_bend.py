"""Bump bending: a large radius made as many small air bends side by side."""

import math
from collections.abc import Iterator

from server.errors import Amount, say
from server.findings import Finding, sorted_by_level
from server.mechanics.air_bend import AirBend, air_bend
from server.mechanics.bend_allowance import bend_allowance, bend_deduction, outside_setback
from server.mechanics.bend_limits import BendCase, check_bend
from server.mechanics.elementary import need_above, need_between, radians
from server.mechanics.formed_bend import FormedBend, Hit
from server.mechanics.material import Material
from server.mechanics.tooling import Brake, Die, Punch

SMOOTH_STEP_DEG = 2.0
"""2 degrees for each hit looks smooth. Common practice, no source."""

ROUNDING_DEG = 1e-9


def bump_count(*, bend_angle_deg: float, step_deg: float) -> int:
    """How many hits a bumped radius takes.

    Formula: n = A / step, rounded up

    Args:
        bend_angle_deg: bend angle of the whole radius [deg], above 0, to 180.
        step_deg: largest bend angle of one hit [deg], above 0, to 45.

    Returns: the number of hits [count].

    Raises: ShopError `out_of_range` outside the stated ranges.

    References: common practice, no source.

    >>> bump_count(bend_angle_deg=90.0, step_deg=2.0), bump_count(bend_angle_deg=90.0, step_deg=6.0)
    (45, 15)
    """
    need_above("bend_angle_deg", bend_angle_deg, 0.0, "deg")
    need_between("bend_angle_deg", bend_angle_deg, 0.0, 180.0, "deg")
    need_between("step_deg", step_deg, 0.1, 45.0, "deg")
    return math.ceil(bend_angle_deg / step_deg - ROUNDING_DEG)


def bump_pitch(
    *, step_deg: float, inside_radius_mm: float, thickness_mm: float, k_factor: float
) -> float:
    """Distance between two hits on the flat sheet.

    Formula: p = (pi/180) step (R + K t)

    Args:
        step_deg: bend angle of one hit [deg], above 0.
        inside_radius_mm: inside radius of the whole curve [mm], above 0.
        thickness_mm: sheet thickness [mm], above 0.
        k_factor: K-factor of the whole curve [ratio], 0 to 1.

    Returns: the pitch [mm].

    Raises: ShopError `out_of_range` outside the stated ranges.

    References: arc length of the neutral line for one hit.

    >>> round(bump_pitch(step_deg=2.0, inside_radius_mm=100.0, thickness_mm=3.0, k_factor=0.5), 4)
    3.543
    """
    need_above("step_deg", step_deg, 0.0, "deg")
    need_above("inside_radius_mm", inside_radius_mm, 0.0, "mm")
    return bend_allowance(
        bend_angle_deg=step_deg,
        inside_radius_mm=inside_radius_mm,
        thickness_mm=thickness_mm,
        k_factor=k_factor,
    )


def facet_error(*, step_deg: float, inside_radius_mm: float) -> float:
    """How far the flats between hits lie off the true arc of the inside surface.

    Formula: e = R (1 - cos(step/2))

    Args:
        step_deg: bend angle of one hit [deg], 0 to 45.
        inside_radius_mm: inside radius of the whole curve [mm], above 0.

    Returns: the distance [mm].

    Raises: ShopError `out_of_range` outside the stated ranges.

    References: sagitta of a chord, plane geometry.

    >>> round(facet_error(step_deg=6.0, inside_radius_mm=100.0), 4)
    0.137
    """
    need_between("step_deg", step_deg, 0.0, 45.0, "deg")
    need_above("inside_radius_mm", inside_radius_mm, 0.0, "mm")
    return inside_radius_mm * (1.0 - math.cos(radians(step_deg) / 2))


def bump_lines(*, hit_count: int, pitch_mm: float, start_mm: float) -> tuple[float, ...]:
    """Where the hits lie on the flat, from the edge the start is measured from.

    Formula: start + (i + 1/2) p for i = 0 .. n - 1

    Args:
        hit_count: number of hits [count], at least 1.
        pitch_mm: distance between hits [mm], above 0.
        start_mm: edge to the beginning of the curve on the flat [mm].

    Returns: the positions [mm].

    Raises: ShopError `out_of_range` outside the stated ranges.

    References: each hit stands in the middle of its share of the arc.

    >>> bump_lines(hit_count=3, pitch_mm=4.0, start_mm=10.0)
    (12.0, 16.0, 20.0)
    """
    need_between("hit_count", float(hit_count), 1.0, 2000.0, "count")
    need_above("pitch_mm", pitch_mm, 0.0, "mm")
    return tuple(start_mm + (index + 0.5) * pitch_mm for index in range(hit_count))


def bump_bend(
    *,
    thickness_mm: float,
    bend_length_mm: float,
    bend_angle_deg: float,
    inside_radius_mm: float,
    material: Material,
    die: Die,
    punch: Punch,
    k_factor: float = 0.5,
    step_deg: float = SMOOTH_STEP_DEG,
    brake: Brake | None = None,
    flange_mm: float | None = None,
    index: int | None = None,
) -> FormedBend:
    """A bumped radius: equal hits, each an air bend of a few degrees.

    Formula: n hits of A/n; depth of each by the air bend with its springback; BD = 2 OSSB - BA of
        the whole curve

    Args:
        thickness_mm: sheet thickness [mm], above 0.
        bend_length_mm: length of the bend [mm], above 0.
        bend_angle_deg: bend angle of the whole curve [deg], above 0, to 180.
        inside_radius_mm: inside radius of the whole curve [mm], above 0.
        material: the sheet's metal.
        die: the lower tool.
        punch: the upper tool.
        k_factor: K-factor of the whole curve [ratio], 0 to 1.
        step_deg: largest bend angle of one hit [deg], above 0, to 45.
        brake: the machine, for its limits.
        flange_mm: shorter outside flange beside the curve [mm], None when not known.
        index: index of the bend, for the findings.

    Returns: a `FormedBend`; `hits` are all alike.

    Raises: ShopError `out_of_range`, `springs_back_too_far` from the formulas used.

    References: common practice, no source.

    >>> steel = Material(youngs_modulus_mpa=210000, yield_strength_mpa=280, tensile_strength_mpa=400)
    >>> made = bump_bend(thickness_mm=3.0, bend_length_mm=500.0, bend_angle_deg=90.0,
    ...     inside_radius_mm=100.0, material=steel, die=Die("V25", 25.0, 86.0, 2.0),
    ...     punch=Punch("P", 3.0, 85.0))
    >>> len(made.hits), made.hits[0].bend_angle_deg
    (45, 2.0)
    """
    count = bump_count(bend_angle_deg=bend_angle_deg, step_deg=step_deg)
    each_deg = bend_angle_deg / count
    one = air_bend(
        thickness_mm=thickness_mm,
        bend_length_mm=bend_length_mm,
        bend_angle_deg=each_deg,
        material=material,
        die=die,
        punch=punch,
    )
    case = BendCase(
        bend=one,
        thickness_mm=thickness_mm,
        bend_length_mm=bend_length_mm,
        material=material,
        die=die,
        punch=punch,
        brake=brake,
        flange_mm=flange_mm,
        index=index,
    )
    pitch_mm = bump_pitch(
        step_deg=each_deg,
        inside_radius_mm=inside_radius_mm,
        thickness_mm=thickness_mm,
        k_factor=k_factor,
    )
    hit = Hit("bump", each_deg, one.loaded_bend_angle_deg, one.depth_mm, case.line_load_kn_per_m)
    return FormedBend(
        kind="bump",
        hits=(hit,) * count,
        inside_radius_mm=inside_radius_mm,
        bend_allowance_mm=count * pitch_mm,
        bend_deduction_mm=bend_deduction(
            outside_setback_mm=outside_setback(
                bend_angle_deg=bend_angle_deg,
                inside_radius_mm=inside_radius_mm,
                thickness_mm=thickness_mm,
                to_tangent=True,
            ),
            bend_allowance_mm=count * pitch_mm,
        ),
        minimum_flange_mm=one.minimum_flange_mm,
        line_load_kn_per_m=case.line_load_kn_per_m,
        force_kn=case.force_kn,
        tools=(
            say("A punch tip of at most {radius}.", radius=Amount(inside_radius_mm, "mm")),
            say("A back gauge that moves in steps of {pitch}.", pitch=Amount(pitch_mm, "mm")),
        ),
        findings=sorted_by_level(
            (
                *check_bend(case),
                *_findings(one, each_deg, pitch_mm, inside_radius_mm, die, index),
            )
        ),
    )


def _findings(
    one: AirBend,
    each_deg: float,
    pitch_mm: float,
    inside_radius_mm: float,
    die: Die,
    index: int | None,
) -> Iterator[Finding]:
    if one.loaded_inside_radius_mm >= inside_radius_mm:
        yield Finding(
            "stop",
            "bump_not_needed",
            say(
                "One air bend on {die} already has a radius of {radius}.",
                die=die.name,
                radius=Amount(one.loaded_inside_radius_mm, "mm"),
            ),
            say("Air bend it, or use a narrower V and a sharper punch."),
            source="natural radius of the V",
            bend=index,
            tool=die.name,
        )
    if each_deg > SMOOTH_STEP_DEG + ROUNDING_DEG:
        yield Finding(
            "note",
            "facets_show",
            say(
                "Hits of {step} leave facets {error} off the arc; up to {smooth} looks smooth.",
                step=Amount(each_deg, "deg"),
                error=Amount(
                    facet_error(step_deg=each_deg, inside_radius_mm=inside_radius_mm), "mm"
                ),
                smooth=Amount(SMOOTH_STEP_DEG, "deg"),
            ),
            say("Take more hits."),
            source="common practice, no source",
            bend=index,
        )
    if pitch_mm < die.v_opening_mm / 2:
        yield Finding(
            "caution",
            "rests_on_earlier_hits",
            say(
                "Hits are {pitch} apart: after the first, the sheet lies on the shoulders with a "
                "curve, and each hit bends a little differently.",
                pitch=Amount(pitch_mm, "mm"),
            ),
            say("Bend a strip of the same width first, measure it, and correct the depth."),
            source="common practice, no source",
            bend=index,
            tool=die.name,
            amount=Amount(pitch_mm, "mm"),
        )
