"""Making a plan in steps: the best so far is told after each, and may be taken at any of them.

A first plan by rules stands at once; then the search goes on from it with growing effort. Beside
the plan come why each late job is late, and what it changes against the plan on the wall.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from server.planning.errand import Tell, Told
from server.shop.schedule import Schedule, schedule, schedule_in_order
from server.shop.schedule_early import filled_earlier
from server.shop.schedule_reason import LateReason, WhatIf, compared, late_reasons
from server.shop.schedule_task import Order, ScheduleRequest

FIRST_EFFORTS_S = (0.25, 1.0)
ROUND_S = 2.0
"""Short enough that a stop is heard before anybody loses patience."""

S_PER_MIN = 60.0


@dataclass(frozen=True, slots=True)
class ScheduleErrand:
    """What to plan; `wall` is the same work without the new wishes, in the order on the wall."""

    request: ScheduleRequest
    wall: ScheduleRequest | None = None
    wall_order: Order | None = None


@dataclass(frozen=True, slots=True)
class Scheduled:
    """A plan, why its late jobs are late, and how it stands beside the one on the wall."""

    plan: Schedule
    late: tuple[LateReason, ...]
    what_if: WhatIf | None


def carry_out_schedule(errand: ScheduleErrand, tell: Tell) -> Scheduled:
    """The best plan found until the effort is spent or somebody asks to stop.

    Raises: ShopError as `schedule` does.
    """
    wall = None
    if errand.wall is not None and errand.wall_order is not None:
        wall = schedule_in_order(errand.wall, errand.wall_order)
    best = schedule(replace(errand.request, effort_s=0.0))
    for effort_s in _efforts(errand.request.effort_s):
        if best.proven_best or not tell(_told(best)):
            break
        best = schedule(replace(errand.request, effort_s=effort_s, previous=best.order))
    best = filled_earlier(best)
    return Scheduled(best, late_reasons(best), compared(wall, best) if wall else None)


def _efforts(most_s: float) -> Iterator[float]:
    left_s = most_s
    for effort_s in (*FIRST_EFFORTS_S, *(ROUND_S for _ in range(int(most_s / ROUND_S) + 1))):
        if left_s <= 0.0:
            return
        yield min(effort_s, left_s)
        left_s -= effort_s


def _told(plan: Schedule) -> Told:
    return Told(
        "looking for a better order",
        best_s=plan.objective_min * S_PER_MIN,
        bound_s=plan.bound_min * S_PER_MIN,
    )
