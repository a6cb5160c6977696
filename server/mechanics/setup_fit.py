"""The trials of one set-up side by side with what is believed before them: one least squares.

The inner part of `setup_belief`: unknowns are the touch-off offset and the thickness error of the
set-up, and the logarithms of the lot's radius and springback multipliers. Bends of one piece share
its thickness and strength.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from server.mechanics.air_bend import Bending
from server.mechanics.bend_response import BendResponse, Sheets, bend_response, stacked
from server.mechanics.control_reading import TouchOffOn
from server.mechanics.elementary import FloatArray, need_above, need_between
from server.mechanics.learned_bend import PROTRACTOR_SD_DEG, TOUCH_OFF_SD_MM
from server.mechanics.learned_family import Multipliers

SURPRISE_SD = 4.0
ABSURD_SD = 6.0
HUBER_SD = 2.5
MOST_ROUNDS = 20
SETTLED = 1e-8
THICKNESS_READING_SD_MM = 0.01
PIECE_SPRINGBACK_SD_RATIO = 0.02
"""A micrometer's reading of a sheet, and pieces of one sheet: common practice, no source."""

LARGEST_STEP = np.array([1.0, 0.5, 0.5, 0.7])


@dataclass(frozen=True, slots=True)
class SetupScatter:
    """What may be off on one set-up, as standard deviations.

    `thickness_sd_mm`: the sheet's true thickness against the one the numbers were worked out for;
    a sheet that was not measured has the whole spread of its standard. `piece_thickness_sd_mm`:
    pieces of the set-up against that sheet. `touch_off_on`: the sheet or the die, which decides how
    a thickness error moves the angle.
    """

    touch_off_on: TouchOffOn = "sheet"
    touch_off_sd_mm: float = TOUCH_OFF_SD_MM
    thickness_sd_mm: float = THICKNESS_READING_SD_MM
    piece_thickness_sd_mm: float = 0.0
    piece_springback_sd_ratio: float = PIECE_SPRINGBACK_SD_RATIO
    protractor_sd_deg: float = PROTRACTOR_SD_DEG

    def __post_init__(self) -> None:
        need_above("touch_off_sd_mm", self.touch_off_sd_mm, 0.0, "mm")
        need_between("touch_off_sd_mm", self.touch_off_sd_mm, 0.0, 10.0, "mm")
        need_above("protractor_sd_deg", self.protractor_sd_deg, 0.0, "deg")
        need_between("protractor_sd_deg", self.protractor_sd_deg, 0.0, 45.0, "deg")
        need_above("thickness_sd_mm", self.thickness_sd_mm, 0.0, "mm")
        need_between("thickness_sd_mm", self.thickness_sd_mm, 0.0, 5.0, "mm")
        need_between("piece_thickness_sd_mm", self.piece_thickness_sd_mm, 0.0, 5.0, "mm")
        need_between("piece_springback_sd_ratio", self.piece_springback_sd_ratio, 0.0, 1.0, "ratio")

    @property
    def own_covariance(self) -> FloatArray:
        """Covariance of (offset, thickness error) before any trial.

        The one sheet that was touched and measured is itself a piece among pieces: touched off on
        it, the others lie that much higher or lower; touched off on the die, they are thicker.
        """
        piece = self.piece_thickness_sd_mm**2
        on_sheet = self.touch_off_on == "sheet"
        return np.diag(
            [
                self.touch_off_sd_mm**2 + (piece if on_sheet else 0.0),
                self.thickness_sd_mm**2 + (0.0 if on_sheet else piece),
            ]
        )


@dataclass(frozen=True, slots=True)
class MeasuredBend:
    """One trial: the unlearned sheet as measured, the travel keyed, the bend angle read.

    `sheet` is `air_bend.bending` for the measured thickness and the tools; `depth_mm` the travel
    from first touch that Y was meant to give. `piece` counts the blanks of the set-up: bends of one
    piece share its thickness and strength; None is a piece of its own. `confirmed`: somebody
    measured again and means it. `odd`: judged so when it was typed, and kept out of what is learned.
    """

    sheet: Bending
    depth_mm: float
    bend_angle_deg: float
    piece: int | None = None
    confirmed: bool = False
    odd: bool = False


