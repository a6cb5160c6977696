"""Bottoming and coining: the sheet is pressed against the V, so the tools fix the angle.

Both need several times the force of an air bend and are chosen on purpose, never by default.
"""

from collections.abc import Iterator
from dataclasses import replace
from typing import Literal

from server.errors import Amount, say
from server.findings import Finding, sorted_by_level
from server.mechanics.air_bend import air_bend
from server.mechanics.bend_allowance import bend_allowance, bend_deduction, outside_setback
from server.mechanics.bend_force import BOTTOMING_FORCE_RATIO, COINING_FORCE_RATIO
from server.mechanics.bend_limits import BendCase, check_bend
from server.mechanics.elementary import need_between
from server.mechanics.formed_bend import FormedBend, Hit
from server.mechanics.k_factor import din6935_k_factor
from server.mechanics.material import Material
from server.mechanics.tooling import Brake, Die, Punch

Way = Literal["bottoming", "coining"]

FORCE_RATIO: dict[Way, float] = {
    "bottoming": BOTTOMING_FORCE_RATIO,
    "coining": COINING_FORCE_RATIO,
}
FORCE_RATIO_RANGE: dict[Way, tuple[float, float]] = {
    "bottoming": (3.0, 5.0),
    "coining": (8.0, 10.0),
}
TIGHTER_AT_MOST_DEG = 2.0
SAME_ANGLE_DEG = 1e-6
SHARPEST_TIP_MM = 1e-6
"""Tools of the wanted angle, up to 2 degrees tighter for the springback that bottoming leaves;
force 3 to 5 times (bottoming) or 8 to 10 times (coining) the air bend's. Common practice, no
source."""


def bottomed_bend(
    *,
    thickness_mm: float,
    bend_length_mm: float,
    bend_angle_deg: float,
    material: Material,
    die: Die,
    punch: Punch,
    way: Way = "bottoming",
    k_factor: float | None = None,
    force_ratio: float | None = None,
    brake: Brake | None = None,
    flange_mm: float | None = None,
    index: int | None = None,
) -> FormedBend:
    """A bend pressed to the bottom of the V: the die's angle and the punch's radius stay in it.

    Formula: angle under load = 180 - die angle; inside radius = punch tip radius; depth as the air
        bend's at that angle; force = ratio x the air bend's

    Args:
        thickness_mm: sheet thickness [mm], above 0.
        bend_length_mm: length of the bend [mm], above 0.
        bend_angle_deg: angle wanted after release [deg], 0 to 180.
        material: the sheet's metal.
        die: the lower tool.
        punch: the upper tool.
        way: bottoming or coining.
        k_factor: K-factor of the bend [ratio]; DIN 6935's at the punch radius when None.
        force_ratio: force as a multiple of the air bend's [ratio]; the usual one when None.
        brake: the machine, for its limits.
        flange_mm: shorter outside flange [mm], None when not known.
        index: index of the bend, for the findings.

    Returns: a `FormedBend`.

    Raises: ShopError `out_of_range` from the formulas used.

    References: common practice, no source; depth by `ram_depth`, which ends at the V's wall.

    >>> steel = Material(youngs_modulus_mpa=210000, yield_strength_mpa=280, tensile_strength_mpa=400)
    >>> bend = bottomed_bend(thickness_mm=1.5, bend_length_mm=1000.0, bend_angle_deg=90.0,
    ...     material=steel, die=Die("V10", 10.0, 90.0, 1.0), punch=Punch("P", 1.5, 90.0))
    >>> bend.inside_radius_mm, round(bend.force_kn, 1)
    (1.5, 576.0)
    """
    ratio = FORCE_RATIO[way] if force_ratio is None else force_ratio
    need_between("force_ratio", ratio, 1.0, 20.0, "ratio")
    tip_mm = max(punch.tip_radius_mm, SHARPEST_TIP_MM)
    loaded_deg = 180.0 - die.angle_deg
    wrong_angle = tuple(_angle_of_tools(bend_angle_deg, die, punch, index))
    bend = air_bend(
        thickness_mm=thickness_mm,
        bend_length_mm=bend_length_mm,
        bend_angle_deg=bend_angle_deg,
        material=material,
        die=die,
        punch=punch,
        loaded_inside_radius_mm=tip_mm,
        springback_deg=0.0 if wrong_angle else loaded_deg - bend_angle_deg,
    )
    case = BendCase(
        bend=replace(bend, inside_radius_mm=tip_mm),
        thickness_mm=thickness_mm,
        bend_length_mm=bend_length_mm,
        material=material,
        die=die,
        punch=punch,
        brake=brake,
        flange_mm=flange_mm,
        force_ratio=ratio,
        index=index,
    )
    if k_factor is None:
        k_factor = din6935_k_factor(inside_radius_mm=tip_mm, thickness_mm=thickness_mm)
    allowance_mm = bend_allowance(
        bend_angle_deg=bend_angle_deg,
        inside_radius_mm=tip_mm,
        thickness_mm=thickness_mm,
        k_factor=k_factor,
    )
    setback_mm = outside_setback(
        bend_angle_deg=bend_angle_deg,
        inside_radius_mm=tip_mm,
        thickness_mm=thickness_mm,
        to_tangent=True,
    )
    return FormedBend(
        kind=way,
        hits=(
            Hit(
                way,
                bend_angle_deg,
                bend.loaded_bend_angle_deg,
                bend.depth_mm,
                case.line_load_kn_per_m,
            ),
        ),
        inside_radius_mm=tip_mm,
        bend_allowance_mm=allowance_mm,
        bend_deduction_mm=bend_deduction(
            outside_setback_mm=setback_mm, bend_allowance_mm=allowance_mm
        ),
        minimum_flange_mm=bend.minimum_flange_mm,
        line_load_kn_per_m=case.line_load_kn_per_m,
        force_kn=case.force_kn,
        tools=(
            say(
                "Die of {die} to {wanted}, punch not wider than the die, tip radius {radius}.",
                die=Amount(180.0 - bend_angle_deg - TIGHTER_AT_MOST_DEG, "deg"),
                wanted=Amount(180.0 - bend_angle_deg, "deg"),
                radius=Amount(tip_mm, "mm"),
            ),
        ),
        findings=sorted_by_level(
            (*wrong_angle, _force_multiple(way, ratio, index), *check_bend(case))
        ),
    )


