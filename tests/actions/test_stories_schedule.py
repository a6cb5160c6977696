"""The stories that touch schedule and papers, told through the shop's own actions.

13: seven jobs in three families, no late job and least set-up; a rush shows its cost first.
5 of the issue: 'late because', pins, a machine that stands still, and what has started stays.
"""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from itertools import pairwise, permutations
from typing import Any

import pytest

from server.actions.run import start_job
from server.actions.running import start_run
from server.actions.schedule import begin_plan, keep_plan
from server.actions.schedule_answer import accept_plan, take_back_plan
from server.actions.schedule_request import Wish, asked_of
from server.actions.wall_clock import utc_of, wall_clock
from server.errors import ShopError
from server.settings import ShopSettings
from server.shop.schedule_errand import ScheduleErrand, carry_out_schedule
from server.shop.schedule_task import Changeovers, Resource, ScheduleRequest, Task
from server.storage.queries.job import get_job
from server.storage.queries.schedule import (
    find_kept_schedule,
    list_hours,
    list_pins,
    list_placements,
    list_queue,
    list_shifts,
)

GO_ON: Callable[[object], bool] = lambda _told: True  # noqa: E731 - one word for a callback
NOW = datetime.fromisoformat("2026-03-02T07:00")


def kept_plan(session: Any) -> Any:
    """The plan on the wall, which the demo shop has."""
    return find_kept_schedule(session)


def planned(session: Any, *wishes: Wish) -> Any:
    """A proposal with these wishes, made here instead of in the other process."""
    row, asked, errand = begin_plan(session, wishes, title="test", by="Ann", effort_s=0.5)
    keep_plan(session, row, asked, carry_out_schedule(errand, GO_ON))
    return row


def placements(session: Any, row: Any) -> dict[tuple[str, str], Any]:
    return {(one.job_number, one.kind): one for one in list_placements(session, row.id)}


def test_story_13_seven_jobs_in_three_families_none_late_with_least_set_up() -> None:
    """Checked against every one of the 5040 orders, counted here by hand-written arithmetic."""
    jobs = [("A1", "A", 40), ("B1", "B", 30), ("C1", "C", 50), ("A2", "A", 20), ("B2", "B", 60),
            ("C2", "C", 25), ("A3", "A", 35)]  # fmt: skip
    due = {"A1": 120, "B1": 400, "C1": 300, "A2": 420, "B2": 420, "C2": 420, "A3": 200}

    def late_and_changes(order: tuple[tuple[str, str, int], ...]) -> tuple[int, int]:
        at, late, changes = 0, 0, 0
        for before, (name, family, minutes) in pairwise((None, *order)):  # type: ignore[misc]
            if before is not None and before[1] != family:
                at, changes = at + 20, changes + 1
            at += minutes
            late += max(0, at - due[name])
        return late, changes

    least = min(late + 20 * changes for late, changes in map(late_and_changes, permutations(jobs)))
    request = ScheduleRequest(
        NOW,
        (Resource("B1"),),
        tuple(
            Task(name, minutes, family, ("B1",), NOW + timedelta(minutes=due[name]))
            for name, family, minutes in jobs
        ),
        Changeovers(same_min=0, other_min=20),
        effort_s=1.0,
    )
    made = carry_out_schedule(ScheduleErrand(request), GO_ON)
    assert made.plan.objective_min == pytest.approx(least)
    assert (made.plan.late, made.plan.changeovers_count) == ((), 2)
    assert made.plan.proven_best


def test_a_rush_shows_its_cost_first_and_changes_nothing_until_it_is_accepted(shop: Any) -> None:
    with shop.writing() as session:
        kept = kept_plan(session)
        before = {key: one.start_at for key, one in placements(session, kept).items()}
        position = placements(session, kept)["J-1044", "bend"].position
        rush = planned(session, Wish("pin", job_number="J-1044", position=position, hot=True))
        assert rush.state == "proposed"
        assert rush.outcome["what_if"]["moved"]
        still = placements(session, kept_plan(session))
        assert {key: one.start_at for key, one in still.items()} == before
        bends = [one for one in list_placements(session, rush.id) if one.kind == "bend"]
        assert bends[0].job_number == "J-1044"
        accept_plan(session, rush.id, by="Ann")
        assert kept_plan(session).id == rush.id
        assert list_queue(session, states=("ready", "won"), limit=9)[0].number == "J-1044"
        with pytest.raises(ShopError, match="not waiting"):
            accept_plan(session, rush.id, by="Ann")


