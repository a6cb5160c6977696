"""Offsets (joggles): two bends the opposite way made in one stroke by a stepped pair of tools."""

import math
from collections.abc import Iterator
from typing import Literal

from server.errors import Amount, ShopError, say
from server.findings import Finding, sorted_by_level
from server.mechanics.bend_allowance import bend_allowance
from server.mechanics.bend_force import governing_line_load
from server.mechanics.brake_load import check_brake_load
from server.mechanics.elementary import need_above, need_between, radians
from server.mechanics.formed_bend import FormedBend, Hit
from server.mechanics.material import Material
from server.mechanics.tooling import Brake
from server.mechanics.v_opening import advised_v_opening

OffsetWay = Literal["air", "bottomed"]

FORCE_RATIO: dict[OffsetWay, float] = {"air": 2.5, "bottomed": 10.0}
TOOL_DEPTH_TOLERANCE_MM = 0.1
"""2.5 times the force of one air bend, 5 to 10 times bottomed (we reckon with the most). Common
practice, no source."""


def offset_tool_depth(*, outside_offset_mm: float, thickness_mm: float) -> float:
    """Step height of the tools for an offset.

    Formula: h = outside offset - t

    Args:
        outside_offset_mm: outer face of one leg to the opposite outer face of the other [mm],
            above t.
        thickness_mm: sheet thickness [mm], above 0.

    Returns: the step height [mm]; also how far each face moves sideways.

    Raises: ShopError `out_of_range` outside the stated ranges.

    References: common practice, no source; it is plane geometry.

    >>> offset_tool_depth(outside_offset_mm=5.0, thickness_mm=1.5)
    3.5
    """
    need_above("thickness_mm", thickness_mm, 0.0, "mm")
    need_above("outside_offset_mm", outside_offset_mm, thickness_mm, "mm")
    return outside_offset_mm - thickness_mm


def offset_web(
    *, step_mm: float, bend_angle_deg: float, inside_radius_mm: float, thickness_mm: float
) -> float:
    """Straight sheet between the two bends of an offset.

    Formula: w = (h - (2 r + t)(1 - cos A)) / sin A

    Args:
        step_mm: step height h of `offset_tool_depth` [mm], above 0.
        bend_angle_deg: bend angle of each of the two bends [deg], above 0, below 180.
        inside_radius_mm: inside radius [mm], 0 or more.
        thickness_mm: sheet thickness [mm], above 0.

    Returns: the length [mm]; negative where the two arcs would run into each other.

    Raises: ShopError `out_of_range` outside the stated ranges.

    References: plane geometry of two arcs of mean radius r + t/2 turning opposite ways.

    >>> round(offset_web(step_mm=8.0, bend_angle_deg=90.0, inside_radius_mm=1.5,
    ...                  thickness_mm=1.5), 6)
    3.5
    """
    need_above("step_mm", step_mm, 0.0, "mm")
    need_above("bend_angle_deg", bend_angle_deg, 0.0, "deg")
    need_between("bend_angle_deg", bend_angle_deg, 0.0, 179.0, "deg")
    need_between("inside_radius_mm", inside_radius_mm, 0.0, 1e5, "mm")
    need_above("thickness_mm", thickness_mm, 0.0, "mm")
    turn = radians(bend_angle_deg)
    rise_mm = (2 * inside_radius_mm + thickness_mm) * (1 - math.cos(turn))
    return (step_mm - rise_mm) / math.sin(turn)


