"""The plan calculation as outside programs ask it: the contract's names, results, refusals."""

import copy
import json
import time
from typing import Any

import pytest

from server.actions.calc.front import calculate
from server.errors import ShopError

PUNCH: dict[str, Any] = {
    "name": "P1",
    "profile_mm": [[0, 0], [10, 11], [10, 120], [-10, 120], [-10, 11]],
    "tip_radius_mm": 1.0,
    "angle_deg": 84.0,
    "rating_kn_per_m": 1000.0,
}
DIE: dict[str, Any] = {
    "name": "V16",
    "profile_mm": [[-15, 0], [-8, 0], [0, -8.88], [8, 0], [15, 0], [15, -60], [-15, -60]],
    "v_opening_mm": 16.0,
    "angle_deg": 84.0,
    "shoulder_radius_mm": 1.5,
    "rating_kn_per_m": 1000.0,
}
ASK: dict[str, Any] = {
    "brake": {
        "max_force_kn": 800.0,
        "bed_length_mm": 2600.0,
        "x_min_mm": 5.0,
        "x_max_mm": 700.0,
        "finger": {"low_mm": 0.0, "high_mm": 15.0, "width_mm": 30.0},
        "opening_mm": 400.0,
        "y_sense": 1,
        "touch_off": {"reading_mm": 100.0, "tip_above_die_top_mm": 2.0},
    },
    "punches": [PUNCH],
    "dies": [DIE],
    "material": {
        "youngs_modulus_mpa": 210000.0,
        "yield_strength_mpa": 280.0,
        "tensile_strength_mpa": 400.0,
    },
    "thickness_mm": 2.0,
    "part": {
        "kind": "profile",
        "width_mm": 200.0,
        "legs_mm": [40.0, 60.0, 40.0],
        "legs_are": "outside",
        "bends": [{"bend_angle_deg": 90.0}, {"bend_angle_deg": -90.0}],
    },
}


def rectangle(u0: float, v0: float, u1: float, v1: float) -> list[list[float]]:
    return [[u0, v0], [u1, v0], [u1, v1], [u0, v1]]


FLAT = {
    "kind": "flat",
    "faces": [
        {"outline_mm": rectangle(0, 0, 100, 60)},
        {"outline_mm": rectangle(0, -30, 100, 0)},
        {"outline_mm": rectangle(0, 60, 100, 90), "holes_mm": [rectangle(40, 75, 60, 80)]},
    ],
    "bends": [
        {"line_mm": [[0, 0], [100, 0]], "faces": [0, 1], "bend_angle_deg": 90.0},
        {"line_mm": [[0, 60], [100, 60]], "faces": [0, 2], "bend_angle_deg": 90.0},
    ],
}


def asked(**changes: Any) -> dict[str, Any]:
    """The request with fields changed; a dotted name reaches inside."""
    body = copy.deepcopy(ASK)
    for name, value in changes.items():
        at: Any = body
        *path, last = name.split("__")
        for step in path:
            at = at[int(step)] if isinstance(at, list) else at[step]
        at[int(last) if isinstance(at, list) else last] = value
    return body


def plan(**changes: Any) -> dict[str, Any]:
    answer = dict(calculate("plan", asked(**changes)))
    return dict(json.loads(json.dumps(answer, allow_nan=False)))


def refused(**changes: Any) -> ShopError:
    with pytest.raises(ShopError) as caught:
        calculate("plan", asked(**changes))
    assert str(caught.value.what)
    assert str(caught.value.remedy)
    return caught.value


def test_the_answer_has_the_contracts_names() -> None:
    answer = plan()
    assert answer["feasible"] is True
    assert answer["proven_optimal"] is True
    assert answer["blockers"] == []
    assert answer["flat_length_mm"] == pytest.approx(132.0, abs=0.1)
    step = answer["steps"][0]
    assert set(step) >= {
        "bends", "punch", "die", "side_up", "rear", "turned_over", "turned_end_for_end", "gauge",
        "depth_mm", "y_mm", "loaded_bend_angle_deg", "force_kn",
    }  # fmt: skip
    assert set(step["gauge"]) >= {"kind", "x_mm", "r_mm"}
    assert set(answer["cost"]) >= {
        "seconds", "turns_over", "turns_end_for_end", "gauge_moves", "tool_changes",
    }  # fmt: skip


