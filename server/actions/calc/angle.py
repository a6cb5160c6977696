"""The bend angle that a depth gives: the inverse of `airbend`."""

from server.actions.calc.air_bend_body import AirBendBody
from server.actions.calc.body import Real
from server.mechanics.air_bend import angles_for_depth


class Request(AirBendBody):
    """One sheet, one pair of tools, one punch tip travel from first touch."""

    depth_mm: Real


def answer(request: Request) -> dict[str, object]:
    """Bend angle under load and after release."""
    loaded_deg, final_deg = angles_for_depth(
        request.bending(), request.depth_mm, request.springback_deg
    )
    return {
        "loaded_bend_angle_deg": loaded_deg,
        "bend_angle_deg": final_deg,
        "springback_deg": loaded_deg - final_deg,
    }
