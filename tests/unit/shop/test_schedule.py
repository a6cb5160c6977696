"""The schedule against every order tried one by one, its pins, calendar and links, and story 13."""

import random
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, time, timedelta
from itertools import pairwise, permutations

import pytest

from server.errors import ShopError
from server.shop.schedule import schedule, schedule_in_order
from server.shop.schedule_bound import lower_bound
from server.shop.schedule_model import can_help, solve
from server.shop.schedule_rule import earliest_due_date, starting_orders
from server.shop.schedule_search import improved
from server.shop.schedule_task import (
    Changeovers,
    Pin,
    Resource,
    ScheduleRequest,
    Started,
    Task,
)
from server.shop.shop_calendar import Shift, ShopCalendar
from server.shop.timetable import US_PER_MIN, Timetable

at = datetime.fromisoformat
NOW = at("2026-03-02T07:00")
MINUTE = timedelta(minutes=1)


def drawn(seed: int, tasks: int, brakes: int, *, calm: bool = False) -> ScheduleRequest:
    """A small random request with everything: ready times, weights, a matrix, mounted families."""
    rng = random.Random(seed)
    names = tuple(f"B{n}" for n in range(brakes))
    families = ("A", "B", "C")
    work = [rng.randrange(10, 91, 5) for _ in range(tasks)]
    span = sum(work) * (2 if calm else 1) // brakes
    return ScheduleRequest(
        NOW,
        tuple(Resource(name, family_now=rng.choice([None, *families])) for name in names),
        tuple(
            Task(
                f"J{n}",
                minutes,
                rng.choice(families),
                names if rng.random() < 0.8 else (rng.choice(names),),
                NOW + rng.randrange(10, max(11, span)) * MINUTE,
                NOW + rng.randrange(0, 60) * MINUTE if rng.random() < 0.3 else None,
                weight=rng.choice([0.5, 1, 2, 3]),
            )
            for n, minutes in enumerate(work)
        ),
        Changeovers(
            pairs={(a, b): rng.randrange(5, 31, 5) for a in families for b in families if a != b}
        ),
        effort_s=0.5,
    )


def minutes_of(request: ScheduleRequest, lanes: dict[str, tuple[str, ...]]) -> float:
    """The objective of an order, by a plain simulation written for this test."""
    total = 0.0
    for resource in request.resources:
        clock, family = request.now, resource.family_now
        for name in lanes[resource.name]:
            task = request.task(name)
            change = 0.0 if family is None else request.changeovers.minutes(family, task.family)
            start = max(clock + change * MINUTE, task.ready or clock)
            clock, family = start + task.minutes_min * MINUTE, task.family
            assert task.due is not None
            total += change + task.weight * max(0.0, (clock - task.due) / MINUTE)
    return total


def all_orders(request: ScheduleRequest) -> Iterator[dict[str, tuple[str, ...]]]:
    names = [resource.name for resource in request.resources]
    bars = ["|"] * (len(names) - 1)
    for mixed in set(permutations([task.name for task in request.tasks] + bars)):
        lanes: list[tuple[str, ...]] = [()]
        for name in mixed:
            if name == "|":
                lanes.append(())
            else:
                lanes[-1] = (*lanes[-1], name)
        order = dict(zip(names, lanes, strict=True))
        if all(
            resource in request.task(name).resources
            for resource in names
            for name in order[resource]
        ):
            yield order


@pytest.mark.parametrize(("seed", "brakes"), [(n, 1 + n % 2) for n in range(8)])
def test_few_jobs_get_the_best_of_all_orders_and_the_bound_says_so(seed: int, brakes: int) -> None:
    request = drawn(seed, 6, brakes)
    best = min(minutes_of(request, order) for order in all_orders(request))
    plan = schedule(request)
    assert plan.objective_min == pytest.approx(best, abs=1e-9)
    assert plan.bound_min == pytest.approx(best, abs=1e-9)
    assert minutes_of(request, dict(plan.order)) == pytest.approx(best, abs=1e-9)


@pytest.mark.parametrize("seed", range(10))
def test_bound_search_and_solver_agree_with_the_best_of_all_orders(seed: int) -> None:
    request = drawn(seed, 6, 2, calm=seed % 2 == 0)
    best = min(minutes_of(request, order) for order in all_orders(request))
    table = Timetable(request)
    start = earliest_due_date(table)
    known = table.cost(start) / US_PER_MIN
    assert lower_bound(table, known_min=known) <= best + 1e-9
    assert lower_bound(table, known_min=best) <= best + 1e-9
    searched = table.cost(improved(table, start, moves_count=4000)) / US_PER_MIN
    assert searched == pytest.approx(best, abs=1e-6)
    assert can_help(table, known_min=known)
    found = solve(table, start, known_min=known, bound_min=0.0, effort_s=20.0)
    assert found.proven
    lanes = found.lanes if found.lanes is not None else start
    assert table.cost(lanes) / US_PER_MIN == pytest.approx(best, abs=1e-6)


