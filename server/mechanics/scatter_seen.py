"""How much this shop really scatters: touch-off and pieces, from how far first readings were off.

A band is only honest when the spreads behind it are the shop's own. Each reading was foretold
before it was made; how far off they were, set-up after set-up, says how well this shop touches off
and how alike its pieces are.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from server.mechanics.elementary import FloatArray
from server.mechanics.setup_belief import SetupBelief
from server.mechanics.setup_fit import MeasuredBend, SetupScatter

SD_OF_LOG_TOUCH_OFF = 0.7
SD_OF_LOG_PIECE = 0.5
WIDEST_SURPRISE_SD = 3.0
FACTORS = np.exp(np.linspace(np.log(0.1), np.log(8.0), 61))


@dataclass(frozen=True, slots=True)
class Surprise:
    """One reading less what was foretold, its standard deviation, and two of that one's parts."""

    missed_deg: float
    sd_deg: float
    touch_off_sd_deg: float
    piece_sd_deg: float
    touch_off_sd_mm: float


def surprise_of(belief: SetupBelief, trial: MeasuredBend) -> Surprise:
    """How far a new reading is from a belief that does not know it yet."""
    told = belief.foretold(trial.sheet, trial.depth_mm, trial.piece)
    return Surprise(
        trial.bend_angle_deg - told.bend_angle_deg,
        told.sd_deg,
        told.touch_off_sd_deg,
        told.piece_sd_deg,
        belief.scatter.touch_off_sd_mm,
    )


def scatter_seen(
    *,
    usual: SetupScatter,
    first_readings: Sequence[Surprise],
    later_readings: Sequence[Surprise] = (),
) -> SetupScatter:
    """The scatter to believe in, from readings that were foretold.

    Formula: variance of a first reading = f^2 touch-off part + piece part + rest; of a later one =
        k^2 piece part + rest; f and k at the mean of their posterior over a grid, f with priors of
        70 % and 50 % about the usual; no reading counts as more than 3 sd

    Args:
        usual: the shop's settings, believed until readings say otherwise.
        first_readings: the first reading of each set-up.
        later_readings: first readings of later pieces on a set-up.

    Returns: a `SetupScatter` with touch-off and pieces as seen.

    References: variance components by posterior mean on a grid; A. Gelman et al., Bayesian Data
        Analysis, 3rd ed., ch. 5, from memory. What is held back at 3 sd: common practice.

    >>> calm = [Surprise(0.1, 1.3, 1.2, 0.2, 0.1), Surprise(-0.2, 1.3, 1.2, 0.2, 0.1)] * 10
    >>> 0.01 < scatter_seen(usual=SetupScatter(), first_readings=calm).touch_off_sd_mm < 0.05
    True
    """
    seen = usual
    if first_readings:
        missed, sd, touch_off, _, told_sd_mm = _columns(first_readings)
        moved = touch_off / told_sd_mm * usual.touch_off_sd_mm
        factor = _factor_seen(missed, moved, sd**2 - touch_off**2, SD_OF_LOG_TOUCH_OFF)
        seen = replace(seen, touch_off_sd_mm=usual.touch_off_sd_mm * factor)
    if later_readings:
        missed, sd, _, piece, _ = _columns(later_readings)
        factor = _factor_seen(missed, piece, sd**2 - piece**2, SD_OF_LOG_PIECE)
        seen = replace(
            seen,
            piece_thickness_sd_mm=usual.piece_thickness_sd_mm * factor,
            piece_springback_sd_ratio=min(1.0, usual.piece_springback_sd_ratio * factor),
        )
    return seen


def _columns(surprises: Sequence[Surprise]) -> tuple[FloatArray, ...]:
    table = np.array(
        [
            (
                one.missed_deg,
                one.sd_deg,
                one.touch_off_sd_deg,
                one.piece_sd_deg,
                one.touch_off_sd_mm,
            )
            for one in surprises
        ]
    )
    return tuple(table.T)


def _factor_seen(
    missed: FloatArray, moved: FloatArray, fixed: FloatArray, sd_of_log: float
) -> float:
    """Root of the posterior mean of the factor's square."""
    variance = np.outer(FACTORS**2, moved**2) + fixed
    size = np.minimum(missed**2 / variance, WIDEST_SURPRISE_SD**2)
    likelihood = -0.5 * (size + np.log(variance)).sum(axis=1)
    likelihood -= 0.5 * (np.log(FACTORS) / sd_of_log) ** 2
    weight = np.exp(likelihood - likelihood.max())
    return float(np.sqrt((weight * FACTORS**2).sum() / weight.sum()))
