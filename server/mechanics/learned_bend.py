"""What trials teach: touch-off offset, radius ratio and springback, with honest uncertainty.

Linearised Gaussian least squares. Unknowns are the touch-off offset of this set-up [mm], and the
logarithms of two multipliers: of the inside radius under load and of the springback. A trial far
from what all others say is kept and shown, but not learned from until it is confirmed.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from server.errors import ShopError
from server.mechanics.air_bend import Bending, SpringbackGiven, angles_for_depth, depth_for_angle
from server.mechanics.elementary import FloatArray, need_above, need_between

TOUCH_OFF_SD_MM = 0.10
RADIUS_RATIO_SD = 0.15
SPRINGBACK_SD = 0.30
PROTRACTOR_SD_DEG = 0.3
"""Prior spreads: common practice, no source. They are shop settings."""

State = tuple[float, float, float]

SURPRISE_SD = 4.0
HUBER_SD = 2.0
NORMAL_95 = 1.959964
STEPS = np.array([0.002, 0.01, 0.01])


@dataclass(frozen=True, slots=True)
class Trial:
    """One measured bend: punch tip travel commanded [mm], bend angle measured [deg]."""

    depth_mm: float
    bend_angle_deg: float
    confirmed: bool = False


@dataclass(frozen=True, slots=True)
class Prior:
    """How sure we are before any trial; multipliers' spreads are relative."""

    touch_off_sd_mm: float = TOUCH_OFF_SD_MM
    radius_ratio_sd: float = RADIUS_RATIO_SD
    springback_sd: float = SPRINGBACK_SD
    protractor_sd_deg: float = PROTRACTOR_SD_DEG
    piece_sd_deg: float = 0.0
    mean: State = (0.0, 0.0, 0.0)

    def __post_init__(self) -> None:
        need_above("touch_off_sd_mm", self.touch_off_sd_mm, 0.0, "mm")
        need_between("touch_off_sd_mm", self.touch_off_sd_mm, 0.0, 10.0, "mm")
        need_above("protractor_sd_deg", self.protractor_sd_deg, 0.0, "deg")
        need_between("protractor_sd_deg", self.protractor_sd_deg, 0.0, 45.0, "deg")


@dataclass(frozen=True, slots=True)
class Belief:
    """What is believed of offset, radius and springback, and with what covariance.

    `sheet` is the unlearned bend; `state` = (offset [mm], ln radius multiplier, ln springback
    multiplier); `prior_state` the same before any trial; `outliers` are indexes of trials not
    learned from.
    """

    sheet: Bending
    springback_deg: SpringbackGiven
    state: State
    covariance: FloatArray = field(repr=False)
    piece_sd_deg: float = 0.0
    outliers: tuple[int, ...] = ()
    prior_state: State = (0.0, 0.0, 0.0)

    def learned_sheet(self) -> Bending:
        """The bend's constants with the learned radius and springback."""
        return _changed(self.sheet, self.state)

    def angle_deg(self, depth_mm: float) -> float:
        """Bend angle after release expected for a travel."""
        return _angle(self.sheet, self.springback_deg, self.state, depth_mm)

    def angle_sd_deg(self, depth_mm: float) -> float:
        """Standard deviation of that angle: what is not known, and the scatter of pieces."""
        slope = _slopes_at_angle(
            self.sheet, self.springback_deg, self.prior_state, self.angle_deg(depth_mm), depth_mm
        )
        return math.sqrt(float(slope @ self.covariance @ slope) + self.piece_sd_deg**2)

    def interval_95_deg(self, depth_mm: float) -> tuple[float, float]:
        """The band that holds the bend angle in 95 of 100 cases."""
        middle, half = self.angle_deg(depth_mm), NORMAL_95 * self.angle_sd_deg(depth_mm)
        return middle - half, middle + half

    def depth_mm(self, bend_angle_deg: float) -> float:
        """Travel expected to leave a bend angle after release."""
        given = _springback_of(self.springback_deg, self.state)
        return depth_for_angle(self.learned_sheet(), bend_angle_deg, given) - self.state[0]


