"""How far from the best possible, how fast: `python -m tests.bench.bench_schedule [seconds]`.

Sixty jobs on two brakes with the contract's default objective. The aim is within 2 % of the bound in
10 s. Loads: `roomy` has a due date for every job behind twice the work before it, `ordinary` is a
shop that can just be on time, `tight` and `overloaded` cannot. Then the published single-machine
instances, and how the time grows. Times are this machine's, and it may be shared.
"""

import random
import sys
import time
from datetime import datetime, timedelta

from server.shop.schedule import schedule
from server.shop.schedule_task import Changeovers, Resource, ScheduleRequest, Task
from tests.published.test_or_library_wt40 import INSTANCES, request

NOW = datetime.fromisoformat("2026-03-02T07:00")
LOADS = {
    "roomy": (0.0, 1.2),
    "ordinary": (0.1, 0.8),
    "tight": (0.3, 0.6),
    "overloaded": (0.6, 0.6),
}
"""Tardiness factor and range of due dates, as in Potts and Van Wassenhove (1985)."""


def drawn(
    seed: int, tardiness: float, spread: float, *, jobs: int = 60, brakes: int = 2, effort_s: float
) -> ScheduleRequest:
    """Jobs of 10 to 120 min in five families, 20 min between families, due by the procedure."""
    rng = random.Random(seed)
    names = tuple(f"B{n}" for n in range(brakes))
    minutes = [rng.randrange(10, 121, 5) for _ in range(jobs)]
    span = sum(minutes) / brakes * 1.08
    tasks = tuple(
        Task(
            f"J{n}", one, f"F{rng.randrange(5)}", names,
            NOW + timedelta(minutes=max(0, round(rng.uniform(
                span * (1 - tardiness - spread / 2), span * (1 - tardiness + spread / 2)) / 5) * 5)),
            weight=rng.choice([1, 1, 2, 3]),
        )
        for n, one in enumerate(minutes)
    )  # fmt: skip
    return ScheduleRequest(
        NOW, tuple(map(Resource, names)), tasks, Changeovers(other_min=20), effort_s=effort_s
    )


def main() -> None:
    """Print the tables."""
    effort_s = float(sys.argv[1]) if len(sys.argv) > 1 else 10.0
    print(f"60 jobs, 2 brakes, 5 families, effort {effort_s:g} s")
    print(f"{'load':<12}{'seed':>5}{'EDD':>9}{'found':>9}{'bound':>9}{'gap':>8}{'s':>7}  by")
    within = dict.fromkeys(LOADS, 0)
    for load, (tardiness, spread) in LOADS.items():
        for seed in range(5):
            start = time.perf_counter()
            plan = schedule(drawn(seed, tardiness, spread, effort_s=effort_s))
            spent = time.perf_counter() - start
            within[load] += plan.gap_ratio <= 0.02
            print(
                f"{load:<12}{seed:>5}{plan.due_date_order_min:>9.0f}{plan.objective_min:>9.0f}"
                f"{plan.bound_min:>9.0f}{plan.gap_ratio:>8.1%}{spent:>7.1f}  {plan.method}"
            )
    print("within 2 % of the bound: " + ", ".join(f"{k} {n} of 5" for k, n in within.items()))
    published(effort_s)
    growth()


def published(effort_s: float) -> None:
    print("\none machine, 40 jobs, published optimum (OR-Library wt40)")
    for number, optimum, rows in INSTANCES:
        start = time.perf_counter()
        plan = schedule(request(rows, effort_s=effort_s))
        spent = time.perf_counter() - start
        print(
            f"{number:>4}: optimum {optimum}, found {plan.objective_min:.0f}, "
            f"bound {plan.bound_min:.0f}, {spent:.1f} s"
        )


def growth() -> None:
    print("\nno effort (rules only) and effort 2 s, ordinary load")
    for jobs in (10, 30, 60, 120, 300, 1000):
        told = []
        for effort_s in (0.0, 2.0):
            start = time.perf_counter()
            plan = schedule(drawn(1, 0.1, 0.8, jobs=jobs, effort_s=effort_s))
            told.append(f"{plan.objective_min:>8.0f} in {time.perf_counter() - start:5.2f} s")
        print(f"{jobs:>5} jobs: {'   '.join(told)}")


if __name__ == "__main__":
    main()