def test_the_cost_can_be_counted_from_the_steps() -> None:
    answer = plan(part__legs_mm=[30.0, 60.0, 80.0, 40.0],
                  part__bends=[{"bend_angle_deg": a} for a in (90.0, 90.0, -90.0)])  # fmt: skip
    heavier = 1.0 + answer["mass_kg"] / 10.0
    seconds = 0.0
    before = None
    for step in answer["steps"]:
        seconds += 6.0 + (2.0 if step["gauge"]["kind"] == "flange" else 0.0)
        if before is not None:
            over, turn = step["side_up"] != before["side_up"], step["rear"] != before["rear"]
            assert (step["turned_over"], step["turned_end_for_end"]) == (over, turn)
            seconds += 6.0 * heavier * over + 4.0 * heavier * turn
            apart = abs(step["gauge"]["x_mm"] - before["gauge"]["x_mm"])
            seconds += 0.5 + apart / 100.0 if apart else 0.0
        before = step
    assert answer["cost"]["seconds"] == pytest.approx(seconds, abs=1e-9)


def test_positive_bends_are_made_with_side_a_up() -> None:
    sides = {step["bends"][0]: step["side_up"] for step in plan()["steps"]}
    assert sides == {0: "A", 1: "B"}


def test_rear_first_gauges_the_side_of_the_first_leg() -> None:
    answer = plan(part__legs_mm=[40.0, 90.0], part__bends=[{"bend_angle_deg": 90.0}])
    (step,) = answer["steps"]
    outside = {"first": 40.0, "second": 90.0}[step["rear"]]
    flat = answer["flat_length_mm"]
    assert step["gauge"]["x_mm"] == pytest.approx(outside - (130.0 - flat) / 2, abs=1e-6)


def test_legs_may_be_given_inside_or_to_the_neutral_line() -> None:
    """A square bend's inside leg is t shorter than its outside one: one part, two ways to say it."""
    outside = plan(part__legs_mm=[40.0, 60.0], part__bends=[{"bend_angle_deg": 90.0}])
    inside = plan(part__legs_mm=[38.0, 58.0], part__bends=[{"bend_angle_deg": 90.0}],
                  part__legs_are="inside")  # fmt: skip
    assert inside["flat_length_mm"] == pytest.approx(outside["flat_length_mm"])


def test_a_k_factor_and_a_springback_given_are_used() -> None:
    given = plan(k_factor=0.42, springback_deg=1.5)
    assert {step["loaded_bend_angle_deg"] for step in given["steps"]} == {91.5}
    default = plan(springback_deg=1.5)
    assert given["flat_length_mm"] != pytest.approx(default["flat_length_mm"])


def test_a_fixed_order_is_kept() -> None:
    answer = plan(fixed_order=[0, 1])
    assert [step["bends"] for step in answer["steps"]] == [[0], [1]]


def test_a_flat_part_is_planned_too() -> None:
    answer = plan(part=FLAT)
    assert answer["feasible"] is True
    assert "flat_length_mm" not in answer
    assert sorted(step["bends"] for step in answer["steps"]) == [[0], [1]]


def test_an_infeasible_part_is_an_answer_with_blockers() -> None:
    answer = plan(part__legs_mm=[50.0, 40.0, 50.0],
                  part__bends=[{"bend_angle_deg": 90.0}] * 2)  # fmt: skip
    assert answer["feasible"] is False
    assert answer["steps"] == []
    assert answer["blockers"]
    for blocker in answer["blockers"]:
        assert set(blocker) >= {"bend", "code", "message"}
        assert blocker["code"] == "meets_punch"
        assert blocker["tool"] == "P1"
        assert blocker["overlap_mm"] > 0.0
        assert blocker["hint"]


def test_a_leg_too_short_for_its_bends_blocks_the_die() -> None:
    answer = plan(part__legs_mm=[3.0, 60.0], part__bends=[{"bend_angle_deg": 90.0}])
    assert answer["feasible"] is False
    assert [blocker["code"] for blocker in answer["blockers"]] == ["leg_too_short"]


