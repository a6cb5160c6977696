"""The bend angle that a depth gives: the inverse of `airbend`."""

from server.actions.calc.air_bend_body import AirBendBody, findings_as_json
from server.actions.calc.body import Real
from server.mechanics.air_bend import air_bend_at_depth
from server.mechanics.bend_limits import BendCase, check_bend


class Request(AirBendBody):
    """One sheet, one pair of tools, one punch tip travel from first touch."""

    depth_mm: Real


def answer(request: Request) -> dict[str, object]:
    """Bend angle under load and after release, and the limits of that bend."""
    material, die, punch = (
        request.material.material(),
        request.die.die(),
        request.punch.punch(),
    )
    bend = air_bend_at_depth(
        thickness_mm=request.thickness_mm,
        bend_length_mm=request.bend_length_mm,
        depth_mm=request.depth_mm,
        material=material,
        die=die,
        punch=punch,
        loaded_inside_radius_mm=request.loaded_inside_radius_mm,
        springback_deg=request.springback_deg,
        force_rule=request.force_rule,
    )
    findings = check_bend(
        BendCase(
            bend=bend,
            thickness_mm=request.thickness_mm,
            bend_length_mm=request.bend_length_mm,
            material=material,
            die=die,
            punch=punch,
        )
    )
    return {
        "loaded_bend_angle_deg": bend.loaded_bend_angle_deg,
        "bend_angle_deg": bend.bend_angle_deg,
        "springback_deg": bend.springback_deg,
        "blocks": findings_as_json(f for f in findings if f.level == "stop"),
        "warnings": findings_as_json(f for f in findings if f.level != "stop"),
    }
