"""Whatever is asked: no schedule is worse than earliest due date, none breaks a rule of the shop."""

from dataclasses import replace
from datetime import datetime, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from server.shop.schedule import Schedule, schedule
from server.shop.schedule_task import (
    Changeovers,
    Pin,
    Resource,
    ScheduleRequest,
    Task,
)

NOW = datetime.fromisoformat("2026-03-02T07:00")
MINUTE = timedelta(minutes=1)
BRAKES = ("B1", "B2", "B3")


@st.composite
def requests(draw: st.DrawFn) -> ScheduleRequest:
    brakes = BRAKES[: draw(st.integers(1, 3))]
    tasks = []
    for n in range(draw(st.integers(0, 14))):
        after = (f"J{n - 1}",) if n and draw(st.integers(0, 9)) == 0 else ()
        pin = Pin(hot=True) if draw(st.integers(0, 19)) == 0 else None
        tasks.append(
            Task(
                f"J{n}",
                draw(st.one_of(st.integers(1, 200), st.floats(0.01, 200.0))),
                draw(st.sampled_from("ABC")),
                tuple(sorted(draw(st.sets(st.sampled_from(brakes), min_size=1)))),
                NOW + draw(st.integers(-100, 900)) * MINUTE if draw(st.booleans()) else None,
                NOW + draw(st.integers(0, 300)) * MINUTE if draw(st.booleans()) else None,
                weight=draw(st.sampled_from([0.0, 0.3, 1.0, 2.0])),
                after=after,
                pin=pin,
            )
        )
    closed = ((NOW + 50 * MINUTE, NOW + 120 * MINUTE),) if draw(st.booleans()) else ()
    return ScheduleRequest(
        NOW,
        tuple(
            Resource(name, family_now=draw(st.sampled_from([None, "A", "D"])), closed=closed)
            for name in brakes
        ),
        tuple(tasks),
        Changeovers(same_min=draw(st.sampled_from([0.0, 2.0])), other_min=draw(st.integers(0, 40))),
        changeover_weight=draw(st.sampled_from([0.0, 1.0])),
        effort_s=0.02,
    )


def assert_runs(plan: Schedule) -> None:
    request = plan.request
    assert sorted(bar.task for bar in plan.bars) == sorted(task.name for task in request.tasks)
    for resource in request.resources:
        bars = [plan.bar(name) for name in plan.order[resource.name]]
        clock, family = request.now, resource.family_now
        for bar in bars:
            task = request.task(bar.task)
            change = 0.0 if family is None else request.changeovers.minutes(family, task.family)
            assert abs(bar.changeover_min - change) < 1e-6
            assert bar.start >= clock + change * MINUTE - timedelta(microseconds=5)
            assert bar.start >= (task.ready or request.now)
            assert bar.finish - bar.start >= task.minutes_min * MINUTE - timedelta(microseconds=5)
            assert bar.resource in task.resources
            for before in task.after:
                assert bar.start >= plan.bar(before).finish
            clock, family = bar.finish, task.family


@settings(max_examples=150, deadline=None, derandomize=True)
@given(requests())
def test_a_schedule_keeps_every_rule_and_beats_or_meets_earliest_due_date(
    request: ScheduleRequest,
) -> None:
    plan = schedule(request)
    assert_runs(plan)
    if not any(task.pin for task in request.tasks):
        assert plan.objective_min <= plan.due_date_order_min + 1e-6
    assert plan.bound_min <= plan.objective_min
    late = sum(request.task(bar.task).weight * bar.late_min for bar in plan.bars)
    weighted = late + request.changeover_weight * plan.changeover_min
    assert abs(weighted - plan.objective_min) < 1e-6


@settings(max_examples=25, deadline=None, derandomize=True)
@given(requests())
def test_the_bound_never_passes_what_a_longer_search_finds(request: ScheduleRequest) -> None:
    quick = schedule(request)
    longer = schedule(replace(request, effort_s=0.3))
    if not any(task.pin for task in request.tasks):
        assert quick.bound_min <= longer.objective_min + 1e-6
        assert longer.bound_min <= quick.objective_min + 1e-6
