"""One air bend in whole: radius, springback, depth, force and limits, both ways."""

from dataclasses import dataclass
from typing import Any, Literal, NamedTuple

import numpy as np

from server.errors import Amount, ShopError, say
from server.mechanics.bend_force import ForceRule, bending_line_load, v_bending_coefficient
from server.mechanics.elementary import (
    FloatArray,
    Number,
    need_above,
    need_between,
    radians,
)
from server.mechanics.inside_radius import loaded_inside_radius
from server.mechanics.material import Material
from server.mechanics.ram_depth import (
    largest_loaded_angle,
    loaded_angle_from_depth,
    minimum_flange,
    ram_depth,
    ram_depth_per_degree,
    shoulder_centre,
    straight_flank,
)
from server.mechanics.springback import (
    released_inside_radius,
    springback,
    unloading_curvature,
)
from server.mechanics.tooling import Die, Punch

SpringbackGiven = float | Literal["model"]

SAME_ANGLE_DEG = 1e-12
MOST_ROUNDS = 400
SPRINGBACK_LEAST_DEG = -10.0
SPRINGBACK_MOST_DEG = 90.0
"""A springback given by hand: bottoming with a sharp punch can close a bend a little further."""


class Bending(NamedTuple):
    """What stays the same while one sheet is bent in one die: lengths [mm], curvature [per mm]."""

    thickness_mm: float
    shoulder_centre_mm: float
    roll_radius_mm: float
    loaded_inside_radius_mm: float
    unloading_curvature_per_mm: float


@dataclass(frozen=True, slots=True)
class AirBend:
    """The numbers of one air bend. Angles [deg], lengths [mm], force [n]."""

    loaded_inside_radius_mm: float
    inside_radius_mm: float
    bend_angle_deg: float
    loaded_bend_angle_deg: float
    springback_deg: float
    depth_mm: float
    depth_mm_per_deg: float
    tip_below_die_top_mm: float
    force_n: float
    force_kn_per_m: float
    minimum_flange_mm: float
    largest_loaded_angle_deg: float


def bending(
    *,
    thickness_mm: float,
    material: Material,
    die: Die,
    punch: Punch,
    loaded_inside_radius_mm: float | None = None,
    springback_factor: float = 1.0,
) -> Bending:
    """What stays the same while one sheet is bent in one die.

    Formula: x_s, R = Rs + t + ri, ri = max(tip radius, c V), M/(E' I)

    Args:
        thickness_mm: sheet thickness [mm], above 0.
        material: the sheet's metal.
        die: the lower tool.
        punch: the upper tool.
        loaded_inside_radius_mm: inside radius under load [mm] where it is known, else by rule.
        springback_factor: multiplier of the springback model, learned from trials [ratio].

    Returns: a `Bending`.

    Raises: ShopError `out_of_range` naming the parameter.

    References: the modules of the single quantities.

    >>> steel = Material(youngs_modulus_mpa=210000, yield_strength_mpa=235, tensile_strength_mpa=360)
    >>> die = Die("V16", v_opening_mm=16.0, angle_deg=86.0, shoulder_radius_mm=1.5)
    >>> punch = Punch("P", tip_radius_mm=1.0, angle_deg=85.0)
    >>> bending(thickness_mm=2.0, material=steel, die=die, punch=punch).roll_radius_mm
    6.0600000000000005
    """
    need_above("thickness_mm", thickness_mm, 0.0, "mm")
    if loaded_inside_radius_mm is None:
        loaded_inside_radius_mm = loaded_inside_radius(
            punch_tip_radius_mm=punch.tip_radius_mm,
            radius_ratio=material.radius_ratio,
            v_opening_mm=die.v_opening_mm,
        )
    else:
        need_above("loaded_inside_radius_mm", loaded_inside_radius_mm, 0.0, "mm")
    return Bending(
        thickness_mm,
        shoulder_centre(
            v_opening_mm=die.v_opening_mm,
            die_angle_deg=die.angle_deg,
            shoulder_radius_mm=die.shoulder_radius_mm,
        ),
        die.shoulder_radius_mm + thickness_mm + loaded_inside_radius_mm,
        loaded_inside_radius_mm,
        springback_factor
        * unloading_curvature(
            flow_stress_mpa=material.bending_flow_stress_mpa,
            youngs_modulus_mpa=material.youngs_modulus_mpa,
            poisson_ratio=material.poisson_ratio,
            thickness_mm=thickness_mm,
        ),
    )


