"""Learning from trials: what has to hold for any set of them, and honest bands over many shops."""

import itertools
import math
import random

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from server.mechanics.air_bend import Bending, angles_for_depth, bending
from server.mechanics.learned_bend import (
    PROTRACTOR_SD_DEG,
    RADIUS_RATIO_SD,
    SPRINGBACK_SD,
    TOUCH_OFF_SD_MM,
    Prior,
    Trial,
    believe,
    with_touch_off_reset,
)
from server.mechanics.material import Material
from server.mechanics.tooling import Die, Punch

SHEET = bending(
    thickness_mm=2.0,
    material=Material(
        youngs_modulus_mpa=210_000.0, yield_strength_mpa=280.0, tensile_strength_mpa=400.0
    ),
    die=Die("V16", 16.0, 86.0, 1.5),
    punch=Punch("P", 1.0, 85.0),
)
SHOPS = 2000


def true_angle_deg(depth_mm: float, world: tuple[float, float, float]) -> float:
    """What a brake with this offset, radius and springback would really bend."""
    offset_mm, radius, spring = world
    grown_mm = SHEET.loaded_inside_radius_mm * (math.exp(radius) - 1.0)
    changed = Bending(
        SHEET.thickness_mm,
        SHEET.shoulder_centre_mm,
        SHEET.roll_radius_mm + grown_mm,
        SHEET.loaded_inside_radius_mm + grown_mm,
        SHEET.unloading_curvature_per_mm * math.exp(spring),
    )
    return angles_for_depth(changed, max(0.0, depth_mm + offset_mm))[1]


standard = st.floats(-2.0, 2.0)
worlds = st.tuples(
    standard.map(lambda z: z * TOUCH_OFF_SD_MM),
    standard.map(lambda z: z * RADIUS_RATIO_SD),
    standard.map(lambda z: z * SPRINGBACK_SD),
)


@st.composite
def histories(draw: st.DrawFn, least: int = 1, most: int = 6) -> list[Trial]:
    """Trials of one set-up as a shop makes them: near the angles wanted, protractor within 2 sd."""
    world = draw(worlds)
    depths = draw(st.lists(st.floats(3.0, 6.8), min_size=least, max_size=most))
    return [
        Trial(depth, true_angle_deg(depth, world) + PROTRACTOR_SD_DEG * draw(standard))
        for depth in depths
    ]


def width_deg(trials: list[Trial], wanted_deg: float) -> float:
    belief = believe(sheet=SHEET, trials=trials)
    low, high = belief.interval_95_deg(belief.depth_mm(wanted_deg))
    return high - low


@settings(max_examples=60)
@given(histories(), st.floats(20.0, 92.0))
def test_one_more_trial_never_widens_the_band_of_an_angle(
    trials: list[Trial], wanted_deg: float
) -> None:
    widths = [width_deg(trials[:count], wanted_deg) for count in range(len(trials) + 1)]
    assume(not believe(sheet=SHEET, trials=trials).outliers)
    for before, after in itertools.pairwise(widths):
        assert after <= before * (1 + 1e-6)


@settings(max_examples=60)
@given(histories(least=2), st.randoms(use_true_random=False))
def test_the_order_of_the_trials_does_not_matter(
    trials: list[Trial], shuffler: random.Random
) -> None:
    mixed = list(trials)
    shuffler.shuffle(mixed)
    first, second = believe(sheet=SHEET, trials=trials), believe(sheet=SHEET, trials=mixed)
    assert first.state == pytest.approx(second.state, abs=1e-7)
    assert first.depth_mm(90.0) == pytest.approx(second.depth_mm(90.0), abs=1e-7)
    assert width_deg(trials, 90.0) == pytest.approx(width_deg(mixed, 90.0), rel=1e-7)


