"""Orders by rule of thumb: earliest due date, and the shop's better one that minds set-ups (ATCS).

They start the search, and the earliest-due-date order is the mark no schedule may fall below.
"""

import math
from collections.abc import Callable, Iterator
from itertools import product

from server.shop.timetable import Lanes, Timetable

Choice = Callable[[int, int, int, int], tuple[float, ...]]
"""Smaller goes first: (task, end of the resource's work, its family, task's start there)."""

LOOK_AHEAD = (0.5, 1.5, 4.0)
SETUP_SCALE = (0.2, 0.6, 2.0)
MANY_TASKS = 250


def earliest_due_date(table: Timetable) -> Lanes:
    """Every task in order of its due date, on the resource that finishes it first.

    References: J. R. Jackson, Scheduling a production line to minimize maximum tardiness, UCLA
        Management Science Research Project, report 43, 1955 (the due-date rule).
    """
    lanes: Lanes = [[] for _ in table.free_from_us]
    states = [
        (table.free_from_us[lane], table.family_from[lane], 0.0) for lane in range(len(lanes))
    ]
    for i in sorted(table.free, key=lambda i: (_hot(table, i), table.due_us[i], i)):
        if table.staged:
            _append_linked(table, lanes, i)
            continue
        ends = {lane: table.step(lane, i, *states[lane]) for lane in table.eligible[i]}
        lane = min(ends, key=lambda lane: (ends[lane][0], lane))
        states[lane] = ends[lane]
        lanes[lane].append(i)
    return lanes


def starting_orders(table: Timetable) -> Iterator[Lanes]:
    """Orders worth improving, by ATCS with several scalings; fewer where there are many tasks."""
    scalings = tuple(product(LOOK_AHEAD, SETUP_SCALE))
    for look_ahead, setup_scale in scalings if len(table.free) <= MANY_TASKS else scalings[4:5]:
        yield apparent_tardiness_cost(table, look_ahead=look_ahead, setup_scale=setup_scale)


def apparent_tardiness_cost(table: Timetable, *, look_ahead: float, setup_scale: float) -> Lanes:
    """Order by apparent tardiness cost with set-ups: weight over time, damped by slack and set-up.

    Formula: (w/p) exp(-max(d - p - t, 0) / (k1 p_mean)) exp(-s / (k2 s_mean)), largest first

    Args:
        table: the request in whole numbers.
        look_ahead: k1, how far ahead slack still counts [ratio].
        setup_scale: k2, how little set-up counts [ratio].

    Returns: task numbers of every resource.

    References: Y. H. Lee, K. Bhaskaran, M. Pinedo, A heuristic to minimize the total weighted
        tardiness with sequence-dependent setups, IIE Transactions 29 (1997) 45-52.
    """
    durations = [table.duration_us[i] for i in table.free] or [1]
    mean_us = sum(durations) / len(durations)
    setups = [s for row in table.setup_us for s in row if s]
    setup_mean_us = sum(setups) / len(setups) if setups else 1.0

    def choice(i: int, free_us: int, family: int, start_us: int) -> tuple[float, ...]:
        slack_us = max(0, table.due_us[i] - table.duration_us[i] - free_us)
        setup_us = table.setup_us[family][table.family[i]]
        urgency = (
            math.log(max(table.weight[i], 1e-9) / max(table.duration_us[i], 1))
            - slack_us / (look_ahead * mean_us)
            - setup_us / (setup_scale * setup_mean_us)
            - max(0, start_us - free_us) / mean_us
        )
        return _hot(table, i), -urgency, i

    return _dispatched(table, choice)


def _dispatched(table: Timetable, choice: Choice) -> Lanes:
    """Whenever a resource is free next, it takes the task the rule likes best."""
    lanes: Lanes = [[] for _ in table.free_from_us]
    at, family = list(table.free_from_us), list(table.family_from)
    end_us = {i: times.end_us for i, times in table.running.items()}
    open_tasks = set(table.free)
    while open_tasks:
        waiting = {i for i in open_tasks if not open_tasks.isdisjoint(table.after[i])}
        for lane in sorted(range(len(at)), key=lambda lane: (at[lane], lane)):
            able = [i for i in open_tasks if lane in table.eligible[i] and i not in waiting]
            if able:
                break
        else:
            raise AssertionError("a task waits for one that no resource can do")

        def start_us(i: int, lane: int = lane) -> int:
            linked = max((end_us[j] for j in table.after[i]), default=0)
            setup = table.setup_us[family[lane]][table.family[i]]
            return max(at[lane] + setup, table.ready_us[i], linked)

        i = min(able, key=lambda i: choice(i, at[lane], family[lane], start_us(i)))
        end_us[i] = at[lane] = start_us(i) + table.duration_us[i]
        family[lane] = table.family[i]
        lanes[lane].append(i)
        open_tasks.remove(i)
    return lanes


def _hot(table: Timetable, i: int) -> int:
    """Pinned tasks before all others, in order of the place they are pinned to."""
    return table.pinned_end_us.get(i, 1 << 62)


def _append_linked(table: Timetable, lanes: Lanes, i: int) -> None:
    """Append a task after the ones it waits for, where it ends first."""
    placed = {j for order in lanes for j in order} | table.running.keys()
    for before in table.after[i]:
        if before not in placed:
            _append_linked(table, lanes, before)
    if any(i in order for order in lanes):
        return

    def end_us(lane: int) -> int:
        lanes[lane].append(i)
        times = table.times(lanes)
        lanes[lane].pop()
        return times[i].end_us if times else 1 << 62

    lanes[min(table.eligible[i], key=lambda lane: (end_us(lane), lane))].append(i)
