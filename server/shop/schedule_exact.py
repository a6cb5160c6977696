"""The best order of a few tasks, exactly: dynamic programming over sets of tasks.

For every resource and every set of tasks the least cost is worked out over all orders (states that
are later and dearer than another of the same set and family are dropped), then the sets are shared
out between the resources.
"""

from server.shop.timetable import Lanes, Timetable

MOST_TASKS = 11
MOST_TASKS_WITH_TIME = 13
Label = tuple[int, float, int, int]
"""When the resource is free, cost, last task, and the label it came from."""


def can_be_exact(table: Timetable, *, effort_s: float) -> bool:
    """True when there are few enough tasks and no links between resources."""
    most = MOST_TASKS_WITH_TIME if effort_s >= 5.0 else MOST_TASKS
    return len(table.free) <= most and not table.staged


def exact_order(table: Timetable, *, known: float) -> Lanes | None:
    """An order that no other beats; None when nothing costs less than the known cost.

    References: M. Held, R. M. Karp, A dynamic programming approach to sequencing problems, Journal
        of SIAM 10 (1962) 196-210, with dominated states dropped.
    """
    everything = (1 << len(table.free)) - 1
    shared: dict[int, tuple[float, tuple[int, ...]]] = {0: (0.0, ())}
    orders = [_LaneOrders(table, lane, known) for lane in range(len(table.free_from_us))]
    for number, lane in enumerate(orders):
        last = number == len(orders) - 1
        grown: dict[int, tuple[float, tuple[int, ...]]] = {}
        for done, (cost, chosen) in shared.items():
            left = everything & ~done
            part = left
            while True:
                best = lane.best.get(part)
                if best is not None and (not last or part == left):
                    total = cost + best
                    before = grown.get(done | part)
                    if total < known and (before is None or total < before[0]):
                        grown[done | part] = (total, (*chosen, part))
                if part == 0 or last:
                    break
                part = (part - 1) & left
        shared = grown
    if everything not in shared:
        return None
    _, parts = shared[everything]
    return [lane.order(part) for lane, part in zip(orders, parts, strict=True)]


class _LaneOrders:
    """The least cost of every set of tasks on one resource."""

    def __init__(self, table: Timetable, lane: int, known: float) -> None:
        self.table = table
        self.labels: list[Label] = [(table.free_from_us[lane], 0.0, -1, -1)]
        self.sets: dict[int, list[int]] = {0: [0]}
        allowed = [n for n, i in enumerate(table.free) if lane in table.eligible[i]]
        for tasks in range(1 << len(table.free)):
            held = self.sets.get(tasks)
            if held is None:
                continue
            kept = self._undominated(held)
            self.sets[tasks] = kept
            for at in kept:
                free_us, cost, last, _ = self.labels[at]
                family = table.family[last] if last >= 0 else table.family_from[lane]
                for n in allowed:
                    if not tasks >> n & 1:
                        i = table.free[n]
                        end, _, spent = table.step(lane, i, free_us, family, cost)
                        if spent < known:
                            self.sets.setdefault(tasks | 1 << n, []).append(len(self.labels))
                            self.labels.append((end, spent, i, at))
        self.best = {
            tasks: min(self.labels[at][1] for at in held) for tasks, held in self.sets.items()
        }

    def _undominated(self, held: list[int]) -> list[int]:
        """Labels of one set without those later and dearer than another of the same family."""
        family = self.table.family
        kept: list[int] = []
        least: dict[int, float] = {}
        for at in sorted(held, key=lambda at: self.labels[at][:2]):
            _, cost, last, _ = self.labels[at]
            own = family[last] if last >= 0 else -1
            if cost < least.get(own, float("inf")):
                least[own] = cost
                kept.append(at)
        return kept

    def order(self, tasks: int) -> list[int]:
        """The best order of a set."""
        at = min(self.sets[tasks], key=lambda at: self.labels[at][1:3])
        order: list[int] = []
        while at > 0:
            order.append(self.labels[at][2])
            at = self.labels[at][3]
        return order[::-1]
