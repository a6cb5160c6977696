"""The next depth, learned from trials."""

from typing import Annotated

from pydantic import Field

from server.actions.calc.air_bend_body import AirBendBody, need_bend_angle
from server.actions.calc.body import Body, Real
from server.mechanics.learned_bend import TOUCH_OFF_SD_MM, Prior, Trial, believe


class TrialBody(Body):
    """One measured bend."""

    depth_mm: Real
    bend_angle_deg: Real


class Request(AirBendBody):
    """One sheet in one pair of tools, its trials, and the angle wanted next."""

    bend_angle_deg: Real
    touch_off_sd_mm: Real = TOUCH_OFF_SD_MM
    trials: Annotated[list[TrialBody], Field(max_length=1000)]


def answer(request: Request) -> dict[str, object]:
    """Depth for the wanted angle before and after learning, with 95 % bands, and the outliers."""
    need_bend_angle(request.bend_angle_deg)
    sheet = request.bending()
    prior = Prior(touch_off_sd_mm=request.touch_off_sd_mm)
    before = believe(sheet=sheet, trials=[], prior=prior, springback_deg=request.springback_deg)
    after = believe(
        sheet=sheet,
        trials=[Trial(**trial.model_dump()) for trial in request.trials],
        prior=prior,
        springback_deg=request.springback_deg,
    )
    first_mm = before.depth_mm(request.bend_angle_deg)
    next_mm = after.depth_mm(request.bend_angle_deg)
    return {
        "depth_mm": next_mm,
        "predicted_bend_angle_deg": after.angle_deg(next_mm),
        "interval_95_deg": list(after.interval_95_deg(next_mm)),
        "before": {
            "depth_mm": first_mm,
            "interval_95_deg": list(before.interval_95_deg(first_mm)),
        },
        "outliers": list(after.outliers),
    }
