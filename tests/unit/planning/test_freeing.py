"""What would free a blocked part, and which tool is worth buying."""

from dataclasses import replace

from server.mechanics.tooling import Finger
from server.planning.freeing import best_tool_to_buy, what_would_free
from server.planning.plan_task import Wishes
from server.planning.planner import plan
from tests.unit.planning.shop import BRAKE, die, goose_neck, profile_task, straight

DEEP = profile_task([50.0, 40.0, 50.0], [90.0, 90.0])


def test_a_goose_neck_in_the_rack_is_named() -> None:
    found = what_would_free(DEEP, plan(DEEP), owned_punches=(goose_neck(), straight("twin")))
    tools = [one for one in found if one.kind == "other_punch"]
    assert [one.tool for one in tools] == ["goose neck"]
    assert tools[0].seconds > 0.0


def test_a_shorter_flange_is_found_and_is_the_longest_that_goes() -> None:
    found = what_would_free(DEEP, plan(DEEP))
    shorter = [one for one in found if one.kind == "shorter_leg"]
    assert shorter
    words = str(shorter[0].what)
    assert words.startswith("Make leg 0 ")
    length = float(words.split(" ")[3])
    assert plan(profile_task([length, 40.0, 50.0], [90.0, 90.0])).sequence is not None
    assert plan(profile_task([length + 2.0, 40.0, 50.0], [90.0, 90.0])).sequence is None


def test_another_finger_height_is_tried_when_nothing_can_be_gauged() -> None:
    high = replace(BRAKE, finger=Finger(4.0, 15.0, 30.0))
    task = profile_task([40.0, 60.0], [90.0], brake=high)
    found = what_would_free(task, plan(task))
    assert any(one.kind == "other_finger_height" for one in found)


def test_a_narrower_die_in_the_rack_is_named_for_a_short_flange() -> None:
    task = profile_task([10.0, 60.0], [90.0])
    found = what_would_free(task, plan(task), owned_dies=(die(25.0), die(10.0)))
    assert [one.tool for one in found if one.kind == "other_die"] == ["V10"]


def test_a_wish_that_stands_in_the_way_may_be_taken_back() -> None:
    task = profile_task([18.0, 30.0, 50.0, 50.0], [-90.0, 90.0, 90.0])
    wished = replace(task, wishes=Wishes(before=((2, 0),)))
    found = what_would_free(wished, plan(wished))
    assert "other_order" in {one.kind for one in found}


def test_a_possible_part_needs_no_freeing() -> None:
    task = profile_task([40.0, 60.0], [90.0])
    assert what_would_free(task, plan(task)) == ()


def test_the_tool_that_frees_most_parts_comes_first() -> None:
    blocked = [
        DEEP,
        profile_task([50.0, 50.0, 50.0], [90.0, 90.0]),
        profile_task([10.0, 60.0], [90.0]),
    ]
    worth = best_tool_to_buy(
        blocked,
        candidate_punches=(straight("another straight"), goose_neck()),
        candidate_dies=(die(10.0),),
    )
    assert [(one.tool, one.frees) for one in worth] == [("goose neck", (0, 1)), ("V10", (2,))]


def test_suggestions_carry_what_a_button_needs() -> None:
    found = what_would_free(DEEP, plan(DEEP), owned_dies=(die(10.0),))
    shorter = next(one for one in found if one.kind == "shorter_leg")
    assert shorter.leg == 0
    assert shorter.length_mm is not None
    assert shorter.length_mm < 50.0
    high = replace(BRAKE, finger=Finger(4.0, 15.0, 30.0))
    task = profile_task([40.0, 60.0], [90.0], brake=high)
    (fingers,) = [one for one in what_would_free(task, plan(task)) if one.length_mm is not None]
    assert fingers.length_mm == -1.0  # the nearest height that works: 5 mm lower
