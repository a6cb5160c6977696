"""`airbend`: the shape of the contract, and the limits it carries."""

import math

import pytest

from tests.unit.actions.calc.contract import AIRBEND, Json, answered, changed, without

FIELDS = {
    "loaded_inside_radius_mm",
    "inside_radius_mm",
    "loaded_bend_angle_deg",
    "springback_deg",
    "depth_mm",
    "depth_mm_per_deg",
    "tip_below_die_top_mm",
    "force_n",
    "force_kn_per_m",
    "minimum_flange_mm",
    "blocks",
    "warnings",
}


def codes(answer: Json, kind: str) -> set[str]:
    return {entry["code"] for entry in answer[kind]}


def test_the_answer_has_the_contracts_fields() -> None:
    answer = answered("airbend", AIRBEND)
    assert set(answer) >= FIELDS
    assert answer["blocks"] == []


def test_the_numbers_belong_together() -> None:
    answer = answered("airbend", AIRBEND)
    assert answer["loaded_inside_radius_mm"] == pytest.approx(0.16 * 16)
    assert answer["loaded_bend_angle_deg"] == pytest.approx(90 + answer["springback_deg"])
    assert answer["tip_below_die_top_mm"] == pytest.approx(answer["depth_mm"] - 2)
    assert answer["force_n"] == pytest.approx(answer["force_kn_per_m"] * 1000)
    assert answer["inside_radius_mm"] > answer["loaded_inside_radius_mm"]


def test_the_first_check_row_of_the_depth_comes_out() -> None:
    body = {**AIRBEND, "loaded_inside_radius_mm": 2.5, "springback_deg": 0}
    assert answered("airbend", body)["depth_mm"] == pytest.approx(6.166937188, abs=1e-8)


@pytest.mark.parametrize(
    ("v_mm", "shoulder_mm", "die_deg", "thickness_mm", "radius_mm", "angle", "depth_mm"),
    [(12, 1, 88, 1.5, 1.9, 45, 2.298578919), (50, 3, 80, 6, 8, 120, 28.724275857)],
)
def test_the_other_check_rows_come_out(
    v_mm: float,
    shoulder_mm: float,
    die_deg: float,
    thickness_mm: float,
    radius_mm: float,
    angle: float,
    depth_mm: float,
) -> None:
    body = {
        **AIRBEND,
        "thickness_mm": thickness_mm,
        "bend_angle_deg": angle,
        "die": {"v_opening_mm": v_mm, "angle_deg": die_deg, "shoulder_radius_mm": shoulder_mm},
        "loaded_inside_radius_mm": radius_mm,
        "springback_deg": 0,
    }
    assert answered("airbend", body)["depth_mm"] == pytest.approx(depth_mm, abs=1e-8)


def test_springback_given_by_hand_is_taken_as_it_is() -> None:
    answer = answered("airbend", {**AIRBEND, "springback_deg": 2.5})
    assert answer["springback_deg"] == pytest.approx(2.5)
    assert answer["loaded_bend_angle_deg"] == pytest.approx(92.5)
    model = answered("airbend", {**AIRBEND, "springback_deg": "model"})
    assert model == answered("airbend", AIRBEND)


@pytest.mark.parametrize(
    ("rule", "coefficient"),
    [("lange", 1 + 4 * 2 / 16), ("groover", 1.33), ("us_chart", 575 * 2000 / 12 / 60000)],
)
def test_each_force_rule_gives_its_own_force(rule: str, coefficient: float) -> None:
    answer = answered("airbend", {**AIRBEND, "force_rule": rule})
    assert answer["force_kn_per_m"] == pytest.approx(coefficient * 400 * 4 / 16)


def test_an_angle_past_the_dies_is_blocked_and_says_what_frees_it() -> None:
    answer = answered("airbend", {**AIRBEND, "bend_angle_deg": 120})
    assert {"angle_tighter_than_die", "angle_tighter_than_punch"} <= codes(answer, "blocks")
    for block in answer["blocks"]:
        assert block["message"]
        assert block["hint"]
        assert block["source"]


def test_a_v_far_from_usual_is_a_warning_not_a_block() -> None:
    answer = answered("airbend", changed(AIRBEND, "die.v_opening_mm", 40))
    assert "v_outside_usual" in codes(answer, "warnings")
    assert "v_outside_usual" not in codes(answer, "blocks")


def test_a_flat_sheet_needs_no_travel() -> None:
    answer = answered("airbend", {**AIRBEND, "bend_angle_deg": 0})
    assert answer["depth_mm"] == 0
    assert answer["springback_deg"] == 0


def test_poisson_and_radius_ratio_may_be_left_out() -> None:
    short = without(without(AIRBEND, "material.poisson_ratio"), "material.radius_ratio")
    assert answered("airbend", short) == answered("airbend", AIRBEND)


def test_the_shortest_flange_is_the_shoulder_contact_without_the_margin() -> None:
    answer = answered("airbend", {**AIRBEND, "springback_deg": 0})
    centre = 8 + 1.5 * math.tan(math.radians(47 / 2))
    expected = (centre - 1.5 * math.sqrt(0.5)) / math.sqrt(0.5)
    assert answer["minimum_flange_mm"] == pytest.approx(expected)
    assert answer["minimum_flange_with_margin_mm"] == pytest.approx(1.1 * expected)
