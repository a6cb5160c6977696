"""`flat`: the shape of the contract, and what each way of stating a part means."""

import math

import pytest

from tests.unit.actions.calc.contract import FLAT, answered, changed, without


def test_the_answer_has_the_contracts_fields() -> None:
    answer = answered("flat", FLAT)
    assert {"flat_length_mm", "bend_lines_mm", "bends"} <= set(answer)
    assert len(answer["bend_lines_mm"]) == len(answer["bends"]) == 2
    for bend in answer["bends"]:
        assert {
            "bend_allowance_mm",
            "outside_setback_mm",
            "bend_deduction_mm",
            "k_factor",
            "rule",
        } <= set(bend)
    assert [bend["rule"] for bend in answer["bends"]] == ["fixed", "din6935"]


def test_the_flat_is_the_outside_legs_less_the_deductions() -> None:
    answer = answered("flat", FLAT)
    lost = sum(bend["bend_deduction_mm"] for bend in answer["bends"])
    assert answer["flat_length_mm"] == pytest.approx(sum(FLAT["legs_mm"]) - lost)


def test_bend_lines_lie_in_the_middle_of_their_zones_in_order() -> None:
    answer = answered("flat", FLAT)
    first, second = answer["bend_lines_mm"]
    straights, bends = answer["straights_mm"], answer["bends"]
    assert first == pytest.approx(straights[0] + bends[0]["bend_allowance_mm"] / 2)
    assert answer["flat_length_mm"] - second == pytest.approx(
        straights[2] + bends[1]["bend_allowance_mm"] / 2
    )


def test_the_sign_of_an_angle_says_only_which_side_closes() -> None:
    up = answered("flat", changed(FLAT, "bends.1.bend_angle_deg", 45))
    assert up["flat_length_mm"] == answered("flat", FLAT)["flat_length_mm"]


def test_a_part_without_bends_is_its_own_flat() -> None:
    answer = answered("flat", {"thickness_mm": 1, "legs_mm": [123.4], "bends": []})
    assert answer["flat_length_mm"] == 123.4
    assert answer["bend_lines_mm"] == []


@pytest.mark.parametrize("angle", [30, 90, 120])
def test_one_part_stated_outside_inside_and_neutral_has_one_flat(angle: float) -> None:
    thickness, radius, k_factor = 2.0, 3.0, 0.4
    bend = {"bend_angle_deg": angle, "inside_radius_mm": radius, "k_factor": k_factor}
    further = {"outside": thickness, "inside": 0.0, "neutral": k_factor * thickness}
    share = 1.0 if angle > 90 else math.tan(math.radians(angle) / 2)
    flats = [
        answered(
            "flat",
            {
                "thickness_mm": thickness,
                "legs_mm": [30 + share * (radius + line), 20 + share * (radius + line)],
                "legs_are": name,
                "bends": [bend],
            },
        )["flat_length_mm"]
        for name, line in further.items()
    ]
    assert flats == pytest.approx([flats[0]] * 3)


def test_above_90_the_tangent_is_the_default_and_below_there_is_no_difference() -> None:
    def flat(angle: float, **extra: str) -> float:
        bend = {"bend_angle_deg": angle, "inside_radius_mm": 3, "k_factor": 0.4, **extra}
        body = {"thickness_mm": 2, "legs_mm": [50, 50], "bends": [bend]}
        return float(answered("flat", body)["flat_length_mm"])

    assert flat(120) == flat(120, dimension_to="tangent") > flat(120, dimension_to="apex")
    assert flat(60) == flat(60, dimension_to="tangent") == flat(60, dimension_to="apex")


def test_legs_are_outside_unless_said() -> None:
    assert answered("flat", without(FLAT, "legs_are")) == answered("flat", FLAT)


def test_five_hundred_bends_are_answered() -> None:
    body = {
        "thickness_mm": 1,
        "legs_mm": [20] * 501,
        "bends": [{"bend_angle_deg": 90, "inside_radius_mm": 1}] * 500,
    }
    assert len(answered("flat", body)["bend_lines_mm"]) == 500
