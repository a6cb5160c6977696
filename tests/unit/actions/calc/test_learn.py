"""`learn`: the next depth from trials, with honest bands."""

import pytest

from tests.unit.actions.calc.contract import AIRBEND, LEARN, answered


def test_the_answer_has_the_contracts_fields() -> None:
    answer = answered("learn", LEARN)
    assert set(answer) >= {
        "depth_mm",
        "predicted_bend_angle_deg",
        "interval_95_deg",
        "before",
        "outliers",
    }
    assert set(answer["before"]) >= {"depth_mm", "interval_95_deg"}
    low, high = answer["interval_95_deg"]
    assert low < answer["predicted_bend_angle_deg"] < high
    assert answer["predicted_bend_angle_deg"] == pytest.approx(90, abs=1e-6)


def test_without_trials_the_next_depth_is_the_models() -> None:
    answer = answered("learn", {**LEARN, "trials": []})
    assert answer["depth_mm"] == answer["before"]["depth_mm"]
    assert answer["depth_mm"] == answered("airbend", AIRBEND)["depth_mm"]
    assert answer["interval_95_deg"] == answer["before"]["interval_95_deg"]


def test_a_bend_that_came_out_open_makes_the_next_one_deeper_and_surer() -> None:
    answer = answered("learn", LEARN)
    before_low, before_high = answer["before"]["interval_95_deg"]
    low, high = answer["interval_95_deg"]
    assert answer["depth_mm"] > answer["before"]["depth_mm"]
    assert high - low < (before_high - before_low) / 2


def test_a_typing_error_is_shown_and_changes_nothing() -> None:
    absurd = {"depth_mm": 6.25, "bend_angle_deg": 19.8}
    with_it = answered("learn", {**LEARN, "trials": [*LEARN["trials"], absurd]})
    assert with_it["outliers"] == [2]
    without = answered("learn", LEARN)
    assert {**with_it, "outliers": []} == without


def test_a_depth_no_bend_has_is_an_outlier_too() -> None:
    thick = {**LEARN, "thickness_mm": 12, "touch_off_sd_mm": 0.1}
    trials = [{"depth_mm": 40, "bend_angle_deg": 90}]
    thick["die"] = {"v_opening_mm": 16, "angle_deg": 86, "shoulder_radius_mm": 1.5}
    answer = answered("learn", {**thick, "bend_angle_deg": 20, "trials": trials})
    assert answer["outliers"] == [0]


def test_a_springback_given_by_hand_is_learned_too() -> None:
    answer = answered("learn", {**LEARN, "springback_deg": 2})
    assert answer["depth_mm"] > answer["before"]["depth_mm"]


def test_a_touch_off_known_better_narrows_the_band() -> None:
    def width(spread_mm: float) -> float:
        answer = answered("learn", {**LEARN, "touch_off_sd_mm": spread_mm, "trials": []})
        low, high = answer["interval_95_deg"]
        return float(high - low)

    assert width(0.01) < width(0.1) < width(0.3)