def test_a_plan_taken_back_leaves_the_pins_and_hours_of_before(shop: Any) -> None:
    start_at = datetime(2035, 1, 8, 9, tzinfo=UTC)
    with shop.writing() as session:
        position = placements(session, kept_plan(session))["J-1044", "bend"].position
        one = {"job_number": "J-1044", "position": position}
        first = planned(session, Wish("pin", start_at=start_at, **one))
        accept_plan(session, first.id, by="Ann")
        hours_before = len(list_hours(session))
        down = Wish(
            "down", resource_code="BRAKE-1", start_at=start_at, end_at=start_at + timedelta(hours=2)
        )
        second = planned(session, Wish("pin", hot=True, **one), Wish("unpin", **one), down)
        accept_plan(session, second.id, by="Bob")
        assert list_pins(session) == []
        assert len(list_hours(session)) == hours_before + 1
        with pytest.raises(ShopError, match="cannot be taken"):
            take_back_plan(session, first.id, by="Ann")  # not the one on the wall
        assert take_back_plan(session, second.id, by="Ann").id == first.id
    with shop.reading() as session:
        (pin,) = list_pins(session)
        assert (pin.job_number, pin.start_at, pin.hot, pin.made_by) == (
            "J-1044", start_at, False, "Ann",
        )  # fmt: skip
        assert len(list_hours(session)) == hours_before
        assert kept_plan(session).id == first.id


def test_a_proposal_made_beside_an_older_plan_is_not_put_on_the_wall(shop: Any) -> None:
    with shop.writing() as session:
        first, second = planned(session, Wish("again")), planned(session, Wish("again"))
        accept_plan(session, first.id, by="Ann")
        second.state = "proposed"
        with pytest.raises(ShopError, match="Another plan was accepted"):
            accept_plan(session, second.id, by="Ann")


def test_nothing_is_planned_in_closed_hours_or_on_a_machine_that_stands_still(shop: Any) -> None:
    with shop.writing() as session:
        start = datetime.now(UTC) + timedelta(hours=1)
        down = Wish("down", resource_code="BRAKE-1", start_at=start,
                    end_at=start + timedelta(days=3), reason="bearing")  # fmt: skip
        row = planned(session, down)
        shifts = {one.weekday: (one.start_min, one.end_min) for one in list_shifts(session)}
        for one in list_placements(session, row.id):
            begins = wall_clock(one.start_at)
            opens, closes = shifts[f"{begins:%A}".lower()]
            assert opens <= begins.hour * 60 + begins.minute < closes
            if one.resource_code == "BRAKE-1":
                assert not start <= one.start_at < start + timedelta(days=3)
        assert row.late_count >= 1
        assert all(reason["told"][0] for reason in row.outcome["late"])


def test_what_has_started_stays_where_it_is_when_it_is_planned_again(shop: Any) -> None:
    with shop.writing() as session:
        run = start_job(session, "J-1047", settings=ShopSettings(), by="Ann")
        start_run(session, run.id or 0, by="Ann")
        row = planned(session, Wish("pin", job_number="J-1044", position=2, hot=True))
        running = placements(session, row)["J-1047", "bend"]
        assert running.running
        assert running.resource_code == "BRAKE-1"
        first = min((one for one in list_placements(session, row.id) if one.kind == "bend"),
                    key=lambda one: one.start_at)  # fmt: skip
        assert first.job_number == "J-1047"
        assert ("J-1047", "cut") not in placements(session, row)


def test_a_job_is_never_bent_before_it_is_cut_or_before_its_sheet_is_there(shop: Any) -> None:
    with shop.writing() as session:
        job = get_job(session, "J-1043")
        today = wall_clock(datetime.now(UTC))
        arrives = utc_of((today + timedelta(days=2)).replace(hour=9, minute=0))
        job.material_due_at = arrives
        session.add(job)
        session.flush()
        placed = placements(session, planned(session, Wish("again")))
        assert placed["J-1043", "cut"].start_at >= arrives.replace(second=0, microsecond=0)
        for number, kind in placed:
            if kind == "bend" and (number, "cut") in placed:
                assert placed[number, "bend"].start_at >= placed[number, "cut"].finish_at


def test_an_enquiry_can_be_tried_and_leaves_no_trace(shop: Any) -> None:
    with shop.writing() as session:
        tried = planned(session, Wish("job", job_number="J-1046"))
        assert ("J-1046", "bend") in placements(session, tried)
        assert get_job(session, "J-1046").state == "priced"
        again = asked_of(session, now=datetime.now(UTC), effort_s=0.0)
        assert all(work.job_number != "J-1046" for work in again.work.values())


def test_the_same_work_is_planned_the_same_way_every_time(shop: Any) -> None:
    with shop.writing() as session:
        asked = asked_of(session, now=datetime.now(UTC), effort_s=0.5)
    orders = [carry_out_schedule(ScheduleErrand(asked.request), GO_ON).plan.order for _ in "ab"]
    assert orders[0] == orders[1]


def test_a_stop_takes_the_best_so_far() -> None:
    tasks = tuple(
        Task(f"J{n}", 30 + n, f"F{n % 4}", ("B1", "B2"), NOW + timedelta(minutes=60 + 20 * n))
        for n in range(30)
    )
    request = ScheduleRequest(
        NOW, (Resource("B1"), Resource("B2")), tasks, Changeovers(other_min=15), effort_s=60.0
    )
    made = carry_out_schedule(ScheduleErrand(request), lambda _told: False)
    assert made.plan.method == "rule"  # not a second of the sixty was spent
    assert len(made.plan.bars) == 30
