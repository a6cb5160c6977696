"""How fast bend orders are found and proven: `python -m tests.bench.bench_plan [parts] [sizes]`.

For each number of stroke groups so many random profiles and flat parts that can be bent. Times are
seconds of one processor, as the machine may be shared. `gap` is how far a plan may be above the best
one by what was proven. `soon` is the same with a twentieth of the work. Parts that cannot be bent,
or for which nothing was found in the work allowed, are counted apart.

Then the same parts again with every order tried, and with A* that knows only the strokes left and
drops nothing but equal states, both on clearance tests of their own: as ratios, where these end.
"""

import math
import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, field

from server.planning.order import Pose
from server.planning.plan_task import PlanTask
from server.planning.planner import (
    DEFAULT_WORK,
    Plan,
    plan_with_attempts,
    single_die_variants,
)
from server.planning.search import Progress, Search, State
from server.planning.variant import Variant, prepare_stations
from tests.bench.plan_cases import drawn_part, drawn_profile

SIZES = (4, 8, 12, 16, 20, 25)
PARTS = 30
MOST_DRAWN_RATIO = 4
SOON_WORK = DEFAULT_WORK // 20
PATIENCE_S = 20.0
KINDS: dict[str, Callable[[int, int], PlanTask]] = {
    "profile": drawn_profile,
    "flat part": drawn_part,
}


@dataclass
class Row:
    """What one kind and size came to."""

    seconds: list[float] = field(default_factory=list)
    gaps: list[float] = field(default_factory=list)
    soon_s: list[float] = field(default_factory=list)
    soon_gaps: list[float] = field(default_factory=list)
    proven: int = 0
    impossible: int = 0
    open: int = 0
    tests: int = 0
    spent_s: float = 0.0


def timed(task: PlanTask, work: int) -> tuple[Plan, int, float]:
    """A plan, its clearance tests and its seconds."""
    start = time.process_time()
    made, attempts = plan_with_attempts(task, work=work)
    spent = time.process_time() - start
    tests = {id(one.variant.tests): one.variant.tests.tests_made for one in attempts}
    return made, sum(tests.values()), spent


def measured(drawn: Callable[[int, int], PlanTask], strokes: int, parts: int) -> Row:
    """Plans of parts with so many stroke groups."""
    row = Row()
    for seed in range(parts * MOST_DRAWN_RATIO):
        if len(row.seconds) == parts:
            break
        task = drawn(seed, strokes)
        made, tests, spent = timed(task, DEFAULT_WORK)
        row.tests += tests
        row.spent_s += spent
        if made.sequence is None:
            row.impossible += made.proven
            row.open += not made.proven
            continue
        row.seconds.append(spent)
        row.gaps.append(made.gap_ratio)
        row.proven += made.proven
        soon, _, soon_s = timed(task, SOON_WORK)
        if soon.sequence is not None:
            row.soon_s.append(soon_s)
            row.soon_gaps.append(max(0.0, 1.0 - made.bound_s / soon.sequence.cost.seconds))
    return row


def main() -> None:
    """Print the tables."""
    parts = int(sys.argv[1]) if len(sys.argv) > 1 else PARTS
    sizes = tuple(map(int, sys.argv[2].split(","))) if len(sys.argv) > 2 else SIZES
    print(f"{parts} parts each; s of one processor; soon = {SOON_WORK} of {DEFAULT_WORK} work")
    print(
        f"{'kind':<10}{'n':>3}{'parts':>6}{'median':>8}{'worst':>7}{'proven':>8}{'gap med':>9}"
        f"{'worst':>7}{'soon':>7}{'worst':>7}{'found':>7}{'gap':>7}{'no way':>8}{'open':>6}{'tests/s':>9}"
    )
    for strokes in sizes:
        for kind, drawn in KINDS.items():
            told(kind, strokes, measured(drawn, strokes, parts))
    if sys.platform != "win32":
        import resource

        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        print(
            f"peak memory of this process {peak / (2**20 if sys.platform == 'darwin' else 2**10):.0f} MB"
        )
    compared(min(parts, 10))