def test_rules_are_what_they_say() -> None:
    request = drawn(3, 8, 1)
    table = Timetable(request)
    (by_due_date,) = earliest_due_date(table)
    assert by_due_date == sorted(range(8), key=lambda i: table.due_us[i])
    assert all(sorted(order[0]) == list(range(8)) for order in starting_orders(table))


STORY_13 = ScheduleRequest(
    NOW,
    (Resource("brake"),),
    tuple(
        Task(name, minutes, family, ("brake",), NOW + due * MINUTE)
        for name, minutes, family, due in [
            ("bracket", 40, "V16", 180),
            ("cover", 30, "V10", 90),
            ("channel", 60, "V25", 340),
            ("angle", 30, "V16", 420),
            ("box", 35, "V10", 480),
            ("hat", 45, "V25", 460),
            ("tray", 20, "V10", 130),
        ]
    ),
    Changeovers(other_min=20.0),
)


def test_story_13_seven_jobs_in_three_families_no_late_job_and_least_set_up() -> None:
    plan = schedule(STORY_13)
    assert plan.late == ()
    on_time = [
        minutes_of(STORY_13, order)
        for order in all_orders(STORY_13)
        if is_on_time(STORY_13, order["brake"])
    ]
    assert plan.changeover_min == min(on_time)
    assert plan.proven_best
    assert plan.changeover_min < changeover_by_due_date(STORY_13)


def is_on_time(request: ScheduleRequest, order: tuple[str, ...]) -> bool:
    clock, family = 0.0, None
    for name in order:
        task = request.task(name)
        clock += (20.0 if family not in (None, task.family) else 0.0) + task.minutes_min
        family = task.family
        assert task.due is not None
        if clock > (task.due - NOW) / MINUTE:
            return False
    return True


def changeover_by_due_date(request: ScheduleRequest) -> float:
    tasks = sorted(request.tasks, key=lambda task: task.due or NOW)
    return sum(20.0 for a, b in pairwise(tasks) if a.family != b.family)


def test_no_schedule_is_worse_than_earliest_due_date_even_without_effort() -> None:
    for seed in range(6):
        plan = schedule(replace(drawn(seed, 25, 2), effort_s=0.0))
        assert plan.objective_min <= plan.due_date_order_min


def test_the_same_request_gives_the_same_schedule() -> None:
    request = replace(drawn(5, 30, 2), effort_s=0.3)
    assert schedule(request) == schedule(request)


def test_a_hot_job_goes_first_and_a_pinned_start_is_kept() -> None:
    tasks = [Task(f"J{n}", 60, "A", ("B1",), NOW + 90 * MINUTE, weight=5) for n in range(4)]
    tasks.append(Task("hot", 30, "B", ("B1",), NOW + timedelta(days=9), pin=Pin(hot=True)))
    tasks.append(
        Task("held", 30, "A", ("B1",), NOW + timedelta(days=9), pin=Pin(start=NOW + 150 * MINUTE))
    )
    plan = schedule(
        ScheduleRequest(NOW, (Resource("B1"),), tuple(tasks), Changeovers(other_min=10))
    )
    assert plan.bars[0].task == "hot"
    assert plan.bar("held").start == NOW + 150 * MINUTE
    assert plan.findings == ()


def test_a_pin_to_a_brake_is_kept_and_an_impossible_start_is_told() -> None:
    tasks = (
        Task("a", 60, "A", ("B1", "B2"), NOW + 60 * MINUTE, pin=Pin(resource="B2")),
        Task("b", 60, "A", ("B1", "B2"), NOW + 60 * MINUTE, pin=Pin(resource="B2")),
        Task("c", 30, "A", ("B1",), NOW + 60 * MINUTE, pin=Pin(start=NOW)),
        Task("d", 30, "A", ("B1",), NOW + 60 * MINUTE, pin=Pin(start=NOW)),
    )
    plan = schedule(ScheduleRequest(NOW, (Resource("B1"), Resource("B2")), tasks))
    assert set(plan.order["B2"]) == {"a", "b"}
    assert [finding.code for finding in plan.findings] == ["pin_not_held"]


def test_what_has_started_stays_and_sets_the_tools() -> None:
    tasks = (
        Task(
            "running", 60, "A", ("B1",), NOW + 10 * MINUTE, started=Started("B1", NOW - 20 * MINUTE)
        ),
        Task("next", 30, "A", ("B1",), NOW + 600 * MINUTE),
        Task("other", 30, "B", ("B1",), NOW + 600 * MINUTE),
    )
    plan = schedule(ScheduleRequest(NOW, (Resource("B1"),), tasks, Changeovers(other_min=15)))
    assert plan.order["B1"] == ("running", "next", "other")
    assert plan.bar("running").finish == NOW + 40 * MINUTE
    assert plan.bar("running").late_min == 30
    assert (plan.changeovers_count, plan.changeover_min) == (1, 15)
    assert plan.bound_min == plan.objective_min == 45


