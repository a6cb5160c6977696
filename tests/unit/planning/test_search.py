"""Ties: of orders that cost the same the tools named first are taken."""

from dataclasses import replace

import pytest

from server.planning.planner import Plan, plan
from server.planning.search import TIE_S, Progress
from tests.unit.planning.shop import goose_neck, profile_task, straight

Z = ([20.0, 25.0, 20.0], [90.0, -90.0])


def punches_of(made: Plan) -> set[str]:
    assert made.sequence is not None
    return {step.punch for step in made.sequence.steps}


@pytest.mark.parametrize("first", [0, 1, 2])
def test_of_punches_that_cost_the_same_the_first_in_the_list_is_taken(first: int) -> None:
    tools = [straight("plain"), straight("other", width_mm=22.0), goose_neck()]
    tools = tools[first:] + tools[:first]
    made = plan(profile_task(*Z, punches=tuple(tools)))
    alone = [plan(profile_task(*Z, punches=(tool,))) for tool in tools]
    costs = [one.sequence.cost.seconds for one in alone if one.sequence]
    assert max(costs) - min(costs) < TIE_S  # a tie, or the test says nothing
    assert punches_of(made) == {tools[0].name}


def test_a_tie_is_a_tie_whatever_the_last_digits_are() -> None:
    """The gauge's way is a sum of lengths whose last digits differ from punch to punch."""
    for least_mm in range(20, 60, 3):
        legs = [least_mm + 0.1, least_mm + 25.3, least_mm + 0.7]
        made = plan(profile_task(legs, [90.0, -90.0], punches=(straight("plain"), goose_neck())))
        assert punches_of(made) == {"plain"}


def test_a_later_punch_is_taken_when_it_is_cheaper_by_more_than_a_tie() -> None:
    deep = ([60.0, 50.0, 60.0], [90.0, 90.0])  # a straight punch meets the first wall
    made = plan(profile_task(*deep, punches=(straight("plain"), goose_neck("relieved"))))
    assert punches_of(made) == {"relieved"}


def test_of_dies_that_cost_the_same_the_first_usual_one_is_taken() -> None:
    task = profile_task(*Z)
    twin = replace(task.dies[0], name="twin")
    for dies in ((task.dies[0], twin), (twin, task.dies[0])):
        made = plan(replace(task, dies=dies))
        assert made.sequence is not None
        assert {step.die for step in made.sequence.steps} == {dies[0].name}


def test_progress_tells_the_best_order_found_so_far() -> None:
    seen: list[Progress] = []

    def watch(progress: Progress) -> bool:
        seen.append(progress)
        return True

    made = plan(profile_task([40.0] * 26, [20.0, -20.0] * 12 + [20.0]), keep_going=watch)
    assert made.sequence is not None
    told = [one.best_s for one in seen if one.best_s is not None]
    assert told, "long parts are begun with a quick order"
    assert min(told) >= made.sequence.cost.seconds - TIE_S
    assert told == sorted(told, reverse=True)
