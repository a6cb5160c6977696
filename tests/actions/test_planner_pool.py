"""Planning in another process: the same answers, told how far, stopped when asked, never lost."""

import os
import signal
import sys
import time
from collections.abc import Callable, Iterator
from concurrent.futures import wait
from dataclasses import replace

import pytest

from server.actions import planner_pool
from server.actions.planner_pool import Ending, Handle, PlannerPool, StoppedError
from server.errors import ShopError
from server.planning.errand import (
    AlternativeErrand,
    Alternatives,
    Blocked,
    Checked,
    CheckErrand,
    PlanErrand,
    Planned,
    Worth,
    WorthErrand,
)
from server.planning.order_check import ChosenStep
from server.planning.plan_task import PlanTask, Wishes
from server.planning.planner import plan
from tests.unit.planning.shop import BRAKE, goose_neck, profile_task

HAT = profile_task([30.0, 40.0, 60.0, 40.0, 30.0], [-90.0, 90.0, 90.0, -90.0])
DEEP = profile_task([50.0, 40.0, 50.0], [90.0, 90.0])
LONG = profile_task(
    [25.0, *([40.0] * 24), 25.0],
    [(-1.0) ** (i // 2) * 30.0 for i in range(25)],
    brake=replace(BRAKE, x_axis=replace(BRAKE.x_axis, most_mm=2000.0)),
)
FOR_MINUTES = PlanErrand((LONG,), work=10_000_000)
WAIT_S = 60.0


@pytest.fixture(scope="module")
def pool() -> Iterator[PlannerPool]:
    made = PlannerPool()
    yield made
    made.close()


def until(true: Callable[[], bool], within_s: float = WAIT_S) -> None:
    end = time.monotonic() + within_s
    while not true():
        assert time.monotonic() < end, "waited too long"
        time.sleep(0.02)


def orders(task: PlanTask, pool: PlannerPool) -> list[tuple[object, ...]]:
    made = pool.ask(PlanErrand((task,))).future.result(WAIT_S)
    assert isinstance(made, Planned)
    assert made.plan.sequence is not None
    return [(s.bends, s.rear, s.punch, s.target.x_mm) for s in made.plan.sequence.steps]


def test_another_process_makes_the_same_plan_every_time(pool: PlannerPool) -> None:
    here = plan(HAT).sequence
    assert here is not None
    expected = [(s.bends, s.rear, s.punch, s.target.x_mm) for s in here.steps]
    assert orders(HAT, pool) == orders(HAT, pool) == expected


def test_a_blocked_part_comes_back_with_reasons_pictures_and_what_would_free_it(
    pool: PlannerPool,
) -> None:
    errand = PlanErrand((DEEP,), owned_punches=(goose_neck(),))
    made = pool.ask(errand).future.result(WAIT_S)
    assert isinstance(made, Blocked)
    assert made.proven
    assert made.ends[0].strokes[0].picture.overlap_mm
    assert "goose neck" in [one.tool for one in made.suggestions]


def test_checks_alternatives_and_worth_travel_too(pool: PlannerPool) -> None:
    shown = CheckErrand(HAT, (), tuple(ChosenStep(bend) for bend in (3, 2, 0, 1)))
    checked = pool.ask(shown, lane="check").future.result(WAIT_S)
    assert isinstance(checked, Checked)
    assert checked.check.possible
    others = pool.ask(AlternativeErrand(shown)).future.result(WAIT_S)
    assert isinstance(others, Alternatives)
    assert others.found
    worth = pool.ask(WorthErrand((DEEP,), (goose_neck(),), ())).future.result(WAIT_S)
    assert isinstance(worth, Worth)
    assert [one.tool for one in worth.found] == ["goose neck"]


def test_a_second_check_of_the_same_part_is_quick(pool: PlannerPool) -> None:
    """The part stays made ready in the other process."""
    spent = []
    for order in ((3, 2, 0, 1), *((0, 1, 2, 3), (3, 2, 0, 1)) * 4):  # the machine may be shared
        begun = time.perf_counter()
        chosen = tuple(ChosenStep(bend) for bend in order)
        pool.ask(CheckErrand(LONG_CHECK, (), chosen), lane="check").future.result(WAIT_S)
        spent.append(time.perf_counter() - begun)
    assert min(spent[1:]) < spent[0]


LONG_CHECK = replace(HAT, wishes=Wishes(gauge_from={0: "first"}))


def test_a_trouble_a_person_can_fix_stays_one(pool: PlannerPool) -> None:
    wished = replace(HAT, wishes=Wishes(before=((0, 1), (1, 0))))
    with pytest.raises(ShopError) as caught:
        pool.ask(PlanErrand((wished,))).future.result(WAIT_S)
    assert caught.value.code == "orders_contradict"
    assert str(caught.value.remedy)


def test_progress_grows_and_a_stop_keeps_the_best_so_far(pool: PlannerPool) -> None:
    handle = pool.ask(FOR_MINUTES)
    until(lambda: handle.told.best_s is not None)
    first = handle.told
    until(lambda: handle.told.states > first.states)
    assert handle.told.bound_s is not None
    assert first.best_s is not None
    assert handle.told.bound_s <= first.best_s
    handle.stop(discard=False)
    made = handle.future.result(WAIT_S)
    assert isinstance(made, Planned)
    assert not made.plan.proven
    assert made.plan.sequence is not None
    assert made.plan.sequence.cost.seconds <= first.best_s + 1e-6


def test_a_cancelled_errand_leaves_nothing_and_the_next_one_is_done(pool: PlannerPool) -> None:
    handle = pool.ask(FOR_MINUTES)
    behind = pool.ask(PlanErrand((HAT,)))
    until(lambda: handle.told.states > 0)
    handle.stop(discard=True)
    with pytest.raises(StoppedError):
        handle.future.result(WAIT_S)
    assert isinstance(behind.future.result(WAIT_S), Planned)


def test_an_errand_cancelled_while_it_waits_is_never_begun(pool: PlannerPool) -> None:
    busy = pool.ask(FOR_MINUTES)
    waiting = pool.ask(PlanErrand((HAT,)))
    waiting.stop(discard=True)
    busy.stop(discard=True)
    with pytest.raises(StoppedError):
        waiting.future.result(WAIT_S)
    assert waiting.told.states == 0


def test_long_planning_does_not_hold_up_a_check(pool: PlannerPool) -> None:
    busy = pool.ask(FOR_MINUTES)
    until(lambda: busy.told.states > 0)
    shown = CheckErrand(HAT, (), tuple(ChosenStep(bend) for bend in (3, 2, 0, 1)))
    assert isinstance(pool.ask(shown, lane="check").future.result(WAIT_S), Checked)
    assert not busy.future.done()
    busy.stop(discard=True)
    wait([busy.future], WAIT_S)


def test_who_asked_is_told_before_others_see_the_end(pool: PlannerPool) -> None:
    told: list[Ending] = []

    def keep(ending: Ending) -> None:
        time.sleep(0.2)
        told.append(ending)

    handle = pool.ask(PlanErrand((HAT,)), then=keep)
    handle.future.result(WAIT_S)
    assert len(told) == 1
    assert isinstance(told[0].outcome, Planned)


def test_what_cannot_be_kept_is_an_error_and_not_a_silence(pool: PlannerPool) -> None:
    def keep(_: Ending) -> None:
        raise ValueError("the disk is full")

    with pytest.raises(ValueError, match="disk is full"):
        pool.ask(PlanErrand((HAT,)), then=keep).future.result(WAIT_S)
    assert orders(HAT, pool)


def own_pool() -> tuple[PlannerPool, Handle]:
    made = PlannerPool()
    handle = made.ask(FOR_MINUTES)
    until(lambda: handle.told.states > 0)
    return made, handle


def process_of(made: PlannerPool) -> int:
    process = made._lanes["plan"]._process
    assert process is not None
    assert process.pid is not None
    return process.pid


def test_a_process_that_dies_is_told_and_replaced() -> None:
    made, handle = own_pool()
    os.kill(process_of(made), signal.SIGTERM)
    with pytest.raises(ShopError) as caught:
        handle.future.result(WAIT_S)
    assert caught.value.code == "planner_ended"
    assert orders(HAT, made)
    made.close()


@pytest.mark.skipif(sys.platform == "win32", reason="needs SIGSTOP")
def test_an_errand_that_does_not_stop_is_ended_with_its_process(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(planner_pool, "PATIENCE_S", 0.5)
    made, handle = own_pool()
    stuck = process_of(made)
    os.kill(stuck, signal.SIGSTOP)
    handle.stop(discard=True)
    with pytest.raises(StoppedError):
        handle.future.result(WAIT_S)
    assert orders(HAT, made)
    assert process_of(made) != stuck
    made.close()


def test_closing_ends_what_is_at_work_and_what_waits() -> None:
    made, handle = own_pool()
    waiting = made.ask(PlanErrand((HAT,)))
    begun = time.monotonic()
    made.close()
    assert time.monotonic() - begun < 3.0
    for one in (handle, waiting, made.ask(PlanErrand((HAT,)))):
        with pytest.raises(StoppedError):
            one.future.result(1.0)


def test_nothing_is_started_before_the_first_errand() -> None:
    made = PlannerPool()
    assert all(lane._process is None for lane in made._lanes.values())
    made.close()
