"""Numbers of a step: Y, X, R and what to measure, worked from the definitions."""

from dataclasses import replace

import pytest

from server.mechanics.air_bend import air_bend
from server.mechanics.control_reading import TouchOff
from server.planning.planner import plan
from server.planning.sequence import PlanStep
from tests.unit.planning.shop import BRAKE, STEEL, die, goose_neck, profile_task, straight


def first_step(**changes: object) -> PlanStep:
    made = plan(profile_task([40.0, 60.0], [90.0], **changes))
    assert made.sequence is not None
    return made.sequence.steps[0]


def depth_mm() -> float:
    return air_bend(
        thickness_mm=2.0,
        bend_length_mm=200.0,
        bend_angle_deg=90.0,
        material=STEEL,
        die=die(),
        punch=straight(),
    ).depth_mm


def test_y_is_the_touch_off_plus_the_travel_from_it() -> None:
    """Tip 2 mm above the die at 100: first touch of a 2 mm sheet is at 100, then the depth."""
    target = first_step().target
    assert target.y_mm == pytest.approx(100.0 + depth_mm(), abs=1e-6)
    assert target.depth_mm == pytest.approx(depth_mm())


def test_y_runs_down_on_a_brake_whose_reading_falls() -> None:
    target = first_step(brake=replace(BRAKE, y_sense=-1)).target
    assert target.y_mm == pytest.approx(100.0 - depth_mm(), abs=1e-6)


def test_a_touch_off_on_a_bar_adds_its_height_less_the_sheet() -> None:
    target = first_step(touch_off=TouchOff("die", 80.0, 10.0)).target
    assert target.y_mm == pytest.approx(80.0 + 8.0 + depth_mm(), abs=1e-6)


def test_keyed_numbers_are_rounded_y_shallower_and_x_nearest() -> None:
    target = first_step(keyed_exactly=False).target
    assert target.y_mm is not None
    assert target.y_exact_mm is not None
    assert 0.0 <= target.y_exact_mm - target.y_mm < 0.05
    assert target.y_mm == pytest.approx(round(target.y_mm / 0.05) * 0.05)
    assert target.x_mm == pytest.approx(round(target.x_exact_mm, 1))


def test_r_is_the_height_of_the_fingers_lower_edge() -> None:
    from server.mechanics.tooling import Finger

    target = first_step(brake=replace(BRAKE, finger=Finger(-2.0, 10.0, 30.0))).target
    assert target.r_mm == -2.0


def test_the_check_dimension_carries_the_general_tolerance() -> None:
    """ISO 2768-m: over 30 to 120 mm, +/- 0.3 mm."""
    check = first_step().target.check
    assert check is not None
    assert check.tolerance_mm == 0.3
    assert check.to_kind == "edge"


def test_other_tools_shift_the_predicted_touch_off_by_their_height() -> None:
    """The channel's deep flange needs the 160 mm goose neck after the 120 mm straight punch only
    when it is forced: the reading then falls by the 40 mm the goose neck is taller."""
    from server.planning.order_check import ChosenStep, check_order

    task = profile_task([40.0, 90.0, 40.0], [90.0, 90.0], punches=(straight(), goose_neck()))
    made = check_order(task, [ChosenStep(0, punch="straight"), ChosenStep(1, punch="goose neck")])
    assert made.sequence is not None
    one, two = (step.target for step in made.sequence.steps)
    assert one.touch_off_checked
    assert not two.touch_off_checked
    assert one.y_mm is not None
    assert two.y_mm is not None
    assert two.y_mm - one.y_mm == pytest.approx(-40.0, abs=1e-5)