def told(kind: str, strokes: int, row: Row) -> None:
    count = len(row.seconds)
    if not count:
        print(f"{kind:<10}{strokes:>3}     0  ({row.impossible} impossible, {row.open} open)")
        return
    soon = statistics.median(row.soon_s) if row.soon_s else math.nan
    soon_gap = statistics.median(row.soon_gaps) if row.soon_gaps else math.nan
    print(
        f"{kind:<10}{strokes:>3}{count:>6}{statistics.median(row.seconds):>8.2f}"
        f"{max(row.seconds):>7.2f}{row.proven / count:>8.0%}{statistics.median(row.gaps):>9.1%}"
        f"{max(row.gaps):>7.1%}{soon:>7.2f}{max(row.soon_s, default=math.nan):>7.2f}"
        f"{len(row.soon_s) / count:>7.0%}{soon_gap:>7.1%}{row.impossible:>8}{row.open:>6}"
        f"{row.tests / row.spent_s:>9.0f}",
        flush=True,
    )


class StrokesLeft:
    """The plainest bound: seconds of the strokes alone."""

    def __init__(self, stroke_s: float, count: int) -> None:
        self.stroke_s = stroke_s
        self.count = count

    def before_s(self, done: int, stroke: int, rear: int, pose: Pose) -> float:
        """Seconds of the strokes done."""
        del stroke, rear, pose
        return done.bit_count() * self.stroke_s

    def whole_s(self) -> float:
        """Seconds of all strokes."""
        return self.count * self.stroke_s


def plain_search(task: PlanTask) -> Search:
    """A search of a part prepared afresh, without what makes it quick."""
    variant: Variant = single_die_variants(task)[0][0]
    prepare_stations(variant)
    bound = StrokesLeft(task.handling.stroke_s, len(variant.making.strokes))
    end = time.process_time() + PATIENCE_S

    def going(_: Progress) -> bool:
        return time.process_time() < end

    return Search(
        variant.tests, variant.costs, variant.punches, bound, variant.rears,
        keep_going=going, dominance=False,
    )  # fmt: skip


def every_order(search: Search) -> float | None:
    """The best of all orders by trying each, None when it takes too long."""
    full = (1 << len(search.tests.making.strokes)) - 1
    best = math.inf

    def go(done: int, after: State | None) -> bool:
        nonlocal best
        if not search.keep_going(Progress(0, 0, 0.0, None)):
            return False
        for state in search.states_before(done, after):
            if not search.allowed(state):
                continue
            for there in search.at_stations(state):
                if not there.done:
                    best = min(best, there.seconds)
                elif not go(there.done, there):
                    return False
        return True

    return best if go(full, None) else None


def compared(parts: int) -> None:
    print(f"\ntimes the planner's own seconds, median of {parts} parts; gives up after 20 s")
    print(f"{'kind':<10}{'n':>3}{'every order':>14}{'ended':>7}{'plain A*':>12}{'ended':>7}")
    for strokes in (3, 4, 5, 6, 8):
        for kind, drawn in KINDS.items():
            ratios: dict[str, list[float]] = {"every": [], "plain": []}
            counted = seed = 0
            while counted < parts and seed < parts * MOST_DRAWN_RATIO:
                task = drawn(seed, strokes)
                seed += 1
                made, _, own_s = timed(task, DEFAULT_WORK)
                if made.sequence is None:
                    continue
                counted += 1
                for way, find in (("every", every_order), ("plain", plain_cost)):
                    if way == "every" and strokes > 6:
                        continue
                    start = time.process_time()
                    seconds = find(plain_search(task))
                    if seconds is not None:
                        assert abs(seconds - made.sequence.cost.seconds) < 1e-6
                        ratios[way].append((time.process_time() - start) / own_s)
            cells = "".join(
                f"{statistics.median(found) if found else math.nan:>13.2f}x{len(found):>6}"
                for found in ratios.values()
            )
            print(f"{kind:<10}{strokes:>3}{cells} of {counted}", flush=True)


def plain_cost(search: Search) -> float | None:
    """Seconds of the best order, None when it takes too long."""
    return search.run().seconds


if __name__ == "__main__":
    main()
