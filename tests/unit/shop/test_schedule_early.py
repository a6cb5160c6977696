"""Of plans that cost the same the one that ends work sooner, and never a dearer one."""

import random
from datetime import datetime, timedelta

import pytest

from server.shop.schedule import schedule, schedule_in_order
from server.shop.schedule_early import filled_earlier
from server.shop.schedule_task import Changeovers, Pin, Resource, ScheduleRequest, Task

NOW = datetime.fromisoformat("2026-03-02T07:00")
MINUTE = timedelta(minutes=1)


def test_the_gap_before_a_pinned_task_is_filled() -> None:
    """An hour waits before the pinned task; the other one takes forty minutes and no changeover."""
    pinned = Task("P", 60, "A", ("B",), pin=Pin(start=NOW + 60 * MINUTE))
    other = Task("O", 40, "A", ("B",), due=NOW + 600 * MINUTE)
    request = ScheduleRequest(NOW, (Resource("B"),), (pinned, other))
    late = schedule_in_order(request, {"B": ("P", "O")})
    early = filled_earlier(late)
    assert early.order == {"B": ("O", "P")}
    assert early.bar("P").start == late.bar("P").start
    assert early.bar("O").start == NOW


@pytest.mark.parametrize("seed", range(12))
def test_no_plan_becomes_dearer_and_work_ends_no_later(seed: int) -> None:
    rng = random.Random(seed)
    tasks = tuple(
        Task(f"J{n}", rng.randrange(10, 90), rng.choice("ABC"), ("B1", "B2"),
             NOW + rng.randrange(100, 900) * MINUTE,
             NOW + rng.randrange(0, 200) * MINUTE)
        for n in range(12)
    )  # fmt: skip
    request = ScheduleRequest(
        NOW, (Resource("B1"), Resource("B2")), tasks, Changeovers(other_min=15), effort_s=0.05
    )
    before = schedule(request)
    after = filled_earlier(before)
    assert after.objective_min <= before.objective_min + 1e-6
    assert sum((b.finish - NOW for b in after.bars), timedelta()) <= sum(
        (b.finish - NOW for b in before.bars), timedelta()
    )
