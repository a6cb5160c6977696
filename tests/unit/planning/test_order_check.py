"""An order a person arranged: what is possible is costed, what is not says why."""

from dataclasses import replace

import pytest

from server.errors import ShopError
from server.planning.order_check import ChosenStep, check_order
from server.planning.plan_task import Wishes
from server.planning.planner import plan
from tests.unit.planning.shop import die, goose_neck, profile_task, straight

HAT = profile_task([30.0, 40.0, 60.0, 40.0, 30.0], [-90.0, 90.0, 90.0, -90.0])


def steps(*bends: int) -> list[ChosenStep]:
    return [ChosenStep(bend) for bend in bends]


def test_the_planners_own_order_is_possible_at_the_planners_cost() -> None:
    made = plan(HAT)
    assert made.sequence is not None
    chosen = [ChosenStep(s.bends[0], s.rear, s.punch) for s in made.sequence.steps]
    checked = check_order(HAT, chosen)
    assert checked.possible
    assert checked.cost.seconds == pytest.approx(made.sequence.cost.seconds)


def test_open_choices_are_filled_with_the_cheapest() -> None:
    made = plan(HAT)
    assert made.sequence is not None
    checked = check_order(HAT, steps(*(s.bends[0] for s in made.sequence.steps)))
    assert checked.cost.seconds == pytest.approx(made.sequence.cost.seconds)


def test_no_order_is_cheaper_than_the_plan() -> None:
    import itertools

    made = plan(HAT)
    assert made.sequence is not None
    possible = [
        checked.cost.seconds
        for order in itertools.permutations(range(4))
        for checked in (check_order(HAT, steps(*order)),)
        if checked.possible
    ]
    assert min(possible) == pytest.approx(made.sequence.cost.seconds)


def test_a_blocked_step_names_what_it_meets_and_does_not_hide_the_next() -> None:
    checked = check_order(HAT, steps(1, 2, 0, 3))
    assert not checked.possible
    assert checked.sequence is None
    blocked = [step for step in checked.steps if step.placed is None]
    assert blocked
    for step in blocked:
        assert all(finding.level == "stop" and finding.frees for finding in step.findings)
    assert checked.steps[0].placed is not None


def test_a_wish_for_the_order_is_held_against_the_arranged_one() -> None:
    task = replace(HAT, wishes=Wishes(before=((3, 2),)))
    checked = check_order(task, steps(2, 0, 3, 1))
    assert {f.code for step in checked.steps for f in step.findings} == {"too_early"}


def test_a_chosen_half_or_punch_is_kept() -> None:
    task = profile_task([40.0, 60.0], [90.0], punches=(straight(), goose_neck()))
    checked = check_order(task, [ChosenStep(0, rear="second", punch="goose neck")])
    assert checked.steps[0].placed is not None
    assert checked.steps[0].placed.rear == 1
    assert checked.steps[0].placed.punch.name == "goose neck"


def test_a_die_may_be_named() -> None:
    task = profile_task([40.0, 60.0], [90.0], dies=(die(16.0), die(12.0)))
    checked = check_order(task, steps(0), die="V12")
    assert checked.sequence is not None
    assert checked.sequence.steps[0].die == "V12"


@pytest.mark.parametrize(
    ("chosen", "die_name", "code"),
    [
        (steps(0, 1, 2), None, "step_missing"),
        (steps(0, 1, 2, 3, 3), None, "step_too_many"),
        (steps(0, 1, 2, 9), None, "no_such_bend"),
        (steps(0, 1, 2, 3), "V99", "no_such_die"),
    ],
)
def test_orders_that_cannot_be_meant_are_refused(
    chosen: list[ChosenStep], die_name: str | None, code: str
) -> None:
    with pytest.raises(ShopError) as caught:
        check_order(HAT, chosen, die=die_name)
    assert caught.value.code == code
