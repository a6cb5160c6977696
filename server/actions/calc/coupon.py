"""Bend deduction and K-factor from measured test strips."""

from typing import Annotated

from pydantic import Field

from server.actions.calc.air_bend_body import findings_as_json
from server.actions.calc.body import Body, Real
from server.mechanics.coupon import Strip, coupon_result


class StripBody(Body):
    """A strip: flat length before, both outside legs after."""

    flat_length_mm: Real
    leg_a_mm: Real
    leg_b_mm: Real


class Request(Body):
    """Measured sheet, radius and angle, and the strips."""

    thickness_mm: Real
    inside_radius_mm: Real
    bend_angle_deg: Real
    strips: Annotated[list[StripBody], Field(min_length=1, max_length=1000)]


def answer(request: Request) -> dict[str, object]:
    """Mean deduction, spread between strips, K-factor, and warnings."""
    result = coupon_result(
        thickness_mm=request.thickness_mm,
        inside_radius_mm=request.inside_radius_mm,
        bend_angle_deg=request.bend_angle_deg,
        strips=[Strip(**strip.model_dump()) for strip in request.strips],
    )
    return {
        "bend_deduction_mm": result.bend_deduction_mm,
        "spread_mm": result.spread_mm,
        "k_factor": result.k_factor,
        "uncertain_by_mm": result.uncertain_by_mm,
        "warnings": findings_as_json(result.findings),
    }
