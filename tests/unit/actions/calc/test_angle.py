"""`angle`: the inverse of `airbend`."""

import pytest

from tests.unit.actions.calc.contract import AIRBEND, ANGLE, answered


def test_the_answer_has_the_contracts_fields() -> None:
    answer = answered("angle", ANGLE)
    assert set(answer) >= {"loaded_bend_angle_deg", "bend_angle_deg", "springback_deg"}
    assert answer["springback_deg"] == pytest.approx(
        answer["loaded_bend_angle_deg"] - answer["bend_angle_deg"]
    )


@pytest.mark.parametrize("wanted", [1, 15, 45, 89.9, 90])
def test_the_depth_for_an_angle_gives_that_angle_back(wanted: float) -> None:
    depth = answered("airbend", {**AIRBEND, "bend_angle_deg": wanted})["depth_mm"]
    back = answered("angle", {**ANGLE, "depth_mm": depth})
    assert back["bend_angle_deg"] == pytest.approx(wanted, abs=1e-9)


def test_a_touch_that_is_all_springback_leaves_no_bend() -> None:
    answer = answered("angle", {**ANGLE, "depth_mm": 0.01})
    assert answer["bend_angle_deg"] == 0
    assert answer["loaded_bend_angle_deg"] > 0


def test_no_travel_is_no_bend() -> None:
    answer = answered("angle", {**ANGLE, "depth_mm": 0})
    for field in ("loaded_bend_angle_deg", "bend_angle_deg", "springback_deg"):
        assert answer[field] == 0


def test_springback_given_by_hand_is_taken_off() -> None:
    answer = answered("angle", {**ANGLE, "springback_deg": 3})
    assert answer["springback_deg"] == pytest.approx(3)


def test_a_depth_past_the_dies_wall_is_blocked() -> None:
    assert answered("angle", ANGLE)["blocks"] == []
    answer = answered("angle", {**ANGLE, "depth_mm": 8})
    assert "angle_tighter_than_die" in {block["code"] for block in answer["blocks"]}