@dataclass(frozen=True, slots=True)
class Rows:
    """The trials linearised at a state: slopes (n, 4), slopes to each piece's own thickness and
    strength in standard deviations (n, 2), read less expected, covariance of the readings (n, n)
    and its inverse with the Huber weights in it.
    """

    slopes: FloatArray
    own: FloatArray
    missed: FloatArray
    spread: FloatArray
    precision: FloatArray


@dataclass(frozen=True, slots=True)
class Solved:
    """A fit: state, its covariance, the rows there, how odd each unconfirmed trial is."""

    state: FloatArray
    covariance: FloatArray
    rows: Rows
    surprises: dict[int, float]


class SetupFit:
    """One least-squares problem: the trials side by side with the prior they are held against."""

    def __init__(
        self, known: Multipliers, scatter: SetupScatter, trials: Sequence[MeasuredBend]
    ) -> None:
        self.scatter = scatter
        self.mean = np.array([0.0, 0.0, *known.mean])
        self.covariance = np.zeros((4, 4))
        self.covariance[:2, :2] = scatter.own_covariance
        self.covariance[2:, 2:] = known.covariance
        self.precision = np.linalg.inv(self.covariance)
        self.sheets = stacked([trial.sheet for trial in trials])
        self.depth_mm = np.array([trial.depth_mm for trial in trials])
        self.read_deg = np.array([trial.bend_angle_deg for trial in trials])
        self.confirmed = np.array([trial.confirmed for trial in trials], dtype=bool)
        numbers = [
            -1 - index if trial.piece is None else trial.piece for index, trial in enumerate(trials)
        ]
        self.piece = np.array(numbers, dtype=np.int64)

    def is_possible(self, index: int) -> bool:
        """Whether any bend belongs to the travel at all."""
        roll_mm = float(self.sheets.roll_radius_mm[index])
        centre_mm = float(self.sheets.shoulder_centre_mm[index])
        if roll_mm <= centre_mm:
            return True
        return bool(self.depth_mm[index] < roll_mm - math.sqrt(roll_mm**2 - centre_mm**2))

    def believable(self, candidates: Sequence[int]) -> tuple[list[int], Solved]:
        """The trials to learn from, and their fit: none absurd, none over 4 sd from all the rest.

        Where a confirmed reading contradicts others, both sides stay: a reading is left out only
        when it is odd with the confirmed ones and without them.
        """
        possible = [index for index in candidates if self.is_possible(index)]
        sure = [index for index in possible if self.confirmed[index]]
        bases = [self.solved(rows) for rows in ([], sure) if rows is not sure or sure]
        used = [
            index
            for index in possible
            if self.confirmed[index] or not all(self._is_absurd(index, base) for base in bases)
        ]
        while True:
            solved = self.solved(used)
            surprises = solved.surprises
            if sure:
                free = self.solved([index for index in used if not self.confirmed[index]]).surprises
                surprises = {index: min(size, free[index]) for index, size in surprises.items()}
            worst = max(surprises, key=lambda index: surprises[index], default=None)
            if worst is None or surprises[worst] <= SURPRISE_SD:
                return used, solved
            used.remove(worst)

    def _is_absurd(self, index: int, base: Solved) -> bool:
        """Whether a reading is out of the question for what is believed without it."""
        rows = self.linearised([index], base.state)
        spread = float(rows.slopes[0] @ base.covariance @ rows.slopes[0]) + float(
            rows.own[0] @ rows.own[0] + self.scatter.protractor_sd_deg**2
        )
        return bool(abs(rows.missed[0]) > ABSURD_SD * math.sqrt(spread))

    def linearised(self, used: Sequence[int], state: FloatArray) -> Rows:
        """The trials at a state."""
        rows = list(used)
        sheets = Sheets(*(column[rows] for column in self.sheets))
        response = respond(sheets, self.depth_mm[rows], state, self.scatter)
        missed = self.read_deg[rows] - response.bend_angle_deg
        own = piece_slopes(response, self.scatter)
        same = self.piece[rows][:, None] == self.piece[rows][None, :]
        reading = self.scatter.protractor_sd_deg**2
        spread = np.where(same, own @ own.T, 0.0) + reading * np.eye(len(rows))
        size = np.abs(missed) / np.sqrt(np.diag(spread))
        loosened = np.where(self.confirmed[rows], 1.0, np.maximum(1.0, size / HUBER_SD))
        noise = spread + np.diag(reading * (loosened - 1.0))
        precision = np.asarray(np.linalg.inv(noise), dtype=np.float64)
        return Rows(state_slopes(response, self.scatter), own, missed, spread, precision)

    def solved(self, used: Sequence[int]) -> Solved:
        """The state nearest to prior and readings together."""
        state = self.mean.copy()
        rows = self.linearised(used, state)
        for _ in range(MOST_ROUNDS if used else 0):
            scaled = rows.slopes.T @ rows.precision
            pull = scaled @ rows.missed - self.precision @ (state - self.mean)
            step = np.linalg.solve(self.precision + scaled @ rows.slopes, pull)
            step = np.clip(step, -LARGEST_STEP, LARGEST_STEP)
            state = state + step
            rows = self.linearised(used, state)
            if float(np.max(np.abs(step))) < SETTLED:
                break
        information = self.precision + rows.slopes.T @ rows.precision @ rows.slopes
        covariance = np.asarray(np.linalg.inv(information), dtype=np.float64)
        return Solved(state, covariance, rows, self._surprises(used, state, rows))

    def _surprises(self, used: Sequence[int], state: FloatArray, rows: Rows) -> dict[int, float]:
        """Each unconfirmed reading against all the rest, in standard deviations."""
        if not used:
            return {}
        alone = np.linalg.inv(rows.spread + rows.slopes @ self.covariance @ rows.slopes.T)
        prior = rows.missed + rows.slopes @ (state - self.mean)
        left_out = np.abs(alone @ prior) / np.sqrt(np.diag(alone))
        return {
            index: float(left_out[row])
            for row, index in enumerate(used)
            if not self.confirmed[index]
        }