def test_the_holder_stands_on_the_punch_in_the_punches_coordinates() -> None:
    """Given from y = 120 up, or with its foot at 0: the same holder."""
    legs = {"part__legs_mm": [110.0, 150.0, 60.0],
            "part__bends": [{"bend_angle_deg": 90.0}, {"bend_angle_deg": 90.0}]}  # fmt: skip
    high = rectangle(-40, 120, 40, 250)
    foot = rectangle(-40, 0, 40, 130)
    assert plan(brake__holder_mm=high, **legs) == plan(brake__holder_mm=foot, **legs)


RING = {
    "kind": "flat",
    "faces": [
        {"outline_mm": rectangle(0, 0, 50, 40)},
        {"outline_mm": rectangle(50, 0, 100, 40)},
        {"outline_mm": rectangle(50, 40, 100, 80)},
        {"outline_mm": rectangle(0, 40, 50, 80)},
    ],
    "bends": [
        {"line_mm": [[50, 0], [50, 40]], "faces": [0, 1], "bend_angle_deg": 90.0},
        {"line_mm": [[50, 40], [100, 40]], "faces": [1, 2], "bend_angle_deg": 90.0},
        {"line_mm": [[50, 40], [50, 80]], "faces": [2, 3], "bend_angle_deg": 90.0},
        {"line_mm": [[0, 40], [50, 40]], "faces": [3, 0], "bend_angle_deg": 90.0},
    ],
}


def flat_with(**changes: Any) -> dict[str, Any]:
    part = copy.deepcopy(FLAT)
    for name, value in changes.items():
        at: Any = part
        *path, last = name.split("__")
        for step in path:
            at = at[int(step)] if isinstance(at, list) else at[step]
        at[int(last) if isinstance(at, list) else last] = value
    return part