def springback_at(sheet: Bending, loaded_bend_angle_deg: Number) -> Number:
    """Springback of the model at an angle under load [deg]."""
    lengths: Any = sheet  # plain numbers go with a number and with an array alike
    lost_deg: Number = springback(
        loaded_bend_angle_deg=loaded_bend_angle_deg,
        loaded_inside_radius_mm=lengths.loaded_inside_radius_mm,
        thickness_mm=lengths.thickness_mm,
        straight_flank_mm=straight_flank(
            loaded_bend_angle_deg=loaded_bend_angle_deg,
            shoulder_centre_mm=lengths.shoulder_centre_mm,
            roll_radius_mm=lengths.roll_radius_mm,
        ),
        unloading_curvature_per_mm=lengths.unloading_curvature_per_mm,
    )
    return lost_deg


def need_springback(springback_deg: SpringbackGiven) -> None:
    """Refuse a springback given by hand that no sheet has.

    Raises: ShopError `out_of_range`.
    """
    if springback_deg != "model":
        need_between(
            "springback_deg", springback_deg, SPRINGBACK_LEAST_DEG, SPRINGBACK_MOST_DEG, "deg"
        )


def loaded_bend_angle(
    sheet: Bending, bend_angle_deg: float, springback_deg: SpringbackGiven = "model"
) -> float:
    """Angle under load that leaves the wanted angle after release.

    Formula: fixed point of A_load = A + springback(A_load)

    Args:
        sheet: the constant lengths of `bending`.
        bend_angle_deg: angle wanted after release [deg].
        springback_deg: "model", or the springback itself [deg].

    Returns: the angle under load [deg].

    Raises: ShopError `springs_back_too_far` when no angle below 180 under load is enough,
        `springs_past_flat` when the springback given would need a bend the other way.

    References: definition.

    >>> loaded_bend_angle(Bending(2.0, 8.65, 6.06, 2.56, 0.002), 90.0, 1.5)
    91.5
    """
    if springback_deg != "model":
        return _possible(bend_angle_deg + springback_deg)
    if bend_angle_deg == 0.0:
        return 0.0
    loaded_deg = bend_angle_deg
    for _ in range(MOST_ROUNDS):
        better_deg = _possible(bend_angle_deg + springback_at(sheet, loaded_deg))
        if abs(better_deg - loaded_deg) < SAME_ANGLE_DEG:
            return better_deg
        loaded_deg = better_deg
    raise _too_far()


def depth_for_angle(
    sheet: Bending, bend_angle_deg: float, springback_deg: SpringbackGiven = "model"
) -> float:
    """Punch tip travel that leaves a bend angle after release [mm]."""
    return ram_depth(
        loaded_bend_angle_deg=loaded_bend_angle(sheet, bend_angle_deg, springback_deg),
        shoulder_centre_mm=sheet.shoulder_centre_mm,
        roll_radius_mm=sheet.roll_radius_mm,
    )


def angles_for_depth(
    sheet: Bending, depth_mm: float, springback_deg: SpringbackGiven = "model"
) -> tuple[float, float]:
    """Bend angle under load and after release for a punch tip travel.

    Formula: A_load by `loaded_angle_from_depth`; A = A_load - springback(A_load), not below 0

    Args:
        sheet: the constant lengths of `bending`.
        depth_mm: punch tip travel from first touch [mm], 0 or more.
        springback_deg: "model", or the springback itself [deg].

    Returns: (angle under load, angle after release) [deg]; the second is 0 where the travel is too
        small to leave a bend.

    Raises: ShopError `out_of_range`, `too_deep`.

    References: `ram_depth` and `springback`.

    >>> steel = Material(youngs_modulus_mpa=210000, yield_strength_mpa=235, tensile_strength_mpa=360)
    >>> die = Die("V16", v_opening_mm=16.0, angle_deg=86.0, shoulder_radius_mm=1.5)
    >>> sheet = bending(thickness_mm=2.0, material=steel, die=die,
    ...                 punch=Punch("P", tip_radius_mm=1.0, angle_deg=85.0))
    >>> loaded, final = angles_for_depth(sheet, depth_for_angle(sheet, 90.0))
    >>> round(loaded, 2), round(final, 9)
    (91.52, 90.0)
    """
    loaded_deg = loaded_angle_from_depth(
        depth_mm=float(depth_mm),
        shoulder_centre_mm=sheet.shoulder_centre_mm,
        roll_radius_mm=sheet.roll_radius_mm,
    )
    lost_deg = springback_at(sheet, loaded_deg) if springback_deg == "model" else springback_deg
    return loaded_deg, max(0.0, loaded_deg - lost_deg)