@settings(max_examples=60)
@given(histories(least=0), st.floats(3.0, 6.8), st.floats(25.0, 80.0), st.sampled_from([-1, 1]))
def test_an_absurd_trial_is_kept_as_an_outlier_and_changes_nothing(
    trials: list[Trial], depth_mm: float, away_deg: float, side: int
) -> None:
    expected = believe(sheet=SHEET, trials=[]).angle_deg(depth_mm)
    typed = expected + side * away_deg
    assume(0.0 <= typed <= 180.0)
    assume(not believe(sheet=SHEET, trials=trials).outliers)
    alone = believe(sheet=SHEET, trials=trials)
    with_it = believe(sheet=SHEET, trials=[*trials, Trial(depth_mm, typed)])
    assert with_it.outliers == (len(trials),)
    assert with_it.state == alone.state
    assert with_it.covariance.tolist() == alone.covariance.tolist()


@settings(max_examples=30)
@given(histories(least=1, most=4), st.floats(25.0, 80.0))
def test_a_confirmed_trial_is_learned_from_however_odd_it_looks(
    trials: list[Trial], away_deg: float
) -> None:
    odd = Trial(5.0, believe(sheet=SHEET, trials=[]).angle_deg(5.0) - away_deg, confirmed=True)
    assume(odd.bend_angle_deg > 0.0)
    assert len(trials) not in believe(sheet=SHEET, trials=[*trials, odd]).outliers


@settings(max_examples=40)
@given(st.lists(st.tuples(st.floats(0.0, 60.0), st.floats(0.0, 180.0), st.booleans()), max_size=5))
def test_any_trials_at_all_give_finite_numbers(made: list[tuple[float, float, bool]]) -> None:
    belief = believe(
        sheet=SHEET, trials=[Trial(depth, angle, confirmed) for depth, angle, confirmed in made]
    )
    low, high = belief.interval_95_deg(6.0)
    assert math.isfinite(low)
    assert low <= belief.angle_deg(6.0) <= high


def test_an_exact_world_is_learned_from_a_few_trials() -> None:
    world = (0.08, 0.1, -0.2)
    trials = [Trial(depth, true_angle_deg(depth, world)) for depth in (4.0, 5.0, 6.0, 6.2, 6.4)]
    belief = believe(sheet=SHEET, trials=trials)
    bent_deg = true_angle_deg(belief.depth_mm(90.0), world)
    assert bent_deg == pytest.approx(90.0, abs=0.15)


def test_the_next_set_up_keeps_radius_and_springback_and_asks_the_offset_again() -> None:
    world = (0.15, 0.1, -0.2)
    trials = [Trial(depth, true_angle_deg(depth, world)) for depth in (4.0, 5.0, 6.0, 6.4)]
    known = believe(sheet=SHEET, trials=trials)
    carried = with_touch_off_reset(known, Prior())
    again = believe(sheet=SHEET, trials=[], prior=carried)
    fresh = believe(sheet=SHEET, trials=[])
    assert again.state == (0.0, *known.state[1:])
    widths = [
        high - low
        for low, high in (
            belief.interval_95_deg(belief.depth_mm(90.0)) for belief in (known, again, fresh)
        )
    ]
    assert widths == sorted(widths)


@pytest.mark.slow
def test_the_band_holds_the_true_angle_in_93_to_97_of_100_shops() -> None:
    """2000 simulated set-ups, fixed seed: truth from the prior, 0 to 4 trials, then the next bend."""
    chance = random.Random(20240607)
    held = 0
    for shop in range(SHOPS):
        world = (
            chance.gauss(0.0, TOUCH_OFF_SD_MM),
            chance.gauss(0.0, RADIUS_RATIO_SD),
            chance.gauss(0.0, SPRINGBACK_SD),
        )
        trials: list[Trial] = []
        for _ in range(shop % 5):
            depth_mm = believe(sheet=SHEET, trials=trials).depth_mm(90.0)
            read_deg = true_angle_deg(depth_mm, world) + chance.gauss(0.0, PROTRACTOR_SD_DEG)
            trials.append(Trial(depth_mm, read_deg))
        belief = believe(sheet=SHEET, trials=trials)
        next_mm = belief.depth_mm(90.0)
        low, high = belief.interval_95_deg(next_mm)
        held += low <= true_angle_deg(next_mm, world) <= high
    assert 0.93 <= held / SHOPS <= 0.97
