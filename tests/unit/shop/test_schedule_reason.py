"""Late because ..., what a rush costs before it is promised, and a new plan that keeps what runs."""

from dataclasses import replace
from datetime import datetime, timedelta

from server.shop.schedule import schedule
from server.shop.schedule_reason import late_reasons, replan, rush_between, rush_cost
from server.shop.schedule_task import (
    Changeovers,
    Pin,
    Resource,
    ScheduleRequest,
    Started,
    Task,
)

NOW = datetime.fromisoformat("2026-03-02T07:00")
MINUTE = timedelta(minutes=1)
B1 = (Resource("B1"),)


def task(name: str, minutes: float, family: str, due: float, **more: object) -> Task:
    return Task(name, minutes, family, ("B1",), NOW + due * MINUTE, **more)  # type: ignore[arg-type]


WEEK = ScheduleRequest(
    NOW,
    B1,
    (
        task("bracket", 40, "V16", 180),
        task("cover", 30, "V10", 90),
        task("channel", 60, "V25", 340),
        task("angle", 30, "V16", 420),
        task("box", 35, "V10", 480),
        task("hat", 45, "V25", 460),
        task("tray", 20, "V10", 130),
    ),
    Changeovers(other_min=20.0),
)


def test_story_13_a_rush_shows_its_cost_first_and_the_plan_on_the_wall_is_untouched() -> None:
    plan = schedule(WEEK)
    rush = task("rush", 45, "V40", 60, pin=Pin(hot=True))
    what = rush_cost(plan, rush)
    assert plan == schedule(WEEK)
    assert what.after.bars[0].task == "rush"
    assert what.cost_min == what.after.objective_min - plan.objective_min > 0
    assert {one.task for one in what.newly_late} == {bar.task for bar in what.after.late}
    assert what.newly_late
    assert all(one.task in str(what.told) for one in what.newly_late)
    known = {bar.task: bar.finish for bar in plan.bars}
    for one in what.moved:
        if one.task != "rush":
            later = (what.after.bar(one.task).finish - known[one.task]) / MINUTE
            assert one.later_min == later


def test_the_quick_answer_never_promises_less_than_the_full_one_costs() -> None:
    plan = schedule(WEEK)
    rush = task("rush", 45, "V16", 300)
    quick, full = rush_between(plan, rush), rush_cost(plan, rush)
    assert full.cost_min <= quick.cost_min
    kept = [name for name in quick.after.order["B1"] if name != "rush"]
    assert tuple(kept) == plan.order["B1"]


def test_a_rush_that_costs_nothing_says_so() -> None:
    plan = schedule(WEEK)
    what = rush_cost(plan, task("later", 10, "V10", 5000))
    assert what.newly_late == ()
    assert "nothing becomes late" in str(what.told)


def test_late_even_alone_is_said_with_its_first_cause() -> None:
    request = ScheduleRequest(
        NOW,
        B1,
        (task("big", 90, "A", 60), task("steel", 30, "A", 100, ready=NOW + 90 * MINUTE)),
    )
    reasons = {reason.task: reason for reason in late_reasons(schedule(request))}
    assert reasons["big"].late_alone_min == 30
    assert "Even with nothing before it, it would be 30 min late" in str(reasons["big"].told)
    assert reasons["steel"].late_alone_min == 20
    assert reasons["steel"].on_time_order is None


def test_late_material_is_named() -> None:
    late = task(
        "steel", 30, "A", 100, ready=NOW + 90 * MINUTE, waits_for="3 mm stainless from the mill"
    )
    (reason,) = late_reasons(schedule(ScheduleRequest(NOW, B1, (late,))))
    assert reason.chain[-1].kind == "material"
    assert "waits for 3 mm stainless from the mill until 2026-03-02 08:30" in str(
        reason.chain[-1].told
    )


def test_the_chain_names_what_stands_before_with_its_changeover_and_what_a_cure_costs() -> None:
    request = ScheduleRequest(
        NOW,
        B1,
        (task("heavy", 60, "A", 60, weight=10), task("light", 30, "B", 60)),
        Changeovers(other_min=15),
    )
    (reason,) = late_reasons(schedule(request))
    assert (reason.task, reason.late_min, reason.late_alone_min) == ("light", 45, 0)
    assert [(link.kind, link.behind) for link in reason.chain] == [
        ("behind", "heavy"),
        ("start", None),
    ]
    assert "behind heavy on B1, with a changeover of 15 min" in str(reason.told)
    # light first: heavy ends at 30 + 15 + 60 = 105, 45 late x 10, and light's own 45 are saved
    assert reason.on_time_costs_min == 10 * 45 - 45
    assert reason.on_time_order == {"B1": ("light", "heavy")}


def test_the_chain_crosses_from_the_brake_to_the_cutter() -> None:
    tasks = (
        Task("cut", 60, "2 mm", ("laser",)),
        Task("bend", 30, "A", ("B1",), NOW + 80 * MINUTE, after=("cut",)),
    )
    request = ScheduleRequest(NOW, (Resource("laser", "cutter"), Resource("B1")), tasks)
    (reason,) = late_reasons(schedule(request))
    assert [(link.kind, link.task) for link in reason.chain] == [
        ("after", "bend"),
        ("start", "cut"),
    ]
    assert reason.late_alone_min == 10


def test_replanning_keeps_what_started_drops_what_is_done_and_takes_what_came_in() -> None:
    plan = schedule(WEEK)
    first, second = plan.order["B1"][:2]
    later = NOW + 60 * MINUTE
    new = replan(
        plan,
        now=later,
        started={second: Started("B1", NOW + 50 * MINUTE)},
        finished={first},
        added=(task("new", 15, "V10", 600),),
    )
    assert new.order["B1"][0] == second
    assert new.bar(second).running
    assert new.bar(second).start == NOW + 50 * MINUTE
    names = {bar.task for bar in new.bars}
    assert first not in names
    assert "new" in names
    assert len(names) == len(WEEK.tasks)


def test_after_the_last_job_is_done_its_tools_are_still_on_the_brake() -> None:
    plan = schedule(WEEK)
    first = plan.order["B1"][0]
    family = WEEK.task(first).family
    new = replan(plan, now=NOW + 60 * MINUTE, started={}, finished={first})
    assert new.request.resources[0].family_now == family


def test_replanning_nothing_new_keeps_an_order_that_is_as_good() -> None:
    plan = schedule(replace(WEEK, effort_s=0.0))
    again = schedule(replace(WEEK, effort_s=0.0, previous=plan.order))
    assert again.order == plan.order
