"""Of plans that cost the same, the one in which work is done earlier: gaps are filled."""

from dataclasses import replace

from server.shop.schedule import Schedule, as_schedule
from server.shop.timetable import Lanes, Timetable

MOST_TASKS = 80
"""Above it every place of every task would be too much to try."""


def filled_earlier(plan: Schedule) -> Schedule:
    """The plan with tasks moved to earlier places where that costs nothing and ends work sooner.

    Args:
        plan: a plan whose order is as good as was found.

    Returns: a plan of the same cost, or the same plan.

    References: derived here.
    """
    table = Timetable(plan.request)
    if len(table.free) > MOST_TASKS:
        return plan
    lanes = table.lanes(plan.order)
    cost, ends = table.cost(lanes), _ends(table, lanes)
    moved = False
    for i in sorted(table.free, key=lambda i: (table.due_us[i], i)):
        for tried in _earlier(lanes, i):
            if (tried_cost := table.cost(tried)) > cost:
                continue
            if (tried_ends := _ends(table, tried)) < ends:
                lanes, cost, ends, moved = tried, tried_cost, tried_ends, True
                break
    if not moved:
        return plan
    made = as_schedule(table, lanes, bound_min=plan.bound_min, method=plan.method)
    return replace(made, due_date_order_min=plan.due_date_order_min)


def _earlier(lanes: Lanes, i: int) -> list[Lanes]:
    """The orders with one task at every earlier place of its resource, the first place first."""
    lane = next(n for n, order in enumerate(lanes) if i in order)
    place = lanes[lane].index(i)
    found = []
    for to in range(place):
        order = [j for j in lanes[lane] if j != i]
        order.insert(to, i)
        found.append([*lanes[:lane], order, *lanes[lane + 1 :]])
    return found


def _ends(table: Timetable, lanes: Lanes) -> int:
    """When everything ends, added up; without end for an order that blocks itself."""
    times = table.times(lanes)
    return sum(one.end_us for one in times.values()) if times is not None else 1 << 80