def _angle_of_tools(
    bend_angle_deg: float, die: Die, punch: Punch, index: int | None
) -> Iterator[Finding]:
    wanted_deg = 180.0 - bend_angle_deg
    tighter_deg = wanted_deg - die.angle_deg
    if not -SAME_ANGLE_DEG <= tighter_deg <= TIGHTER_AT_MOST_DEG + SAME_ANGLE_DEG:
        yield Finding(
            "stop",
            "die_fixes_angle",
            say(
                "Bottomed, the corner takes the die's {die}; {wanted} is wanted.",
                die=Amount(die.angle_deg, "deg"),
                wanted=Amount(wanted_deg, "deg"),
            ),
            say("Use a die of the wanted angle, at most 2° tighter, or air bend it."),
            source="common practice, no source",
            bend=index,
            tool=die.name,
            amount=Amount(tighter_deg, "deg"),
        )
    if punch.angle_deg > die.angle_deg + SAME_ANGLE_DEG:
        yield Finding(
            "stop",
            "punch_wider_than_die",
            say(
                "The punch {punch} has {angle}, the die {die}: it cannot press the sheet home.",
                punch=punch.name,
                angle=Amount(punch.angle_deg, "deg"),
                die=Amount(die.angle_deg, "deg"),
            ),
            say("Use a punch of at most the die's angle."),
            source="geometry of the tools",
            bend=index,
            tool=punch.name,
        )


def _force_multiple(way: Way, ratio: float, index: int | None) -> Finding:
    least, most = FORCE_RATIO_RANGE[way]
    return Finding(
        "caution",
        "force_multiple",
        say(
            "{way} is reckoned with {ratio} times the force of an air bend; {least} to {most} "
            "times is usual, and a little too deep takes much more.",
            way=way.capitalize(),
            ratio=Amount(ratio, "ratio"),
            least=Amount(least, "ratio"),
            most=Amount(most, "ratio"),
        ),
        say("Air bend it if the angle and radius allow; set the depth with care."),
        source="common practice, no source",
        bend=index,
        amount=Amount(ratio, "ratio"),
    )
