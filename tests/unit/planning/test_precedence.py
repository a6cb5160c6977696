"""Strokes that have to come before others: never more than every order tried shows, and the flips."""

import itertools

import pytest

from server.geometry.generator import Wall, panel
from server.planning.order_check import ChosenStep, check_order
from server.planning.plan_task import PlanTask
from server.planning.planner import single_die_variants
from server.planning.precedence import FlipBound, GaugeBound, later_by_rear, later_strokes
from tests.unit.planning.shop import FOLD, part_task, profile_task

CHANNEL = profile_task([14.0, 40.0, 80.0, 40.0, 14.0], [90.0, 90.0, 90.0, 90.0])
STEP = profile_task([18.0, 30.0, 50.0, 50.0], [-90.0, 90.0, 90.0])
BOX_WITH_RETURNS = part_task(
    panel(
        width_mm=200,
        depth_mm=150,
        walls=[Wall(40, 15), None, None, Wall(30)],
        thickness_mm=2.0,
        fold=FOLD,
        relief_mm=1.5,
    )
)


def later_of(task: PlanTask) -> tuple[int, ...]:
    (variant, *_), _ = single_die_variants(task)
    return later_strokes(later_by_rear(variant.tests, variant.punches, variant.rears))


def pairs(later: tuple[int, ...]) -> set[tuple[int, int]]:
    count = len(later)
    return {(i, j) for i in range(count) for j in range(count) if later[i] >> j & 1}


def test_returns_come_before_the_flanges_they_are_on() -> None:
    """Once a flange stands its return can no longer be reached; worked by hand."""
    assert pairs(later_of(CHANNEL)) == {(0, 1), (3, 2)}


@pytest.mark.parametrize("task", [CHANNEL, STEP, BOX_WITH_RETURNS])
def test_every_possible_order_keeps_what_was_found(task: PlanTask) -> None:
    (variant, *_), _ = single_die_variants(task)
    bends = [stroke.bends[0] for stroke in variant.making.strokes]
    found = pairs(later_of(task))
    assert found
    possible = 0
    for order in itertools.permutations(range(len(bends))):
        if check_order(task, [ChosenStep(bends[stroke]) for stroke in order]).possible:
            possible += 1
            assert all(order.index(first) < order.index(second) for first, second in found)
    assert possible


def test_turns_over_forced_by_a_chain_are_its_changes_of_side() -> None:
    """Bends up, down, up in a forced order: two turns over, and one more to end face down."""
    task = profile_task([30.0, 40.0, 60.0, 40.0], [90.0, -90.0, 90.0])
    (variant, *_), _ = single_die_variants(task)
    bound = FlipBound(variant.tests, variant.costs, (0b110, 0b100, 0))
    assert bound.flips_before(0b111, 0) == 2
    assert bound.flips_before(0b111, 1) == 3
    assert bound.flips_before(0b101, 0) == 0
    free = FlipBound(variant.tests, variant.costs, (0, 0, 0))
    assert free.flips_before(0b111, 0) == 1


def test_the_gauge_moves_at_least_as_far_as_edges_that_never_share_a_stop_lie_apart() -> None:
    """Two walls with gauge edges of their own: no X serves both, and none is missed."""
    (variant, *_), _ = single_die_variants(BOX_WITH_RETURNS)
    tests, count = variant.tests, len(variant.making.strokes)
    bound = GaugeBound(tests, variant.costs, variant.rears, (0,) * count)
    for stroke in range(count):
        for rear in variant.rears[stroke]:
            told = tests.possible_stops(stroke, rear, 0, 0)
            assert told is not None
            for done in range(1 << count):
                contact = None if done >> stroke & 1 else tests.contact(done, stroke, rear)
                assert contact is None or any(
                    stop.x_mm == contact.x_mm and done & stop.of == stop.made for stop in told
                )
    for order in itertools.permutations(range(count)):
        checked = check_order(
            BOX_WITH_RETURNS, [ChosenStep(variant.making.strokes[i].bends[0]) for i in order]
        )
        if not checked.possible or checked.sequence is None:
            continue
        x = [step.contact.x_mm for step in checked.sequence.steps]
        moved = sum(variant.costs.gauge_s(a, b) for a, b in itertools.pairwise(x))
        first = sum(1 << stroke for stroke in order[:-1])
        assert bound.seconds_before(first, x[-1]) <= moved + 1e-9
        assert bound.least_s((1 << count) - 1) <= moved + 1e-9