def offset_bend(
    *,
    thickness_mm: float,
    bend_length_mm: float,
    outside_offset_mm: float,
    bend_angle_deg: float,
    inside_radius_mm: float,
    material: Material,
    k_factor: float,
    way: OffsetWay = "air",
    v_opening_mm: float | None = None,
    tool_depth_mm: float | None = None,
    tool_rating_kn_per_m: float | None = None,
    brake: Brake | None = None,
    index: int | None = None,
) -> FormedBend:
    """An offset in one stroke.

    Formula: flat of the offset = 2 BA + w; BD = run - that, run = (2 r + t) sin A + w cos A, for
        legs dimensioned along the sheet to the step; force = 2.5 (air) or 10 (bottomed) x one air
        bend's

    Args:
        thickness_mm: sheet thickness [mm], above 0.
        bend_length_mm: length of the bend [mm], above 0.
        outside_offset_mm: outer face to opposite outer face [mm], above t.
        bend_angle_deg: bend angle of each of the two bends [deg], above 0, to 90.
        inside_radius_mm: inside radius [mm], 0 or more.
        material: the sheet's metal.
        k_factor: K-factor of the two bends [ratio], 0 to 1.
        way: air or bottomed.
        v_opening_mm: opening of the tools beside each bend [mm]; common practice's V when None.
        tool_depth_mm: step height of the owned tools [mm], None when not chosen yet.
        tool_rating_kn_per_m: rating of the owned tools [kn_per_m], None when not entered.
        brake: the machine, for its limits.
        index: index of the bend, for the findings.

    Returns: a `FormedBend` of one hit; `bend_deduction_mm` is negative, the flat is longer than
        the run, and `minimum_flange_mm` is half of the opening as seen from the bend line.

    Raises: ShopError `out_of_range` from the formulas used; `offset_too_small` where the arcs
        would run into each other.

    References: common practice, no source; lengths are plane geometry.

    >>> steel = Material(youngs_modulus_mpa=210000, yield_strength_mpa=280, tensile_strength_mpa=400)
    >>> made = offset_bend(thickness_mm=1.5, bend_length_mm=1000.0, outside_offset_mm=9.5,
    ...     bend_angle_deg=90.0, inside_radius_mm=1.5, material=steel, k_factor=0.5)
    >>> round(made.bend_allowance_mm, 4), round(made.bend_deduction_mm, 4)
    (7.0686, -6.0686)
    """
    need_above("bend_length_mm", bend_length_mm, 0.0, "mm")
    need_between("bend_angle_deg", bend_angle_deg, 0.0, 90.0, "deg")
    step_mm = offset_tool_depth(outside_offset_mm=outside_offset_mm, thickness_mm=thickness_mm)
    web_mm = offset_web(
        step_mm=step_mm,
        bend_angle_deg=bend_angle_deg,
        inside_radius_mm=inside_radius_mm,
        thickness_mm=thickness_mm,
    )
    if web_mm < 0.0:
        raise _too_small(outside_offset_mm, inside_radius_mm)
    allowance_mm = 2 * bend_allowance(
        bend_angle_deg=bend_angle_deg,
        inside_radius_mm=inside_radius_mm,
        thickness_mm=thickness_mm,
        k_factor=k_factor,
    )
    turn = radians(bend_angle_deg)
    run_mm = (2 * inside_radius_mm + thickness_mm) * math.sin(turn) + web_mm * math.cos(turn)
    opening_mm = (
        advised_v_opening(thickness_mm=thickness_mm) if v_opening_mm is None else v_opening_mm
    )
    load = FORCE_RATIO[way] * governing_line_load(
        tensile_strength_mpa=material.tensile_strength_mpa,
        thickness_mm=thickness_mm,
        v_opening_mm=opening_mm,
    )
    return FormedBend(
        kind="offset",
        hits=(Hit("offset", bend_angle_deg, bend_angle_deg, None, load),),
        inside_radius_mm=inside_radius_mm,
        bend_allowance_mm=allowance_mm,
        bend_deduction_mm=run_mm - (allowance_mm + web_mm),
        minimum_flange_mm=opening_mm / 2,
        line_load_kn_per_m=load,
        force_kn=load * bend_length_mm / 1000,
        tools=(
            say("Offset tools with a step of {step}.", step=Amount(step_mm, "mm")),
            say("Rated for {load}.", load=Amount(load, "kn_per_m")),
        ),
        findings=sorted_by_level(
            (
                *_tool_findings(step_mm, tool_depth_mm, load, tool_rating_kn_per_m, index),
                *(
                    check_brake_load(
                        line_load_kn_per_m=load,
                        bend_length_mm=bend_length_mm,
                        brake=brake,
                        bend=index,
                    )
                    if brake is not None
                    else ()
                ),
            )
        ),
    )


def _tool_findings(
    step_mm: float,
    tool_depth_mm: float | None,
    load: float,
    rating: float | None,
    index: int | None,
) -> Iterator[Finding]:
    if tool_depth_mm is None:
        return
    if abs(tool_depth_mm - step_mm) > TOOL_DEPTH_TOLERANCE_MM:
        yield Finding(
            "stop",
            "offset_tool_depth",
            say(
                "The tools step {depth}; this offset and sheet need {step}.",
                depth=Amount(tool_depth_mm, "mm"),
                step=Amount(step_mm, "mm"),
            ),
            say("Use tools of that step, or shim them as their maker allows."),
            source="tool depth = outside offset - t (common practice, no source)",
            bend=index,
            amount=Amount(tool_depth_mm - step_mm, "mm"),
        )
    if rating is None:
        yield Finding(
            "stop",
            "no_rating",
            say("The offset tools have no load rating entered."),
            say("Enter the rating stamped on the tools or in their maker's sheet."),
            source="no job runs on a tool of unknown strength",
            bend=index,
        )
    elif load > rating:
        yield Finding(
            "stop",
            "line_load_over_tools",
            say(
                "The offset needs {load}; its tools are rated {rating}.",
                load=Amount(load, "kn_per_m"),
                rating=Amount(rating, "kn_per_m"),
            ),
            say("Use stronger tools, or two separate bends."),
            source="highest published force rule against the tools' rating",
            bend=index,
            amount=Amount(load - rating, "kn_per_m"),
        )


def _too_small(outside_offset_mm: float, inside_radius_mm: float) -> ShopError:
    return ShopError(
        "offset_too_small",
        say(
            "An offset of {offset} leaves no room for two bends of radius {radius}.",
            offset=Amount(outside_offset_mm, "mm"),
            radius=Amount(inside_radius_mm, "mm"),
        ),
        remedy="Use a smaller radius or bend angle, or a larger offset.",
        where="outside_offset_mm",
    )