@pytest.mark.parametrize(
    ("changes", "code", "where"),
    [
        ({"part": RING}, "cycle", "part.bends"),
        (
            {"part": flat_with(faces__1__outline_mm=rectangle(0, -30, 100, 20))},
            "faces_overlap",
            "part.faces",
        ),
        (
            {"part": flat_with(bends__0__line_mm=[[0, -500], [100, -500]])},
            "bend_line_off_the_sheet",
            "part.bends.0.line_mm",
        ),
        (
            {"part": flat_with(faces__1__outline_mm=rectangle(0, -0.01, 100, 0))},
            "zero_width",
            "part.faces.1.outline_mm",
        ),
        (
            {"part": flat_with(faces__1__outline_mm=[[0, 0], [100, -30], [100, 0], [0, -30]])},
            "outline_crosses_itself",
            "part.faces.1.outline_mm",
        ),
        ({"part": flat_with(bends__1__faces=[0, 9])}, "no_such_face", "part.bends.1.faces"),
        (
            {"part": flat_with(bends__1__bend_angle_deg=0.0)},
            "not_an_air_bend",
            "part.bends.1.bend_angle_deg",
        ),
        (
            {"punches__0__profile_mm": [[0, 0], [10, 100], [10, 0], [0, 100]]},
            "outline_crosses_itself",
            "punches.0.profile_mm",
        ),
        (
            {"dies__0__profile_mm": [[-15, 0], [15, -60], [15, 0], [-15, -60]]},
            "outline_crosses_itself",
            "dies.0.profile_mm",
        ),
        (
            {"punches__0__profile_mm": [[0, 5], [10, 20], [10, 120], [-10, 120], [-10, 20]]},
            "tip_not_at_origin",
            "punches.0.profile_mm",
        ),
        (
            {"dies__0__profile_mm": [[-15, 10], [15, 10], [15, -60], [-15, -60]]},
            "top_not_at_zero",
            "dies.0.profile_mm",
        ),
        ({"thickness_mm": 0.0}, "out_of_range", "thickness_mm"),
        ({"thickness_mm": -1.0}, "out_of_range", "thickness_mm"),
        ({"k_factor": 1.5}, "out_of_range", "k_factor"),
        ({"springback_deg": 400.0}, "out_of_range", "springback_deg"),
        ({"time_budget_s": 0.0}, "out_of_range", "time_budget_s"),
        ({"time_budget_s": 1e9}, "out_of_range", "time_budget_s"),
        ({"part__width_mm": 0.0}, "out_of_range", "part.width_mm"),
        ({"part__legs_mm": [40.0, 60.0]}, "wrong_count", "part.legs_mm"),
        ({"part__legs_mm": [40.0, -60.0, 40.0]}, "out_of_range", "part.legs_mm.1"),
        ({"part__bends__0__bend_angle_deg": 180.0}, "not_an_air_bend", "part.bends.0"),
        ({"part__bends__0__bend_angle_deg": 0.0}, "not_an_air_bend", "part.bends.0"),
        ({"fixed_order": [0, 5]}, "no_such_bend", "fixed_order"),
        ({"fixed_order": [0, 0]}, "bend_named_twice", "fixed_order"),
        ({"brake__x_max_mm": 1.0}, "out_of_range", "brake.x_max_mm"),
        ({"brake__finger__width_mm": 0.0}, "out_of_range", "brake.finger.width_mm"),
        ({"brake__y_sense": 2}, "not_a_choice", "brake.y_sense"),
        ({"brake__colour": "red"}, "unknown_field", "brake.colour"),
        ({"part__kind": "cube"}, "not_a_choice", "part.kind"),
        ({"part__bends__0__radius_mm": 3.0}, "unknown_field", "part.bends.0.radius_mm"),
        ({"punches": []}, "too_few", "punches"),
        ({"punches": [PUNCH, PUNCH]}, "name_used_twice", "punches.1.name"),
        ({"dies__0__segments_mm": [100.0, -5.0]}, "out_of_range", "dies.0.segments_mm.1"),
        ({"material__tensile_strength_mpa": 100.0}, "strengths_swapped", "material"),
    ],
)
def test_bad_input_is_refused_by_name(changes: dict[str, Any], code: str, where: str) -> None:
    trouble = refused(**changes)
    assert trouble.code == code
    assert trouble.where is not None
    assert trouble.where.startswith(where)


@pytest.mark.parametrize("count", [101, 499, 500])
def test_hundreds_of_bends_are_refused_in_bounded_time(count: int) -> None:
    started = time.perf_counter()
    trouble = refused(
        part__legs_mm=[40.0] * (count + 1),
        part__bends=[{"bend_angle_deg": 20.0 * (-1) ** i} for i in range(count)],
    )
    assert trouble.code in ("too_many_strokes", "too_many", "too_many_bends")
    assert time.perf_counter() - started < 5.0


def test_a_long_part_comes_back_within_its_budget() -> None:
    started = time.perf_counter()
    answer = plan(
        part__legs_mm=[40.0] * 26,
        part__bends=[{"bend_angle_deg": 30.0 * (-1) ** (i // 2)} for i in range(25)],
        brake__x_max_mm=3000.0,
        time_budget_s=0.5,
    )
    assert time.perf_counter() - started < 3.0
    if answer["feasible"]:
        assert 0.0 < answer["bound_seconds"] <= answer["cost"]["seconds"] + 1e-9


def test_many_tools_do_not_make_it_hang() -> None:
    punches = [{**PUNCH, "name": f"P{i}", "tip_radius_mm": 1.0 + 0.1 * i} for i in range(12)]
    dies = [{**DIE, "name": f"V{i}"} for i in range(12)]
    started = time.perf_counter()
    answer = plan(
        punches=punches,
        dies=dies,
        part__legs_mm=[30.0, 50.0, 40.0, 60.0, 40.0, 50.0, 30.0],
        part__bends=[{"bend_angle_deg": a} for a in (90.0, -90.0, 90.0, 90.0, -90.0, 90.0)],
        time_budget_s=1.0,
    )
    assert time.perf_counter() - started < 6.0
    assert isinstance(answer["feasible"], bool)


def test_the_same_question_has_the_same_answer() -> None:
    assert plan() == plan()
