"""Readings of the control: touch-off both ways, tool changes, rounding to the safe side."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.errors import ShopError
from server.mechanics.control_reading import (
    RamScale,
    TouchOff,
    TouchOffOn,
    depth_from_y,
    rounded_nearest,
    rounded_shallower,
    touch_off_after_tool_change,
    within_axis,
    y_reading,
)
from server.mechanics.tooling import Axis, YSense

senses = st.sampled_from([1, -1])
ways = st.sampled_from(["sheet", "die"])


@given(ways, senses, st.floats(0.0, 50.0), st.floats(0.5, 12.0), st.floats(-500.0, 500.0))
def test_a_reading_and_its_depth_are_each_others_inverse(
    on: TouchOffOn, sense: YSense, depth_mm: float, thickness_mm: float, reading_mm: float
) -> None:
    touch_off = TouchOff(on, reading_mm, tip_above_die_top_mm=3.0)
    y_mm = y_reading(
        touch_off=touch_off, y_sense=sense, depth_mm=depth_mm, thickness_mm=thickness_mm
    )
    back_mm = depth_from_y(touch_off=touch_off, y_sense=sense, y_mm=y_mm, thickness_mm=thickness_mm)
    assert back_mm == pytest.approx(depth_mm, abs=1e-9)


def test_a_thicker_lot_moves_the_position_but_not_the_travel() -> None:
    def reading(on: TouchOffOn, thickness_mm: float) -> float:
        touch_off = TouchOff(on, 100.0, tip_above_die_top_mm=2.0)
        return y_reading(touch_off=touch_off, y_sense=1, depth_mm=6.0, thickness_mm=thickness_mm)

    assert reading("sheet", 2.0) == reading("sheet", 2.2) == 106.0
    assert reading("die", 2.0) == 106.0
    assert reading("die", 2.2) == pytest.approx(105.8)


@pytest.mark.parametrize(("sense", "deeper"), [(1, 100.508), (-1, 99.492)])
def test_a_reground_punch_has_to_go_deeper_by_what_was_ground_off(
    sense: YSense, deeper: float
) -> None:
    old = TouchOff("die", 100.0, tip_above_die_top_mm=2.0, tool_height_mm=200.0)
    new = touch_off_after_tool_change(touch_off=old, y_sense=sense, tool_height_mm=199.492)
    assert new.reading_mm == pytest.approx(deeper)
    assert not new.checked
    same = touch_off_after_tool_change(touch_off=old, y_sense=sense, tool_height_mm=200.0)
    assert same == old


@given(st.floats(-1000.0, 1000.0), senses, st.sampled_from([0.001, 0.01, 0.02, 0.05, 0.1, 0.127]))
def test_rounding_never_makes_a_bend_deeper(
    reading_mm: float, sense: YSense, resolution_mm: float
) -> None:
    shown = rounded_shallower(reading_mm=reading_mm, y_sense=sense, resolution_mm=resolution_mm)
    deeper_by = sense * (shown - reading_mm)
    assert -resolution_mm < deeper_by <= 2e-6 * resolution_mm + 1e-9
    steps = shown / resolution_mm
    assert steps == pytest.approx(round(steps), abs=1e-5)
    nearest = rounded_nearest(reading_mm=reading_mm, resolution_mm=resolution_mm)
    assert abs(nearest - reading_mm) <= resolution_mm / 2 + 1e-9


def test_a_reading_that_is_on_a_step_already_stays() -> None:
    for tenths in range(-500, 500):
        reading = tenths * 0.1
        for sense in (1, -1):
            shown = rounded_shallower(
                reading_mm=reading,
                y_sense=1 if sense == 1 else -1,
                resolution_mm=0.1,
            )
            assert shown == round(reading, 9)


def test_the_brakes_own_scale_runs_through_both_readings() -> None:
    scale = RamScale(10.0, 250.0, 60.0, 200.0)
    assert scale.reading(10.0) == 250.0
    assert scale.reading(60.0) == 200.0
    assert scale.reading(35.0) == 225.0
    with pytest.raises(ShopError):
        RamScale(10.0, 250.0, 10.0, 200.0)


@pytest.mark.parametrize("reading", [math.nan, math.inf])
def test_a_touch_off_that_is_no_number_is_refused(reading: float) -> None:
    with pytest.raises(ShopError):
        TouchOff("die", reading, tip_above_die_top_mm=1.0)


def test_a_tip_below_the_die_at_touch_off_is_refused() -> None:
    with pytest.raises(ShopError):
        TouchOff("die", 100.0, tip_above_die_top_mm=-0.1)


def test_an_axis_ends_where_it_ends() -> None:
    axis = Axis(5.0, 600.0, 0.1)
    assert [within_axis(axis=axis, reading_mm=x) for x in (4.9, 5.0, 600.0, 600.1)] == [
        False, True, True, False,
    ]  # fmt: skip