def air_bend(
    *,
    thickness_mm: float,
    bend_length_mm: float,
    bend_angle_deg: float,
    material: Material,
    die: Die,
    punch: Punch,
    loaded_inside_radius_mm: float | None = None,
    springback_deg: SpringbackGiven = "model",
    springback_factor: float = 1.0,
    force_rule: ForceRule = "lange",
) -> AirBend:
    """All numbers of one air bend for a wanted angle.

    Formula: radius, springback fixed point, depth and force by the modules of each quantity

    Args:
        thickness_mm: sheet thickness [mm], above 0.
        bend_length_mm: length of the bend [mm], above 0.
        bend_angle_deg: angle wanted after release [deg], 0 or more, below 180.
        material: the sheet's metal.
        die: the lower tool.
        punch: the upper tool.
        loaded_inside_radius_mm: inside radius under load [mm] where it is known, else by rule.
        springback_deg: "model", or the springback itself [deg].
        springback_factor: multiplier of the springback model, learned from trials [ratio].
        force_rule: which published force rule gives `force_n`.

    Returns: an `AirBend`. Limits are not checked here: see `bend_limits`.

    Raises: ShopError `out_of_range`, `springs_back_too_far`, `all_springs_back`.

    References: the modules of the single quantities.

    >>> steel = Material(youngs_modulus_mpa=210000, yield_strength_mpa=235, tensile_strength_mpa=360)
    >>> die = Die("V16", v_opening_mm=16.0, angle_deg=86.0, shoulder_radius_mm=1.5)
    >>> bend = air_bend(thickness_mm=2.0, bend_length_mm=1000.0, bend_angle_deg=90.0, material=steel,
    ...                 die=die, punch=Punch("P", tip_radius_mm=1.0, angle_deg=85.0))
    >>> round(bend.loaded_bend_angle_deg, 2), round(bend.depth_mm, 3), round(bend.force_n)
    (91.52, 6.259, 135000)
    """
    need_above("bend_length_mm", bend_length_mm, 0.0, "mm")
    need_between("bend_angle_deg", bend_angle_deg, 0.0, 180.0, "deg")
    need_springback(springback_deg)
    sheet = bending(
        thickness_mm=thickness_mm,
        material=material,
        die=die,
        punch=punch,
        loaded_inside_radius_mm=loaded_inside_radius_mm,
        springback_factor=springback_factor,
    )
    loaded_deg = loaded_bend_angle(sheet, bend_angle_deg, springback_deg)
    return _whole(sheet, (loaded_deg, bend_angle_deg), bend_length_mm, material, die, force_rule)


def air_bend_at_depth(
    *,
    thickness_mm: float,
    bend_length_mm: float,
    depth_mm: float,
    material: Material,
    die: Die,
    punch: Punch,
    loaded_inside_radius_mm: float | None = None,
    springback_deg: SpringbackGiven = "model",
    springback_factor: float = 1.0,
    force_rule: ForceRule = "lange",
) -> AirBend:
    """All numbers of the air bend that a punch tip travel makes: `air_bend` the other way round.

    Formula: angles by `angles_for_depth`, the rest as in `air_bend`

    Args:
        thickness_mm: sheet thickness [mm], above 0.
        bend_length_mm: length of the bend [mm], above 0.
        depth_mm: punch tip travel from first touch [mm], 0 or more.
        material: the sheet's metal.
        die: the lower tool.
        punch: the upper tool.
        loaded_inside_radius_mm: inside radius under load [mm] where it is known, else by rule.
        springback_deg: "model", or the springback itself [deg].
        springback_factor: multiplier of the springback model, learned from trials [ratio].
        force_rule: which published force rule gives `force_n`.

    Returns: an `AirBend`; its bend angle is 0 where the travel is too small to leave a bend.

    Raises: ShopError `out_of_range`, `too_deep`, `all_springs_back`.

    References: the modules of the single quantities.

    >>> steel = Material(youngs_modulus_mpa=210000, yield_strength_mpa=235, tensile_strength_mpa=360)
    >>> bend = air_bend_at_depth(thickness_mm=2.0, bend_length_mm=1000.0, depth_mm=6.259,
    ...     material=steel, die=Die("V16", 16.0, 86.0, 1.5), punch=Punch("P", 1.0, 85.0))
    >>> round(bend.bend_angle_deg, 1)
    90.0
    """
    need_above("bend_length_mm", bend_length_mm, 0.0, "mm")
    need_springback(springback_deg)
    sheet = bending(
        thickness_mm=thickness_mm,
        material=material,
        die=die,
        punch=punch,
        loaded_inside_radius_mm=loaded_inside_radius_mm,
        springback_factor=springback_factor,
    )
    angles = angles_for_depth(sheet, depth_mm, springback_deg)
    return _whole(sheet, angles, bend_length_mm, material, die, force_rule)


