"""What is believed on one set-up: its own offset and thickness, and the lot's two multipliers.

Before the first trial the belief is the lot's history and this set-up's scatter; every trial then
narrows it. The touch-off offset and the error of the thickness reading belong to the set-up alone
and are forgotten with it; what its trials say of radius and springback is its `Evidence`. A trial
far from what all else says is kept and shown, but not learned from until somebody confirms it.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from server.mechanics.air_bend import Bending, depth_for_angle
from server.mechanics.bend_response import stacked
from server.mechanics.elementary import FloatArray
from server.mechanics.learned_bend import NORMAL_95
from server.mechanics.learned_family import Evidence, Multipliers, Spreads
from server.mechanics.setup_fit import (
    MeasuredBend,
    SetupFit,
    SetupScatter,
    need_trials,
    piece_slopes,
    respond,
    state_slopes,
)

PIECE_ROUNDS = 3
SetupState = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class SetupBelief:
    """What is believed of (offset [mm], thickness error [mm], ln radius factor, ln springback).

    `odd` are indexes of trials not learned from. Every prediction is for a piece: one that already
    has bends measured, by its number, or None for a new one.
    """

    scatter: SetupScatter
    state: SetupState
    covariance: FloatArray = field(repr=False)
    odd: tuple[int, ...] = ()
    _pieces: "_Pieces | None" = field(default=None, repr=False)

    def learned_sheet(self, sheet: Bending) -> Bending:
        """A sheet's constants with the learned radius, springback and thickness error."""
        _, thickness_off_mm, log_radius, log_springback = self.state
        radius_mm = sheet.loaded_inside_radius_mm * math.exp(log_radius)
        grown_mm = radius_mm - sheet.loaded_inside_radius_mm
        thickness_mm = sheet.thickness_mm + thickness_off_mm
        return Bending(
            thickness_mm,
            sheet.shoulder_centre_mm,
            sheet.roll_radius_mm + grown_mm + thickness_off_mm,
            radius_mm,
            sheet.unloading_curvature_per_mm
            * math.exp(log_springback)
            * sheet.thickness_mm
            / thickness_mm,
        )

    def depth_mm(self, sheet: Bending, bend_angle_deg: float, piece: int | None = None) -> float:
        """Travel to key so that the angle wanted is expected after release.

        Raises: ShopError `springs_back_too_far`.
        """
        learned, shift_mm = self.learned_sheet(sheet), self._shift_mm()
        depth_mm = depth_for_angle(learned, bend_angle_deg) - shift_mm
        if piece is None or self._pieces is None:
            return depth_mm
        for _ in range(PIECE_ROUNDS):  # a piece is off by little, and by nearly the same anywhere
            away_deg = self._expected(sheet, depth_mm, piece).away_deg
            depth_mm = depth_for_angle(learned, bend_angle_deg - away_deg) - shift_mm
        return depth_mm

    def angle_deg(self, sheet: Bending, depth_mm: float, piece: int | None = None) -> float:
        """Bend angle expected after release for a travel keyed."""
        return self._expected(sheet, depth_mm, piece).angle_deg

    def angle_sd_deg(self, sheet: Bending, depth_mm: float, piece: int | None = None) -> float:
        """Standard deviation of a piece's angle: what is not known, and how pieces scatter."""
        return self._expected(sheet, depth_mm, piece).sd_deg

    def interval_95_deg(
        self, sheet: Bending, depth_mm: float, piece: int | None = None
    ) -> tuple[float, float]:
        """The band that holds a piece's true angle in 95 of 100 cases."""
        told = self._expected(sheet, depth_mm, piece)
        half_deg = NORMAL_95 * told.sd_deg
        return told.angle_deg - half_deg, told.angle_deg + half_deg

    def surprise_sd(self, trial: MeasuredBend) -> float:
        """How many standard deviations a new reading is from what was foretold of it."""
        told = self.foretold(trial.sheet, trial.depth_mm, trial.piece)
        return (trial.bend_angle_deg - told.bend_angle_deg) / told.sd_deg

    def foretold(self, sheet: Bending, depth_mm: float, piece: int | None = None) -> "Foretold":
        """The next reading as it is foretold, with what its deviation is made of."""
        told = self._expected(sheet, depth_mm, piece)
        touch_off_mm = min(self.scatter.touch_off_sd_mm, math.sqrt(self.covariance[0, 0]))
        return Foretold(
            told.angle_deg,
            math.hypot(told.sd_deg, self.scatter.protractor_sd_deg),
            abs(float(told.slope[0])) * touch_off_mm,
            math.sqrt(told.piece_variance),
        )

    def slopes_at(self, sheet: Bending, depth_mm: float) -> tuple[FloatArray, float]:
        """Degrees for one unit of each thing believed, and a new piece's own variance [deg^2]."""
        told = self._expected(sheet, depth_mm, None)
        return told.slope, told.piece_variance

    def _shift_mm(self) -> float:
        """How much deeper than keyed the tip goes into the sheet."""
        return self.state[0] + (self.state[1] if self.scatter.touch_off_on == "die" else 0.0)

    def _expected(self, sheet: Bending, depth_mm: float, piece: int | None) -> "_Expected":
        state = np.array(self.state)
        response = respond(stacked([sheet]), np.array([depth_mm]), state, self.scatter)
        slope = state_slopes(response, self.scatter)[0]
        own = piece_slopes(response, self.scatter)[0]
        away_deg, piece_variance = 0.0, float(own @ own)
        if piece is not None and self._pieces is not None:
            away_deg, known, slope = self._pieces.told(piece, own, slope)
            piece_variance = max(0.0, piece_variance - known)
        variance = piece_variance + float(slope @ self.covariance @ slope)
        usual_deg = float(response.bend_angle_deg[0])
        return _Expected(usual_deg + away_deg, away_deg, math.sqrt(variance), piece_variance, slope)


