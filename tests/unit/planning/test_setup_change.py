"""Changed since the last set-up: stories 1, 6, 7 and 14."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.errors import say
from server.mechanics.control_reading import TouchOff
from server.mechanics.coupon import Strip, coupon_result
from server.mechanics.flat_length import FlatBend, flat_length
from server.mechanics.stroke_setting import stroke_setting
from server.planning.blank_check import check_blank_for_die, check_released_flat
from server.planning.setup_change import (
    SetupChange,
    SetupFacts,
    setup_changes,
    y_reasons,
)
from server.units.length import inches_from_mm, mm_from_inches
from tests.unit.planning.eleven_gauge import (
    ELEVEN_GAUGE_MM,
    K_FACTOR,
    V1,
    die,
    facts,
    higher,
    steps_of,
)


def changes(before: SetupFacts, now: SetupFacts, newest: str | None = None) -> list[SetupChange]:
    return list(setup_changes(before=before, now=now, y_sense=1, newest_revision=newest))


def one(found: list[SetupChange], code: str) -> SetupChange:
    (change,) = [change for change in found if change.finding.code == code]
    return change


def shift_of(change: SetupChange, number: str, step: int | None = None) -> float:
    (shift,) = [one for one in change.shifts if (one.number, one.step) == (number, step)]
    return shift.change_mm


def test_story_1_a_thicker_lot_gets_another_y_and_says_why() -> None:
    before = facts()
    now = replace(facts(thickness_mm=ELEVEN_GAUGE_MM + 0.15), lot_code="L2")
    found = changes(before, now)
    thicker = one(found, "thickness_changed")
    shifts = [shift for shift in thicker.shifts if shift.number == "Y"]
    assert [shift.step for shift in shifts] == [1, 2, 3]
    for old, new, shift in zip(before.steps, now.steps, shifts, strict=True):
        assert shift.before_mm == pytest.approx(before.y_mm(old, 1))
        assert shift.now_mm == pytest.approx(now.y_mm(new, 1))
        assert shift.change_mm < -0.15  # touches earlier by the thickness, and needs less travel
    assert one(found, "lot_changed").finding.level == "note"


def test_story_1_touched_off_on_each_sheet_only_the_travel_changes() -> None:
    on_sheet = TouchOff("sheet", 100.0, 3.0, 170.0)
    before = facts(touch_off=on_sheet)
    now = facts(thickness_mm=ELEVEN_GAUGE_MM + 0.15, touch_off=on_sheet)
    moved = shift_of(one(changes(before, now), "thickness_changed"), "Y", 1)
    assert -0.10 < moved < -0.04  # about (sec 45 - 1) x 0.15


def test_story_1_a_reground_punch_deepens_y_by_as_much() -> None:
    """Reground by 0.020 in: every Y 0.020 in deeper, on either sense of the reading."""
    before = facts()
    ground_mm = mm_from_inches(-0.020)
    now = higher(before, ground_mm)
    change = one(changes(before, now), "tool_height_changed")
    for step in (1, 2, 3):
        assert shift_of(change, "Y", step) == pytest.approx(mm_from_inches(0.020), abs=1e-9)
    assert one(changes(before, now), "touch_off_not_checked").finding.level == "caution"


@given(
    st.floats(-0.3, 0.3),
    st.floats(-20.0, 20.0),
    st.floats(-0.5, 0.5),
    st.floats(-0.4, 0.4),
    st.sampled_from([1, -1]),
    st.sampled_from(["sheet", "die"]),
    st.sampled_from([1.0, 1.25]),
)
def test_the_reasons_of_a_y_add_up_to_the_whole_difference(
    thicker: float, taller: float, touch: float, taught: float, sense: int, on: str, v_in: float
) -> None:
    before = facts(touch_off=TouchOff("die" if on == "die" else "sheet", 100.0, 5.0, 170.0))
    now = higher(facts(thickness_mm=ELEVEN_GAUGE_MM + thicker, tool=die(v_in)), taller)
    now = replace(
        now,
        touch_off=replace(before.touch_off, reading_mm=100.0 - sense * taller + touch),
        steps=steps_of(ELEVEN_GAUGE_MM + thicker, die(v_in), taught),
    )
    for old, new in zip(before.steps, now.steps, strict=True):
        told = y_reasons(before=before, now=now, old=old, new=new, y_sense=1 if sense > 0 else -1)
        whole = now.y_mm(new, 1 if sense > 0 else -1) - before.y_mm(old, 1 if sense > 0 else -1)
        assert sum(reason.change_mm for reason in told) == pytest.approx(whole, abs=4e-3)
        by_code = {reason.code: reason.change_mm for reason in told}
        assert by_code.get("tool_height", 0.0) == pytest.approx(-sense * taller, abs=1e-3)
        assert by_code.get("trials", 0.0) == pytest.approx(sense * taught, abs=1e-3)
        assert by_code.get("touch_off", 0.0) == pytest.approx(touch, abs=1e-3)


def test_story_6_a_blank_for_v1_in_a_v1_and_a_quarter_is_stopped_with_the_error_in_inches() -> None:
    """The trade: 11 ga, four bends, V1 against V1-1/4: 0.069 in (R = 0.16 V, K = 0.42)."""

    def flat_mm(v_mm: float) -> float:
        bend = FlatBend(90.0, 0.16 * v_mm, K_FACTOR)
        return flat_length(
            thickness_mm=ELEVEN_GAUGE_MM,
            legs_mm=(30.0, 60.0, 120.0, 60.0, 30.0),
            legs_are="outside",
            bends=[bend] * 4,
        ).flat_length_mm

    wider = die(1.25)
    cut_mm, needed_mm = flat_mm(V1.v_opening_mm), flat_mm(wider.v_opening_mm)
    (finding,) = check_blank_for_die(
        blank_mm=cut_mm, blank_v_mm=V1.v_opening_mm, flat_mm=needed_mm, die=wider
    )
    assert finding.level == "stop"
    assert finding.amount is not None
    assert finding.amount.unit == "mm"  # printed in the reader's unit by the page
    assert inches_from_mm(finding.amount.value) == pytest.approx(0.069, abs=0.001)
    assert (
        check_blank_for_die(blank_mm=cut_mm, blank_v_mm=V1.v_opening_mm, flat_mm=cut_mm, die=V1)
        == ()
    )


def test_story_7_thickness_from_1_5_to_3_moves_the_speed_change_from_5_5_to_7() -> None:
    before = replace(
        facts(thickness_mm=1.5), stroke=stroke_setting(thickness_mm=1.5, tool_height_mm=170.0)
    )
    now = facts(thickness_mm=3.0)
    (shift,) = [
        shift
        for shift in one(changes(before, now), "stroke_heights").shifts
        if shift.number == "speed change above the die"
    ]
    assert (shift.before_mm, shift.now_mm) == (5.5, 7.0)


def test_story_7_tools_12_taller_move_everything_by_12() -> None:
    before = facts()
    now = higher(before, 12.0)
    found = changes(before, now)
    stroke = one(found, "stroke_heights")
    assert shift_of(stroke, "speed change, ram above the bed") == pytest.approx(12.0)
    assert shift_of(stroke, "top of stroke, ram above the bed") == pytest.approx(12.0)
    assert {shift.number for shift in stroke.shifts} == {
        "speed change, ram above the bed",
        "top of stroke, ram above the bed",
    }  # above the die nothing moved
    tools = one(found, "tool_height_changed")
    assert shift_of(tools, "tool height") == pytest.approx(12.0)
    for step in (1, 2, 3):
        assert shift_of(tools, "Y", step) == pytest.approx(-12.0)
    assert shift_of(one(found, "touch_off_not_checked"), "touch-off") == pytest.approx(-12.0)


def test_story_14_a_superseded_revision_blocks_and_names_the_new_one() -> None:
    found = changes(facts(), facts(), newest="B")
    assert [change.finding.code for change in found] == ["superseded"]
    assert found[0].finding.level == "stop"
    assert "B" in str(found[0].finding.what)
    assert changes(facts(), facts(), newest="A") == []


def test_story_9_a_strip_gives_5_90_and_a_released_flat_is_told_never_changed() -> None:
    """Strip 100.00 -> 53.40 + 52.50: deduction 5.90."""
    told = coupon_result(
        thickness_mm=ELEVEN_GAUGE_MM,
        inside_radius_mm=0.16 * V1.v_opening_mm,
        bend_angle_deg=90.0,
        strips=[Strip(100.0, 53.40, 52.50)],
    )
    assert told.bend_deduction_mm == pytest.approx(5.90)

    def flat_mm(k_factor: float) -> float:
        return flat_length(
            thickness_mm=ELEVEN_GAUGE_MM,
            legs_mm=(53.40, 52.50),
            legs_are="outside",
            bends=[FlatBend(90.0, 0.16 * V1.v_opening_mm, k_factor)],
        ).flat_length_mm

    assert flat_mm(told.k_factor) == pytest.approx(100.0)
    released_mm = flat_mm(K_FACTOR)
    (finding,) = check_released_flat(
        released_mm=released_mm,
        now_mm=flat_mm(told.k_factor),
        revision_label="A",
        because=say("a measured strip gives another deduction"),
    )
    assert finding.amount is not None
    assert finding.amount.value == pytest.approx(100.0 - released_mm)
    assert "stays" in str(finding.frees)
    assert (
        check_released_flat(
            released_mm=released_mm, now_mm=released_mm, revision_label="A", because=say("no")
        )
        == ()
    )


def test_nothing_changed_says_nothing() -> None:
    assert changes(facts(), facts()) == []


def test_the_loud_ones_come_first() -> None:
    now = replace(
        facts(thickness_mm=3.3, tool=die(1.25), correction_mm=0.1),
        lot_code="L2",
        die_turned=True,
    )
    found = changes(facts(), now, newest="B")
    levels = [change.finding.level for change in found]
    assert levels == sorted(levels, key=["stop", "caution", "note"].index)
    codes = [change.finding.code for change in found]
    assert codes[0] == "superseded"
    assert {"thickness_changed", "tools_changed", "die_turned", "stroke_heights"} <= set(codes)


def test_a_thickness_only_believed_is_told_so() -> None:
    now = replace(facts(thickness_mm=3.2), thickness_measured=False)
    assert "not measured" in str(one(changes(facts(), now), "thickness_changed").finding.what)
