"""Weighted tardiness with changeovers: instances by the published procedure, against an exact answer.

Y. H. Lee, K. Bhaskaran, M. Pinedo, A heuristic to minimize the total weighted tardiness with
sequence-dependent setups, IIE Transactions 29 (1997) 45-52, as used for the benchmark of V. A.
Cicirello, S. F. Smith (2005): processing times uniform on 50..150, weights on 1..10, changeovers on
0..2 eta p_mean; a share R of the due dates uniform on [d_mean - R d_mean, d_mean], the others on
[d_mean, d_mean + (Cmax - d_mean) R], where d_mean = (1 - tau) Cmax and
Cmax = n (p_mean + beta s_mean), beta = 0.4 + 10 / n^2 - eta / 7.

Every job is its own family, so that changeovers differ between all jobs, and cost only time. The
exact answer is worked out here, by dynamic programming over sets of jobs with all undominated
(time, cost) pairs, written apart from the program.
"""

import random
from datetime import datetime, timedelta
from itertools import product

import pytest

from server.shop.schedule import schedule
from server.shop.schedule_rule import earliest_due_date, starting_orders
from server.shop.schedule_search import improved
from server.shop.schedule_task import Changeovers, Resource, ScheduleRequest, Task
from server.shop.timetable import US_PER_MIN, Timetable

NOW = datetime.fromisoformat("2026-03-02T07:00")
CASES = list(product((0.3, 0.6, 0.9), (0.25, 0.75), (0.25, 0.75)))


def drawn(n: int, tau: float, spread: float, eta: float, seed: int) -> ScheduleRequest:
    rng = random.Random(f"{n} {tau} {spread} {eta} {seed}")
    times = [rng.randint(50, 150) for _ in range(n)]
    p_mean = 100.0
    s_mean = eta * p_mean
    c_max = n * (p_mean + (0.4 + 10 / n**2 - eta / 7) * s_mean)
    d_mean = (1 - tau) * c_max
    tasks = []
    for i, minutes in enumerate(times):
        early = rng.random() < tau
        low, high = (
            (d_mean * (1 - spread), d_mean)
            if early
            else (d_mean, d_mean + (c_max - d_mean) * spread)
        )
        due = NOW + timedelta(minutes=round(rng.uniform(low, high)))
        tasks.append(Task(f"{i}", minutes, f"{i}", ("M",), due, weight=rng.randint(1, 10)))
    pairs = {
        (f"{a}", f"{b}"): float(rng.randint(0, round(2 * s_mean)))
        for a in range(n)
        for b in range(n)
        if a != b
    }
    return ScheduleRequest(
        NOW, (Resource("M"),), tuple(tasks), Changeovers(pairs=pairs), changeover_weight=0.0,
        effort_s=1.0,
    )  # fmt: skip


def exact_minutes(request: ScheduleRequest) -> float:
    tasks, n = request.tasks, len(request.tasks)
    due = [((task.due or NOW) - NOW) / timedelta(minutes=1) for task in tasks]
    layers: dict[tuple[int, int], list[tuple[float, float]]] = {(0, -1): [(0.0, 0.0)]}
    for _ in range(n):
        grown: dict[tuple[int, int], list[tuple[float, float]]] = {}
        for (done, last), labels in layers.items():
            for j in range(n):
                if done >> j & 1:
                    continue
                change = 0.0 if last < 0 else request.changeovers.pairs[f"{last}", f"{j}"]
                for clock, cost in labels:
                    end = clock + change + tasks[j].minutes_min
                    late = max(0.0, end - due[j])
                    grown.setdefault((done | 1 << j, j), []).append(
                        (end, cost + tasks[j].weight * late)
                    )
        layers = {}
        for key, labels in grown.items():
            kept: list[tuple[float, float]] = []
            for label in sorted(labels):
                if not kept or label[1] < kept[-1][1]:
                    kept.append(label)
            layers[key] = kept
    return min(cost for labels in layers.values() for _, cost in labels)


@pytest.mark.parametrize(("tau", "spread", "eta"), CASES)
def test_eight_jobs_get_the_exact_optimum(tau: float, spread: float, eta: float) -> None:
    for seed in range(2):
        request = drawn(8, tau, spread, eta, seed)
        optimum = exact_minutes(request)
        plan = schedule(request)
        assert plan.objective_min == pytest.approx(optimum, abs=1e-6)
        assert plan.bound_min == pytest.approx(optimum, abs=1e-6)


@pytest.mark.parametrize(("tau", "eta"), [(0.3, 0.75), (0.6, 0.25), (0.9, 0.75)])
def test_the_search_alone_reaches_the_optimum_of_eleven_jobs(tau: float, eta: float) -> None:
    request = drawn(11, tau, 0.25, eta, 1)
    optimum = exact_minutes(request)
    table = Timetable(request)
    start = min(starting_orders(table), key=table.cost)
    found = table.cost(improved(table, start, moves_count=30_000)) / US_PER_MIN
    by_rule = table.cost(start) / US_PER_MIN
    by_due_date = table.cost(earliest_due_date(table)) / US_PER_MIN
    assert found == pytest.approx(optimum, abs=1e-6)
    assert optimum <= by_rule <= by_due_date