def believe(
    *,
    sheet: Bending,
    trials: Sequence[Trial],
    prior: Prior | None = None,
    springback_deg: SpringbackGiven = "model",
) -> Belief:
    """What is believed after the trials.

    Formula: least squares of (measured - predicted)/sd plus the prior, relinearised until it
        settles, Huber weights beyond 2 sd; a trial over 4 sd from the others, or at a travel no
        bend has, is left out. The covariance is taken at the prior with full weights, so that one
        more trial never widens the band of an angle.

    Args:
        sheet: the unlearned bend, from `air_bend.bending`.
        trials: measured bends on this material, thickness and tooling.
        prior: spreads before any trial.
        springback_deg: "model", or a springback given [deg] that the multiplier then acts on.

    Returns: a `Belief`.

    Raises: ShopError `out_of_range` naming the trial.

    References: Gauss-Newton with prior (A. Gelman et al., Bayesian Data Analysis, 3rd ed., ch. 4
        and 14, from memory); Huber, Robust Statistics (1981), for the weights.

    >>> sheet = Bending(2.0, 8.6522, 6.06, 2.56, 0.0025)
    >>> before = believe(sheet=sheet, trials=[])
    >>> after = believe(sheet=sheet, trials=[Trial(before.depth_mm(90.0), 88.0)])
    >>> after.depth_mm(90.0) > before.depth_mm(90.0)
    True
    """
    prior = prior or Prior()
    for index, trial in enumerate(trials):
        need_between(f"trials.{index}.bend_angle_deg", trial.bend_angle_deg, 0.0, 180.0, "deg")
        need_between(f"trials.{index}.depth_mm", trial.depth_mm, 0.0, 1e5, "mm")
    used = _plausible(sheet, springback_deg, trials, prior)
    while True:
        state, covariance, surprises = _fit(sheet, springback_deg, trials, used, prior)
        worst = max(surprises, key=lambda index: surprises[index], default=None)
        if worst is None or surprises[worst] <= SURPRISE_SD:
            break
        used.remove(worst)
    return Belief(
        sheet=sheet,
        springback_deg=springback_deg,
        state=(float(state[0]), float(state[1]), float(state[2])),
        covariance=covariance,
        piece_sd_deg=prior.piece_sd_deg,
        outliers=tuple(index for index in range(len(trials)) if index not in used),
        prior_state=prior.mean,
    )


def simple_correction(
    *, wanted_deg: float, measured_deg: float, depth_mm_per_deg: float, share_ratio: float = 1.0
) -> float:
    """Change of travel by the rule operators know, with no history.

    Formula: dY = share x dD/dA x (wanted - measured)

    Args:
        wanted_deg: bend angle wanted [deg].
        measured_deg: bend angle measured [deg].
        depth_mm_per_deg: slope of travel over angle [mm_per_deg].
        share_ratio: part of the error to correct [ratio]; 0.8 for a first correction that must not
            over-bend (common practice, no source).

    Returns: travel to add [mm]; negative means less deep.

    References: first-order Taylor step.

    >>> round(simple_correction(wanted_deg=90.0, measured_deg=87.0, depth_mm_per_deg=0.132,
    ...                         share_ratio=0.8), 4)
    0.3168
    """
    return share_ratio * depth_mm_per_deg * (wanted_deg - measured_deg)


def _changed(sheet: Bending, state: Sequence[float]) -> Bending:
    radius_mm = sheet.loaded_inside_radius_mm * math.exp(state[1])
    return sheet._replace(
        loaded_inside_radius_mm=radius_mm,
        roll_radius_mm=sheet.roll_radius_mm + radius_mm - sheet.loaded_inside_radius_mm,
        unloading_curvature_per_mm=sheet.unloading_curvature_per_mm * math.exp(state[2]),
    )


def _springback_of(given: SpringbackGiven, state: Sequence[float]) -> SpringbackGiven:
    return "model" if given == "model" else given * math.exp(state[2])


def _angle(
    sheet: Bending, springback_deg: SpringbackGiven, state: Sequence[float], depth_mm: float
) -> float:
    changed = _changed(sheet, state)
    travel_mm = min(max(0.0, depth_mm + state[0]), _deepest_mm(changed))
    return angles_for_depth(changed, travel_mm, _springback_of(springback_deg, state))[1]


def _deepest_mm(sheet: Bending) -> float:
    """Travel at which the flanks have rolled up on the shoulders, a hair less."""
    roll_mm, centre_mm = sheet.roll_radius_mm, sheet.shoulder_centre_mm
    if roll_mm <= centre_mm:
        return math.inf
    return (roll_mm - math.sqrt(roll_mm**2 - centre_mm**2)) * (1.0 - 1e-12)