def test_an_overdue_running_job_ends_now_at_the_earliest() -> None:
    task = Task("r", 30, "A", ("B1",), NOW, started=Started("B1", NOW - 120 * MINUTE))
    assert schedule(ScheduleRequest(NOW, (Resource("B1"),), (task,))).bar("r").finish == NOW


def test_nights_are_not_worked_and_not_late() -> None:
    calendar = ShopCalendar(tuple(Shift(day, time(7), time(15)) for day in range(1, 6)))
    task = Task("long", 600, "A", ("B1",), at("2026-03-03T08:00"))
    plan = schedule(ScheduleRequest(NOW, (Resource("B1"),), (task,), calendar=calendar))
    bar = plan.bar("long")
    assert bar.finish == at("2026-03-03T09:00")  # 480 min on Monday, 120 on Tuesday
    assert bar.late_min == 60


def test_a_brake_that_stands_still_pauses_its_job() -> None:
    closed = ((NOW + 30 * MINUTE, NOW + 90 * MINUTE),)
    tasks = (
        Task("a", 60, "A", ("B1",), NOW + 200 * MINUTE),
        Task("b", 20, "A", ("B1",), NOW + 200 * MINUTE, ready=NOW + 40 * MINUTE),
    )
    plan = schedule(ScheduleRequest(NOW, (Resource("B1", closed=closed),), tasks))
    assert plan.bar("a").finish == NOW + 120 * MINUTE
    assert plan.bar("b").start >= NOW + 90 * MINUTE


def test_the_bend_waits_for_its_cut() -> None:
    tasks = []
    for n, due in enumerate((100, 160, 400)):
        tasks.append(Task(f"cut{n}", 30, "2 mm", ("laser",)))
        tasks.append(Task(f"bend{n}", 40, "V16", ("B1",), NOW + due * MINUTE, after=(f"cut{n}",)))
    resources = (Resource("laser", "cutter"), Resource("B1"))
    plan = schedule(ScheduleRequest(NOW, resources, tuple(tasks), effort_s=0.5))
    for n in range(3):
        assert plan.bar(f"bend{n}").start >= plan.bar(f"cut{n}").finish
    assert plan.late == ()
    assert {bar.resource for bar in plan.bars if bar.task.startswith("cut")} == {"laser"}


def test_times_add_up_for_every_resource() -> None:
    plan = schedule(replace(drawn(11, 20, 2), effort_s=0.2))
    for use in plan.uses:
        bars = [bar for bar in plan.bars if bar.resource == use.resource]
        last = max((bar.finish for bar in bars), default=NOW)
        total = use.working_min + use.changeover_min + use.waiting_min
        assert total == pytest.approx((last - NOW) / MINUTE)
        assert 0 <= use.used_ratio <= 1


def test_an_order_laid_out_by_hand_is_timed_as_it_is() -> None:
    order = {"brake": ("hat", "cover")}
    plan = schedule_in_order(STORY_13, order)
    names = plan.order["brake"]
    assert names.index("hat") < names.index("cover")
    assert sorted(names) == sorted(task.name for task in STORY_13.tasks)
    assert plan.objective_min == minutes_of(STORY_13, dict(plan.order))


def test_an_empty_day_is_a_schedule_too() -> None:
    plan = schedule(ScheduleRequest(NOW, (Resource("B1"),), ()))
    assert (plan.bars, plan.objective_min, plan.bound_min) == ((), 0.0, 0.0)


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"resources": ()}, "no_resource"),
        ({"resources": (Resource("brake"), Resource("brake"))}, "duplicate_brake"),
        ({"tasks": (STORY_13.tasks[0], STORY_13.tasks[0])}, "duplicate_job"),
        ({"tasks": (replace(STORY_13.tasks[0], resources=("B9",)),)}, "unknown_brake"),
        ({"tasks": (replace(STORY_13.tasks[0], resources=()),)}, "no_brake_can"),
        ({"tasks": (replace(STORY_13.tasks[0], after=("gone",)),)}, "unknown_job"),
        ({"effort_s": -1.0}, "out_of_range"),
    ],
)
def test_a_request_that_cannot_be_is_refused(changed: dict[str, object], code: str) -> None:
    with pytest.raises(ShopError) as refused:
        replace(STORY_13, **changed)  # type: ignore[arg-type]
    assert refused.value.code == code


def test_more_that_cannot_be() -> None:
    for minutes, weight in ((0.0, 1.0), (10.0, -1.0), (float("nan"), 1.0)):
        with pytest.raises(ShopError):
            replace(STORY_13.tasks[0], minutes_min=minutes, weight=weight)
    a, b = STORY_13.tasks[:2]
    with pytest.raises(ShopError, match="wait for each other"):
        replace(STORY_13, tasks=(replace(a, after=(b.name,)), replace(b, after=(a.name,))))
    with pytest.raises(ShopError, match="No changeover is given from V"):
        schedule(replace(STORY_13, changeovers=Changeovers(other_min=None)))
