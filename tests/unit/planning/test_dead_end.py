"""Why a part is blocked: the smallest set of bends without a last one, each shown."""

import math
from dataclasses import replace

from server.geometry.generator import box
from server.planning.dead_end import DeadEnd, dead_ends
from server.planning.order_check import ChosenStep, OrderChecker
from server.planning.plan_task import PlanTask
from server.planning.planner import plan_with_attempts
from tests.unit.planning.shop import FOLD, die, goose_neck, part_task, profile_task, straight

DEEP = profile_task([50.0, 40.0, 50.0], [90.0, 90.0])


def ends(task: PlanTask) -> tuple[DeadEnd, ...]:
    made, attempts = plan_with_attempts(task)
    assert made.sequence is None
    return dead_ends(task, attempts)


def test_in_a_deep_channel_neither_wall_can_be_the_last() -> None:
    (end,) = ends(DEEP)
    assert end.dies == ("V16",)
    assert not end.by_itself
    assert [(one.bends, one.made) for one in end.strokes] == [((0,), (1,)), ((1,), (0,))]
    for one in end.strokes:
        assert one.findings[0].code == "meets_punch"
        assert one.picture.overlap_mm


def test_every_bend_of_the_set_is_blocked_when_it_is_tried_as_the_last() -> None:
    """Oracle: the check of an arranged order, which knows nothing of dead sets."""
    curl = profile_task([60.0, 30.0, 20.0, 30.0, 60.0], [90.0] * 4, punches=(straight(),))
    (end,) = ends(curl)
    checker = OrderChecker(curl)
    for one in end.strokes:
        rest = [bend for bend in range(4) if bend not in (*one.made, *one.bends)]
        order = [*one.made, *one.bends, *rest]
        checked = checker.check([ChosenStep(bend) for bend in order])
        assert checked.steps[len(one.made)].placed is None


def test_other_punches_are_told_beside_the_easiest_one() -> None:
    """The wide punch is met deeper: the narrow one is shown, the other named."""
    task = replace(DEEP, punches=(straight("wide", width_mm=26.0), straight("narrow")))
    (end,) = ends(task)
    for one in end.strokes:
        assert one.punch == "narrow"
        assert [other.punch for other in one.others] == ["wide"]


def test_a_punch_that_is_not_blocked_keeps_its_bend_out_of_the_set() -> None:
    task = replace(DEEP, punches=(straight(), goose_neck()))
    made, attempts = plan_with_attempts(task)
    assert made.sequence is not None
    assert dead_ends(task, attempts) == ()


def test_a_bend_that_its_own_limits_block_needs_no_others() -> None:
    weak = replace(straight("weak"), rating_kn_per_m=20.0)
    (end,) = ends(replace(DEEP, punches=(weak,)))
    assert end.by_itself
    assert {one.bends for one in end.strokes} == {(0,), (1,)}
    assert all(one.findings and one.made == () for one in end.strokes)


def test_each_die_has_its_own_dead_end() -> None:
    found = ends(replace(DEEP, dies=(die(16.0), die(12.0))))
    assert {end.dies for end in found if len(end.dies) == 1} == {("V16",), ("V12",)}


def test_a_flat_part_is_explained_too() -> None:
    task = part_task(box(width_mm=50, depth_mm=150, height_mm=60, thickness_mm=2.0, fold=FOLD))
    (end,) = ends(task)
    assert end.strokes
    assert any(one.picture.overlap_mm for one in end.strokes)


def test_a_search_that_was_cut_short_proves_nothing() -> None:
    made, attempts = plan_with_attempts(DEEP, keep_going=lambda _: False)
    assert made.sequence is None
    assert math.isfinite(made.bound_s)
    assert dead_ends(DEEP, attempts) == ()
