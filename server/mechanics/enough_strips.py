"""When to stop measuring: how many test strips a deduction needs, how many trials an angle needs."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from server.errors import ShopError
from server.mechanics.air_bend import Bending
from server.mechanics.elementary import need_above
from server.mechanics.learned_bend import NORMAL_95
from server.mechanics.setup_belief import SetupBelief

MEASURING_SD_MM = 0.09
MEASURING_STRIPS_COUNT = 3
"""Two legs and a flat, each to about 0.05 mm with a caliper: common practice, no source. It counts
like three strips already measured, so that two that happen to agree are not taken for certainty."""
WANTED_SHARE_RATIO = 0.25
MOST_STRIPS_COUNT = 10
MOST_TRIALS_COUNT = 12


@dataclass(frozen=True, slots=True)
class StripsEnough:
    """How sure the mean of the strips is, and how many more it takes; None: strips will not do."""

    strips_count: int
    uncertain_by_mm: float
    wanted_by_mm: float
    more_count: int | None

    @property
    def enough(self) -> bool:
        """Whether to stop."""
        return self.more_count == 0


def student_95(*, freedom_count: float) -> float:
    """Student's t of a two-sided 95 % interval.

    Formula: z + (z^3+z)/(4 n) + (5z^5+16z^3+3z)/(96 n^2) + (3z^7+19z^5+17z^3-15z)/(384 n^3)

    Args:
        freedom_count: degrees of freedom [count], 3 or more.

    Returns: the factor [ratio].

    Raises: ShopError `out_of_range` below 3 degrees of freedom.

    References: M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, 26.7.5.

    >>> round(student_95(freedom_count=10), 3)
    2.228
    """
    need_above("freedom_count", freedom_count, 2.999, "count")
    z = NORMAL_95
    return (
        z
        + (z**3 + z) / (4 * freedom_count)
        + (5 * z**5 + 16 * z**3 + 3 * z) / (96 * freedom_count**2)
        + (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / (384 * freedom_count**3)
    )


def strips_enough(
    *,
    deductions_mm: Sequence[float],
    tolerance_mm: float,
    wanted_share_ratio: float = WANTED_SHARE_RATIO,
    measuring_sd_mm: float = MEASURING_SD_MM,
) -> StripsEnough:
    """Whether the strips measured so far settle the bend deduction, and how many more it takes.

    Formula: s^2 = (3 m^2 + sum (BD - mean)^2) / (3 + n - 1); uncertain by t s / sqrt(n), t with
        2 + n degrees of freedom; enough when that is within a share of the tolerance

    Args:
        deductions_mm: deduction of each strip [mm], at least one.
        tolerance_mm: tolerance of a flange the deduction is for, either way [mm], above 0.
        wanted_share_ratio: share of it the deduction may use up [ratio], above 0.
        measuring_sd_mm: scatter of measuring one strip [mm], above 0.

    Returns: a `StripsEnough`; `more_count` None where over ten would not do: find out why first.

    Raises: ShopError `no_strips`, `out_of_range`.

    References: Student's t with a scaled-inverse-chi-square prior (A. Gelman et al., Bayesian Data
        Analysis, 3rd ed., ch. 2, from memory); the shares are common practice, no source.

    >>> told = strips_enough(deductions_mm=[5.90, 5.84], tolerance_mm=0.5)
    >>> round(told.uncertain_by_mm, 3), told.more_count
    (0.158, 1)
    """
    if not deductions_mm:
        raise ShopError(
            "no_strips",
            "No strip was measured.",
            remedy="Bend and measure at least one.",
            where="strips",
        )
    need_above("tolerance_mm", tolerance_mm, 0.0, "mm")
    need_above("wanted_share_ratio", wanted_share_ratio, 0.0, "ratio")
    need_above("measuring_sd_mm", measuring_sd_mm, 0.0, "mm")
    count = len(deductions_mm)
    mean_mm = math.fsum(deductions_mm) / count
    squares = math.fsum((value - mean_mm) ** 2 for value in deductions_mm)
    variance = (MEASURING_STRIPS_COUNT * measuring_sd_mm**2 + squares) / (
        MEASURING_STRIPS_COUNT + count - 1
    )
    wanted_mm = wanted_share_ratio * tolerance_mm

    def uncertain_mm(strips: int) -> float:
        factor = student_95(freedom_count=MEASURING_STRIPS_COUNT + strips - 1)
        return factor * math.sqrt(variance / strips)

    more = next(
        (
            strips - count
            for strips in range(count, max(count, MOST_STRIPS_COUNT) + 1)
            if uncertain_mm(strips) <= wanted_mm
        ),
        None,
    )
    return StripsEnough(count, uncertain_mm(count), wanted_mm, more)


def trials_enough(
    *, belief: SetupBelief, sheet: Bending, depth_mm: float, tolerance_deg: float
) -> int | None:
    """How many more measured bends bring the 95 % band inside the tolerance.

    Formula: covariance after n more readings at the travel: (C^-1 + n g g' / (protractor^2 +
        piece^2))^-1; the band also holds the next piece's own scatter, which no trial narrows

    Args:
        belief: what is believed on the set-up now.
        sheet: the unlearned sheet, from `air_bend.bending`.
        depth_mm: travel the bends are made at [mm].
        tolerance_deg: tolerance of the angle, either way [deg], above 0.

    Returns: the number, 0 when the band is inside already; None where a dozen would not do.

    Raises: ShopError `out_of_range` for a tolerance that is not above 0.

    References: linear Gaussian update.

    >>> import numpy as np
    >>> from server.mechanics.learned_family import Multipliers
    >>> from server.mechanics.setup_belief import believe_setup
    >>> known = Multipliers((0.0, 0.0), np.diag([0.03**2, 0.06**2]))
    >>> trials_enough(belief=believe_setup(known=known), depth_mm=6.26, tolerance_deg=1.0,
    ...               sheet=Bending(2.0, 8.6522, 6.06, 2.56, 0.0025))
    1
    """
    need_above("tolerance_deg", tolerance_deg, 0.0, "deg")
    slope, piece_variance = belief.slopes_at(sheet, depth_mm)
    state_variance = float(slope @ belief.covariance @ slope)
    reading_variance = belief.scatter.protractor_sd_deg**2 + piece_variance
    for count in range(MOST_TRIALS_COUNT + 1):
        left = state_variance / (1.0 + count * state_variance / reading_variance)
        if NORMAL_95 * math.sqrt(left + piece_variance) <= tolerance_deg:
            return count
    return None
