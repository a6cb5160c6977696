"""When to stop measuring strips and trials."""

import random
import statistics

import numpy as np
import pytest
from scipy import stats

from server.errors import ShopError
from server.mechanics.air_bend import Bending
from server.mechanics.enough_strips import strips_enough, student_95, trials_enough
from server.mechanics.learned_family import Multipliers
from server.mechanics.setup_belief import believe_setup
from server.mechanics.setup_fit import MeasuredBend, SetupScatter

SHEET = Bending(2.0, 8.6522, 6.06, 2.56, 0.0025)


@pytest.mark.parametrize("freedom", [3, 4, 5, 8, 12, 30, 100])
def test_students_t_is_that_of_a_statistics_library(freedom: int) -> None:
    assert student_95(freedom_count=freedom) == pytest.approx(
        float(stats.t.ppf(0.975, freedom)), rel=0.01
    )


def test_more_strips_are_asked_for_until_the_deduction_is_sure_enough() -> None:
    strips = [5.90]
    told = strips_enough(deductions_mm=strips, tolerance_mm=0.5)
    assert not told.enough
    assert told.more_count is not None
    strips += [5.88, 5.92, 5.90][: told.more_count]
    assert strips_enough(deductions_mm=strips, tolerance_mm=0.5).enough


def test_two_strips_that_happen_to_agree_are_not_certainty() -> None:
    told = strips_enough(deductions_mm=[5.90, 5.90], tolerance_mm=0.3)
    assert told.uncertain_by_mm > 0.1
    assert not told.enough


def test_a_wide_tolerance_needs_one_strip_a_tight_one_many() -> None:
    counts = []
    for tolerance_mm in (2.0, 1.0, 0.5, 0.4, 0.3):
        more = strips_enough(deductions_mm=[5.9], tolerance_mm=tolerance_mm).more_count
        assert more is not None
        counts.append(more)
    assert counts[0] == 0
    assert counts == sorted(counts)
    assert counts[-1] > 3


def test_strips_that_scatter_wildly_are_not_answered_by_more_of_them() -> None:
    assert strips_enough(deductions_mm=[5.2, 6.4, 5.9], tolerance_mm=0.3).more_count is None


def test_the_interval_holds_the_true_deduction_in_95_of_100_shops() -> None:
    chance = random.Random(3)
    held = 0
    for _ in range(2000):
        strips = [chance.gauss(5.9, 0.09) for _ in range(3)]
        told = strips_enough(deductions_mm=strips, tolerance_mm=0.5)
        held += abs(statistics.mean(strips) - 5.9) <= told.uncertain_by_mm
    assert 0.93 <= held / 2000 <= 0.98


@pytest.mark.parametrize("tolerance_mm", [0.0, -1.0, float("nan")])
def test_a_tolerance_that_is_none_is_refused(tolerance_mm: float) -> None:
    with pytest.raises(ShopError):
        strips_enough(deductions_mm=[5.9], tolerance_mm=tolerance_mm)
    with pytest.raises(ShopError):
        strips_enough(deductions_mm=[], tolerance_mm=0.5)


def test_trials_are_asked_for_until_the_band_is_inside_the_tolerance() -> None:
    known = Multipliers((0.0, 0.0), np.diag([0.05**2, 0.1**2]))
    scatter = SetupScatter(piece_thickness_sd_mm=0.005)
    trials: list[MeasuredBend] = []
    for _ in range(12):
        belief = believe_setup(known=known, scatter=scatter, trials=trials)
        depth_mm = belief.depth_mm(SHEET, 90.0)
        more = trials_enough(belief=belief, sheet=SHEET, depth_mm=depth_mm, tolerance_deg=0.5)
        low, high = belief.interval_95_deg(SHEET, depth_mm)
        assert more is not None
        assert (more == 0) is (high - low <= 1.0)
        if more == 0:
            break
        trials.append(MeasuredBend(SHEET, depth_mm, 90.0))
    assert 1 <= len(trials) <= 6


def test_pieces_that_scatter_more_than_the_tolerance_are_not_helped_by_trials() -> None:
    known = Multipliers((0.0, 0.0), np.diag([0.05**2, 0.1**2]))
    belief = believe_setup(known=known, scatter=SetupScatter(piece_thickness_sd_mm=0.05))
    assert trials_enough(belief=belief, sheet=SHEET, depth_mm=6.2, tolerance_deg=0.5) is None