@dataclass(frozen=True, slots=True)
class Foretold:
    """A reading before it is made: angle, standard deviation, and two of the parts it is made of."""

    bend_angle_deg: float
    sd_deg: float
    touch_off_sd_deg: float
    piece_sd_deg: float


@dataclass(frozen=True, slots=True)
class _Expected:
    """A predicted bend: its angle, how far its piece is known to be from the usual, deviation."""

    angle_deg: float
    away_deg: float
    sd_deg: float
    piece_variance: float
    slope: FloatArray


@dataclass(frozen=True, slots=True)
class _Pieces:
    """What the readings of each piece say of it: rows of the last fit, seen from a new bend."""

    piece: tuple[int | None, ...]
    own: FloatArray
    precision: FloatArray
    missed: FloatArray
    slopes: FloatArray

    def told(
        self, piece: int, own: FloatArray, slope: FloatArray
    ) -> tuple[float, float, FloatArray]:
        """Expected shift of a piece's bend, the variance that takes away, and the slopes left."""
        same = np.array([other == piece for other in self.piece])
        shared = np.where(same, self.own @ own, 0.0)
        weight = self.precision @ shared
        return (
            float(weight @ self.missed),
            float(weight @ shared),
            slope - self.slopes.T @ weight,
        )


def believe_setup(
    *,
    known: Multipliers,
    scatter: SetupScatter | None = None,
    trials: Sequence[MeasuredBend] = (),
) -> SetupBelief:
    """What is believed on a set-up after its trials.

    Formula: Gauss-Newton least squares of (read - expected)/sd with the lot's history as prior,
        Huber weights beyond 2.5 sd; a trial more than 4 sd from all else is left out, one by one

    Args:
        known: the lot's multipliers, from `multipliers_known` (without this set-up).
        scatter: what may be off on this set-up, None for the usual.
        trials: its measured bends, odd ones too.

    Returns: a `SetupBelief`.

    Raises: ShopError `out_of_range` naming the trial.

    References: Gauss-Newton with prior (A. Gelman et al., Bayesian Data Analysis, 3rd ed., ch. 4
        and 14, from memory); Huber, Robust Statistics (1981), for the weights.

    >>> from server.mechanics.learned_family import BendKey, multipliers_known
    >>> known = multipliers_known(learned=[], key=BendKey("steel", "S", 2.0, 16.0), lot_code="")
    >>> sheet = Bending(2.0, 8.6522, 6.06, 2.56, 0.0025)
    >>> before = believe_setup(known=known)
    >>> first_mm = before.depth_mm(sheet, 90.0)
    >>> after = believe_setup(known=known, trials=[MeasuredBend(sheet, first_mm, 88.0)])
    >>> 0.10 < after.depth_mm(sheet, 90.0) - first_mm < 0.16
    True
    """
    scatter = scatter or SetupScatter()
    need_trials(trials)
    fit = SetupFit(known, scatter, trials)
    used, solved = fit.believable([index for index, trial in enumerate(trials) if not trial.odd])
    odd = tuple(index for index in range(len(trials)) if index not in used)
    offset, thickness, radius, springback = (float(value) for value in solved.state)
    return SetupBelief(
        scatter,
        (offset, thickness, radius, springback),
        solved.covariance,
        odd,
        _Pieces(
            tuple(trials[index].piece for index in used),
            solved.rows.own,
            solved.rows.precision,
            solved.rows.missed,
            solved.rows.slopes,
        )
        if used
        else None,
    )