def _whole(
    sheet: Bending,
    angles_deg: tuple[float, float],
    bend_length_mm: float,
    material: Material,
    die: Die,
    force_rule: ForceRule,
) -> AirBend:
    """The bend's numbers, from its angles under load and after release."""
    loaded_deg, bend_angle_deg = angles_deg
    x_s, roll = sheet.shoulder_centre_mm, sheet.roll_radius_mm
    depth_mm = ram_depth(
        loaded_bend_angle_deg=loaded_deg, shoulder_centre_mm=x_s, roll_radius_mm=roll
    )
    line_load = bending_line_load(
        coefficient_ratio=v_bending_coefficient(
            rule=force_rule, thickness_mm=sheet.thickness_mm, v_opening_mm=die.v_opening_mm
        ),
        tensile_strength_mpa=material.tensile_strength_mpa,
        thickness_mm=sheet.thickness_mm,
        v_opening_mm=die.v_opening_mm,
    )
    return AirBend(
        loaded_inside_radius_mm=sheet.loaded_inside_radius_mm,
        inside_radius_mm=_released_radius(sheet, loaded_deg, loaded_deg - bend_angle_deg),
        bend_angle_deg=bend_angle_deg,
        loaded_bend_angle_deg=loaded_deg,
        springback_deg=loaded_deg - bend_angle_deg,
        depth_mm=depth_mm,
        depth_mm_per_deg=ram_depth_per_degree(
            loaded_bend_angle_deg=loaded_deg, shoulder_centre_mm=x_s, roll_radius_mm=roll
        ),
        tip_below_die_top_mm=depth_mm - sheet.thickness_mm,
        force_n=line_load * bend_length_mm,
        force_kn_per_m=line_load,
        minimum_flange_mm=minimum_flange(
            loaded_bend_angle_deg=loaded_deg,
            shoulder_centre_mm=x_s,
            shoulder_radius_mm=die.shoulder_radius_mm,
        ),
        largest_loaded_angle_deg=largest_loaded_angle(
            shoulder_centre_mm=x_s, roll_radius_mm=roll, die_angle_deg=die.angle_deg
        ),
    )


def depths_for_angles(sheet: Bending, bend_angles_deg: FloatArray) -> FloatArray:
    """Punch tip travels for many wanted angles at once, springback by the model.

    Args:
        sheet: the constant lengths of `bending`.
        bend_angles_deg: angles wanted after release [deg], shape (n,).

    Returns: the travels [mm], shape (n,).

    Raises: ShopError `springs_back_too_far` when one of them cannot be reached.
    """
    lengths: Any = sheet
    loaded = bend_angles_deg.astype(np.float64)
    for _ in range(MOST_ROUNDS):
        better = bend_angles_deg + np.where(
            bend_angles_deg > 0.0, springback_at(sheet, loaded), 0.0
        )
        if bool((better >= 180.0).any()):
            raise _too_far()
        settled = bool(np.max(np.abs(better - loaded), initial=0.0) < SAME_ANGLE_DEG)
        loaded = better
        if settled:
            break
    else:
        raise _too_far()
    return ram_depth(
        loaded_bend_angle_deg=loaded,
        shoulder_centre_mm=lengths.shoulder_centre_mm,
        roll_radius_mm=lengths.roll_radius_mm,
    )


def _released_radius(sheet: Bending, loaded_deg: float, springback_deg: float) -> float:
    flank_mm = straight_flank(
        loaded_bend_angle_deg=loaded_deg,
        shoulder_centre_mm=sheet.shoulder_centre_mm,
        roll_radius_mm=sheet.roll_radius_mm,
    )
    arc_mm = (sheet.loaded_inside_radius_mm + sheet.thickness_mm / 2) * radians(loaded_deg)
    working_mm = arc_mm + flank_mm
    return released_inside_radius(
        loaded_inside_radius_mm=sheet.loaded_inside_radius_mm,
        thickness_mm=sheet.thickness_mm,
        lost_curvature_per_mm=radians(springback_deg) / working_mm,
    )


def _possible(loaded_deg: float) -> float:
    if not loaded_deg < 180.0:
        raise _too_far()
    if loaded_deg < 0.0:
        raise ShopError(
            "springs_past_flat",
            say(
                "With this springback the angle under load would be {loaded}.",
                loaded=Amount(loaded_deg, "deg"),
            ),
            remedy="Give a springback that is not below minus the bend angle.",
            where="springback_deg",
        )
    return loaded_deg


def _too_far() -> ShopError:
    return ShopError(
        "springs_back_too_far",
        say("No angle below {flat} under load leaves this bend.", flat=Amount(180.0, "deg")),
        remedy="Ask for a smaller bend angle, a narrower V, or close it further as a hem.",
        where="bend_angle_deg",
    )