def respond(
    sheets: Sheets, depth_mm: FloatArray, state: FloatArray, scatter: SetupScatter
) -> BendResponse:
    """Angles and slopes of travels keyed on a set-up in a state."""
    shift_mm = state[0] + (state[1] if scatter.touch_off_on == "die" else 0.0)
    return bend_response(
        sheets=sheets,
        depth_mm=depth_mm + shift_mm,
        log_radius_factor=float(state[2]),
        log_springback_factor=float(state[3]),
        thickness_off_mm=float(state[1]),
    )


def state_slopes(response: BendResponse, scatter: SetupScatter) -> FloatArray:
    """Degrees for one unit of offset, thickness error and both logarithms, one row a bend."""
    thickness = response.per_thickness
    if scatter.touch_off_on == "die":
        thickness = thickness + response.per_travel
    return np.column_stack(
        (response.per_travel, thickness, response.per_radius, response.per_springback)
    )


def piece_slopes(response: BendResponse, scatter: SetupScatter) -> FloatArray:
    """Degrees for one standard deviation of a piece's own thickness and strength, one row a bend.

    The ram goes to one position, whatever the piece's thickness.
    """
    thickness = (response.per_thickness + response.per_travel) * scatter.piece_thickness_sd_mm
    strength = response.per_springback * scatter.piece_springback_sd_ratio
    return np.column_stack((thickness, strength))


def need_trials(trials: Sequence[MeasuredBend]) -> None:
    """Refuse a trial no protractor or control can show.

    Raises: ShopError `out_of_range` naming the trial.
    """
    for index, trial in enumerate(trials):
        need_between(f"trials.{index}.bend_angle_deg", trial.bend_angle_deg, 0.0, 180.0, "deg")
        need_between(f"trials.{index}.depth_mm", trial.depth_mm, 0.0, 1e5, "mm")