def setup_evidence(
    *,
    scatter: SetupScatter,
    trials: Sequence[MeasuredBend],
    spreads: Spreads | None = None,
) -> Evidence:
    """What one set-up's trials say of radius and springback, whatever was learned before.

    Formula: linearised at the set-up's own least squares under the rule's whole spread; with G the
        slopes to both multipliers, N those to offset and thickness error of covariance S and R the
        readings' variances: C = R + N S N', J = G' C^-1 G, h = G' C^-1 (read - expected + G x + N n)

    Args:
        scatter: what may be off on this set-up.
        trials: its measured bends; those marked `odd` are left out.
        spreads: spread of each level, None for the usual.

    Returns: the `Evidence`; empty when no trial is left.

    Raises: ShopError `out_of_range` naming the trial.

    References: marginal likelihood of a linear Gaussian model; see `believe_setup`.

    >>> sheet = Bending(2.0, 8.6522, 6.06, 2.56, 0.0025)
    >>> seen = setup_evidence(scatter=SetupScatter(), trials=[MeasuredBend(sheet, 6.26, 88.0)])
    >>> seen.trials_count, seen.setups_count, seen.pull[0] < 0.0 < seen.pull[1]
    (1, 1, True)
    """
    need_trials(trials)
    rule = Multipliers((0.0, 0.0), (spreads or Spreads()).whole)
    fit = SetupFit(rule, scatter, trials)
    used = [
        index for index in range(len(trials)) if not trials[index].odd and fit.is_possible(index)
    ]
    if not used:
        return Evidence()
    solved = fit.solved(used)
    rows = solved.rows
    nuisance, wanted = rows.slopes[:, :2], rows.slopes[:, 2:]
    spread = np.linalg.inv(rows.precision) + nuisance @ scatter.own_covariance @ nuisance.T
    pseudo = rows.missed + rows.slopes @ solved.state
    explained = np.linalg.solve(spread, np.column_stack((wanted, pseudo)))
    information = wanted.T @ explained[:, :2]
    pull = wanted.T @ explained[:, 2]
    return Evidence(
        (float(information[0, 0]), float(information[0, 1]), float(information[1, 1])),
        (float(pull[0]), float(pull[1])),
        len(used),
        1,
    )


def judged(trials: Sequence[MeasuredBend], belief: SetupBelief) -> tuple[MeasuredBend, ...]:
    """The trials with `odd` set as the belief found it, ready to be kept."""
    return tuple(replace(trial, odd=index in belief.odd) for index, trial in enumerate(trials))