def _slopes(
    sheet: Bending, springback_deg: SpringbackGiven, state: Sequence[float], depth_mm: float
) -> FloatArray:
    centre = np.asarray(state, dtype=np.float64)
    slopes = np.empty(3)
    for axis in range(3):
        step = np.zeros(3)
        step[axis] = STEPS[axis]
        high = _angle(sheet, springback_deg, (centre + step).tolist(), depth_mm)
        low = _angle(sheet, springback_deg, (centre - step).tolist(), depth_mm)
        slopes[axis] = (high - low) / (2 * STEPS[axis])
    return slopes


def _slopes_at_angle(
    sheet: Bending,
    springback_deg: SpringbackGiven,
    state: State,
    angle_deg: float,
    otherwise_mm: float,
) -> FloatArray:
    """Slopes at a state where the bend comes to an angle; at a given travel where it cannot."""
    try:
        depth_mm = depth_for_angle(
            _changed(sheet, state), angle_deg, _springback_of(springback_deg, state)
        )
    except ShopError:
        return _slopes(sheet, springback_deg, state, otherwise_mm)
    return _slopes(sheet, springback_deg, state, depth_mm - state[0])


def _prior_covariance(prior: Prior) -> FloatArray:
    spreads = np.array([prior.touch_off_sd_mm, prior.radius_ratio_sd, prior.springback_sd])
    return np.diag(spreads**2)


def _plausible(
    sheet: Bending, given: SpringbackGiven, trials: Sequence[Trial], prior: Prior
) -> list[int]:
    """Trials that are not absurd before anything is learned (a typing error is far outside)."""
    start = Belief(
        sheet,
        given,
        prior.mean,
        _prior_covariance(prior),
        prior.piece_sd_deg,
        prior_state=prior.mean,
    )
    deepest_mm = _deepest_mm(sheet)
    kept = []
    for index, trial in enumerate(trials):
        if trial.depth_mm >= deepest_mm:
            continue
        spread = math.hypot(start.angle_sd_deg(trial.depth_mm), prior.protractor_sd_deg)
        away = abs(trial.bend_angle_deg - start.angle_deg(trial.depth_mm))
        if trial.confirmed or away <= 1.5 * SURPRISE_SD * spread:
            kept.append(index)
    return kept


def _fit(
    sheet: Bending,
    given: SpringbackGiven,
    trials: Sequence[Trial],
    used: Sequence[int],
    prior: Prior,
) -> tuple[FloatArray, FloatArray, dict[int, float]]:
    mean = np.asarray(prior.mean, dtype=np.float64)
    precision = np.linalg.inv(_prior_covariance(prior))
    noise = math.hypot(prior.protractor_sd_deg, prior.piece_sd_deg)
    state = mean.copy()
    slopes = np.empty((len(used), 3))
    missed = np.empty(len(used))
    weights = np.ones(len(used))
    for _ in range(12):
        for row, index in enumerate(used):
            trial = trials[index]
            slopes[row] = _slopes(sheet, given, state.tolist(), trial.depth_mm)
            missed[row] = trial.bend_angle_deg - _angle(
                sheet, given, state.tolist(), trial.depth_mm
            )
        size = np.abs(missed) / noise
        weights = np.where(size > HUBER_SD, HUBER_SD / np.maximum(size, HUBER_SD), 1.0)
        scaled = slopes * (weights / noise**2)[:, None]
        pull = scaled.T @ missed - precision @ (state - mean)
        step = np.linalg.solve(precision + slopes.T @ scaled, pull)
        state = state + np.clip(step, [-1.0, -0.5, -0.7], [1.0, 0.5, 0.7])
        if float(np.max(np.abs(step))) < 1e-9:
            break
    taken = [
        _slopes_at_angle(
            sheet, given, prior.mean, trials[index].bend_angle_deg, trials[index].depth_mm
        )
        for index in used
    ]
    information = sum((np.outer(slope, slope) for slope in taken), np.zeros((3, 3))) / noise**2
    covariance = np.asarray(np.linalg.inv(precision + information), dtype=np.float64)
    surprises = {}
    for row, index in enumerate(used):
        if trials[index].confirmed:
            continue
        leverage = float(taken[row] @ covariance @ taken[row]) / noise**2
        surprises[index] = abs(missed[row]) / (noise * math.sqrt(max(1e-6, 1.0 - leverage)))
    return state, covariance, surprises


def with_touch_off_reset(belief: Belief, prior: Prior) -> Prior:
    """Prior for the next set-up: radius and springback are kept, the offset starts again."""
    spread = np.sqrt(np.diag(belief.covariance))
    return replace(
        prior,
        radius_ratio_sd=float(spread[1]),
        springback_sd=float(spread[2]),
        mean=(0.0, belief.state[1], belief.state[2]),
    )
