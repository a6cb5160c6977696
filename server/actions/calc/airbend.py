"""One air bend for a wanted angle."""

from server.actions.calc.air_bend_body import AirBendBody, findings_as_json, need_bend_angle
from server.actions.calc.body import Real
from server.mechanics.air_bend import air_bend
from server.mechanics.bend_limits import DEFAULT_FLANGE_MARGIN, BendCase, check_bend


class Request(AirBendBody):
    """One sheet, one pair of tools, one angle wanted after release."""

    bend_angle_deg: Real


def answer(request: Request) -> dict[str, object]:
    """Radius, springback, depth, force, shortest flange (before the shop's margin) and limits."""
    need_bend_angle(request.bend_angle_deg)
    material, die, punch = (
        request.material.material(),
        request.die.die(),
        request.punch.punch(),
    )
    bend = air_bend(
        thickness_mm=request.thickness_mm,
        bend_length_mm=request.bend_length_mm,
        bend_angle_deg=request.bend_angle_deg,
        material=material,
        die=die,
        punch=punch,
        loaded_inside_radius_mm=request.loaded_inside_radius_mm,
        springback_deg=request.springback_deg,
        force_rule=request.force_rule,
    )
    case = BendCase(
        bend=bend,
        thickness_mm=request.thickness_mm,
        bend_length_mm=request.bend_length_mm,
        material=material,
        die=die,
        punch=punch,
    )
    findings = check_bend(case)
    return {
        "loaded_inside_radius_mm": bend.loaded_inside_radius_mm,
        "inside_radius_mm": bend.inside_radius_mm,
        "loaded_bend_angle_deg": bend.loaded_bend_angle_deg,
        "springback_deg": bend.springback_deg,
        "depth_mm": bend.depth_mm,
        "depth_mm_per_deg": bend.depth_mm_per_deg,
        "tip_below_die_top_mm": bend.tip_below_die_top_mm,
        "force_n": bend.force_n,
        "force_kn_per_m": bend.force_kn_per_m,
        "governing_force_kn_per_m": case.line_load_kn_per_m,
        "minimum_flange_mm": bend.minimum_flange_mm,
        "minimum_flange_with_margin_mm": bend.minimum_flange_mm * (1 + DEFAULT_FLANGE_MARGIN),
        "largest_loaded_bend_angle_deg": bend.largest_loaded_angle_deg,
        "blocks": findings_as_json(f for f in findings if f.level == "stop"),
        "warnings": findings_as_json(f for f in findings if f.level != "stop"),
    }
