"""The schedule as a constraint model for CP-SAT: improves the order found, or proves it the best.

Why CP-SAT (OR-Tools, Apache 2.0, wheels for every desktop): optional tasks on several resources,
time windows and changeovers are its home ground, it takes a starting order, can be stopped at any
time with an answer and a bound, and with one worker, a fixed seed and counted work it is
deterministic. A mixed-integer model of the same needs big-M links and proves less.

Two forms. Runs: every resource works off a few runs of one family; strong where few changeovers are
worth making, which is the shop's ordinary day. Arcs: every task is followed by another; for few
tasks, or changeovers that differ between all of them. Hours a single resource stands still are left
out here, so that the bound still holds; the order is timed afresh by `Timetable`.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from server.shop.schedule_bound import earliest_us
from server.shop.timetable import NEVER_DUE_US, PIN_PENALTY, US_PER_MIN, Lanes, Timetable

MOST_RUNS = 12
MOST_RUN_CELLS = 6000
MOST_ARCS = 5000
COARSEST_US = 1_000_000
WEIGHT_SCALE = 1000
SEED = 7
COUNTED_SHARE = 0.5
"""The solver's own unit of work per second of effort, as measured on an ordinary PC."""
CLOCK_GUARD = 1.0
"""Wall-clock seconds allowed for each second of effort, where a machine is very slow."""


@dataclass(frozen=True, slots=True)
class Solved:
    """What the solver gave: a better order if it found one, a bound, and whether the best is proven.

    Proven without an order means that nothing beats the known one.
    """

    lanes: Lanes | None
    bound_min: float
    proven: bool


def least_changeovers(table: Timetable) -> int:
    """Changeovers that no order does without: families nowhere set up, less bare resources."""
    wanted = {table.family[i] for i in table.free} - set(table.family_from)
    return max(0, len(wanted) - table.family_from.count(table.none))


def solve(
    table: Timetable, lanes: Lanes, *, known_min: float, bound_min: float, effort_s: float
) -> Solved:
    """The best order within an effort, starting from a known one.

    Args:
        table: the request in whole numbers.
        lanes: a known order.
        known_min: its objective, pins' penalties included [min].
        bound_min: a bound already known [min].
        effort_s: counted work, about seconds on an ordinary PC [s].

    Returns: a `Solved`. Ask `can_help` first.

    References: L. Perron, F. Didier, CP-SAT, Google OR-Tools; circuit and no-overlap constraints.
    """
    runs = _most_runs(table, known_min)
    least_min = _paid_min(table) * least_changeovers(table)
    model = _Model(table, known_min, late_room_min=known_min - least_min if runs else known_min)
    if runs:
        model.add_runs(runs, lanes)
    else:
        model.add_arcs()
    found = model.solved(lanes, effort_s=effort_s)
    return Solved(found.lanes, max(bound_min, found.bound_min), found.proven)


def can_help(table: Timetable, *, known_min: float) -> bool:
    """True when a form of the model suits the request."""
    tasks = len(table.free)
    few_arcs = tasks * tasks * len(table.free_from_us) <= MOST_ARCS
    return few_arcs or _most_runs(table, known_min) is not None


def _most_runs(table: Timetable, known_min: float) -> int | None:
    """Runs a resource has at most in an order better than the known one; None for too many."""
    tasks = len(table.free)
    if any(table.setup_us[f][f] for f in range(table.none)):
        return None
    runs, paid_min = tasks, _paid_min(table)
    if paid_min > 0:
        runs = min(runs, math.ceil(known_min / paid_min - 1e-9))
    runs = max(runs, 1)
    fits = tasks * len(table.free_from_us) * runs <= MOST_RUN_CELLS
    return runs if fits and runs <= MOST_RUNS else None


def _paid_min(table: Timetable) -> float:
    """What one changeover costs at least."""
    families = range(table.none)
    pairs = (table.setup_us[a][b] for a in families for b in families if a != b)
    return table.setup_weight * min(pairs, default=0) / US_PER_MIN


class _Model:
    """A CP-SAT model being built; times in cells of a grid that is exact wherever it can be."""

    def __init__(self, table: Timetable, known_min: float, *, late_room_min: float) -> None:
        from ortools.sat.python import cp_model

        self.cp = cp_model
        self.table = table
        self.model: Any = cp_model.CpModel()
        self.cell_us = self._cell_us()
        known = known_min * US_PER_MIN / self.cell_us
        self.late_room = math.ceil(late_room_min * US_PER_MIN / self.cell_us - 1e-6)
        self.better = math.ceil(known * WEIGHT_SCALE - 1e-3) - 1
        self.duration = {i: table.duration_us[i] // self.cell_us for i in table.free}
        self.setup = [[s // self.cell_us for s in row] for row in table.setup_us]
        self.setup_weight = math.floor(table.setup_weight * WEIGHT_SCALE)
        longest = max((max(row) for row in self.setup), default=0)
        earliest = {i: earliest_us(table, i) // self.cell_us for i in table.free}
        self.horizon = (
            sum(self.duration.values())
            + longest * len(table.free)
            + max(earliest.values(), default=0)
            + max(table.free_from_us) // self.cell_us
            + 1
        )
        self.start: dict[int, Any] = {}
        self.on: dict[tuple[int, int], Any] = {}
        self.cost: list[Any] = []
        self.hinted: list[tuple[Any, int]] = []
        for i in table.free:
            self._add_task(i, earliest[i])
        for i in table.free:
            for before in table.after[i]:
                if before in self.start:
                    self.model.add(self.start[i] >= self.start[before] + self.duration[before])
        for lane in range(len(table.free_from_us)):
            self._add_lane(lane)

    def _cell_us(self) -> int:
        table = self.table
        exact = math.gcd(*table.free_from_us)
        for row in table.setup_us:
            exact = math.gcd(exact, *row)
        for i in table.free:
            due = table.due_us[i] if table.due_us[i] < NEVER_DUE_US else 0
            exact = math.gcd(exact, table.duration_us[i], due, earliest_us(table, i))
            exact = math.gcd(exact, table.pinned_end_us.get(i, 0))
        return max(exact, COARSEST_US) if exact < COARSEST_US else exact

    def _add_task(self, i: int, earliest: int) -> None:
        table, duration = self.table, self.duration[i]
        due = min(-(-table.due_us[i] // self.cell_us), self.horizon)
        latest = self.horizon
        if table.weight[i] > 0:
            latest = min(latest, max(due, 0) + math.ceil(self.late_room / table.weight[i]) + 1)
        latest = max(latest, earliest + duration)
        self.start[i] = self.model.new_int_var(earliest, latest - duration, f"s{i}")
        weight = math.floor(table.weight[i] * WEIGHT_SCALE)
        if weight and latest > due:
            late = self.model.new_int_var(0, latest - due, f"l{i}")
            self.model.add(late >= self.start[i] + duration - due)
            self.cost.append(weight * late)
        if i in table.pinned_end_us:
            pinned = -(-table.pinned_end_us[i] // self.cell_us)
            missed = self.model.new_int_var(0, self.horizon, f"m{i}")
            self.model.add(missed >= self.start[i] + duration - pinned)
            self.cost.append(int(PIN_PENALTY) * WEIGHT_SCALE * missed)
        for lane in table.eligible[i]:
            self.on[i, lane] = self.model.new_bool_var(f"on{i},{lane}")
        self.model.add_exactly_one(self.on[i, lane] for lane in table.eligible[i])

    def _add_lane(self, lane: int) -> None:
        free = self.table.free_from_us[lane] // self.cell_us
        intervals = []
        for i in self._tasks(lane):
            self.model.add(self.start[i] >= free).only_enforce_if(self.on[i, lane])
            intervals.append(
                self.model.new_optional_fixed_size_interval_var(
                    self.start[i], self.duration[i], self.on[i, lane], f"i{i},{lane}"
                )
            )
        self.model.add_no_overlap(intervals)

    def _tasks(self, lane: int) -> list[int]:
        return [i for i in self.table.free if lane in self.table.eligible[i]]

    def add_runs(self, runs: int, lanes: Lanes) -> None:
        """Every resource works off so many runs of one family each, or fewer."""
        used = [
            self._add_lane_runs(lane, runs, lanes[lane])
            for lane in range(len(self.table.free_from_us))
        ]
        for f in {self.table.family[i] for i in self.table.free}:
            self.model.add_bool_or(run[f] for lane in used for run in lane if f in run)

    def _add_lane_runs(self, lane: int, runs: int, known: Sequence[int]) -> list[dict[int, Any]]:
        model, table, tasks = self.model, self.table, self._tasks(lane)
        families = sorted({table.family[i] for i in tasks})
        known_run = self._known_runs(known)
        in_run: dict[int, list[Any]] = {i: [] for i in tasks}
        before: dict[int, Any] = {}
        all_used: list[dict[int, Any]] = []
        end_before: Any = table.free_from_us[lane] // self.cell_us
        for run in range(runs):
            used = {f: model.new_bool_var(f"y{lane},{run},{f}") for f in families}
            model.add_at_most_one(used.values())
            begin, end = (model.new_int_var(0, self.horizon, "") for _ in range(2))
            spent = self._run_setup(lane, before, used, first=run == 0)
            model.add(begin >= end_before + spent)
            self.cost.append(self.setup_weight * spent)
            members: dict[int, Any] = {}
            for i in tasks:
                member = members[i] = model.new_bool_var(f"x{i},{lane},{run}")
                model.add_implication(member, used[table.family[i]])
                model.add(self.start[i] >= begin).only_enforce_if(member)
                model.add(self.start[i] + self.duration[i] <= end).only_enforce_if(member)
                in_run[i].append(member)
                self.hinted.append((member, int(known_run.get(i) == run)))
            model.add(end >= begin + sum(self.duration[i] * members[i] for i in tasks))
            for f, chosen in used.items():
                own = [members[i] for i in tasks if table.family[i] == f]
                model.add_bool_or([*own, ~chosen])
                if before:
                    model.add_bool_or([~chosen, ~before[f]])
            if before:
                model.add(sum(used.values()) <= sum(before.values()))
            before, end_before = used, end
            all_used.append(used)
        for i in tasks:
            model.add(sum(in_run[i]) == self.on[i, lane])
        return all_used

    def _run_setup(
        self, lane: int, before: dict[int, Any], used: dict[int, Any], *, first: bool
    ) -> Any:
        """Changeover time of one run: from what was on the resource, or from the run before."""
        if first:
            mounted = self.setup[self.table.family_from[lane]]
            return sum(mounted[f] * chosen for f, chosen in used.items())
        times = {self.setup[a][b] for a in used for b in used if a != b}
        if len(times) <= 1:
            return max(times, default=0) * sum(used.values())
        links: list[Any] = []
        for b, chosen in used.items():
            into = []
            for a, left in before.items():
                if a != b:
                    link = self.model.new_bool_var("")
                    self.model.add_implication(link, left)
                    into.append(link)
                    links.append(self.setup[a][b] * link)
            self.model.add(sum(into) == chosen)
        return sum(links)

    def _known_runs(self, known: Sequence[int]) -> dict[int, int]:
        run, runs, family = -1, {}, None
        for i in known:
            if self.table.family[i] != family:
                run, family = run + 1, self.table.family[i]
            runs[i] = run
        return runs

    def add_arcs(self) -> None:
        """Every task on a resource is followed by one other, with the changeover between them."""
        for lane in range(len(self.table.free_from_us)):
            tasks = self._tasks(lane)
            node = {i: n for n, i in enumerate(tasks, 1)}
            free = self.table.free_from_us[lane] // self.cell_us
            mounted = self.setup[self.table.family_from[lane]]
            arcs: list[tuple[int, int, Any]] = [(0, 0, self.model.new_bool_var(""))]
            for i in tasks:
                arcs.append((node[i], node[i], ~self.on[i, lane]))
                arcs.append((node[i], 0, self.model.new_bool_var("")))
                arcs.append((0, node[i], self._link(free, i, mounted[self.table.family[i]])))
                for j in tasks:
                    if i != j:
                        setup = self.setup[self.table.family[i]][self.table.family[j]]
                        end = self.start[i] + self.duration[i]
                        arcs.append((node[i], node[j], self._link(end, j, setup)))
            self.model.add_circuit(arcs)

    def _link(self, end: Any, j: int, setup: int) -> Any:
        link = self.model.new_bool_var("")
        self.model.add(self.start[j] >= end + setup).only_enforce_if(link)
        if setup:
            self.cost.append(self.setup_weight * setup * link)
        return link

    def solved(self, lanes: Lanes, *, effort_s: float) -> Solved:
        """Run the solver from a known order, and read its order and bound."""
        cost: Any = sum(self.cost)
        scale = self.cell_us / US_PER_MIN / WEIGHT_SCALE
        if self.cost:
            self.model.add(cost <= self.better)
            self.model.minimize(cost)
        times = self.table.times(lanes) or {}
        for i, start in self.start.items():
            if i in times:
                self.model.add_hint(start, times[i].start_us // self.cell_us)
        for (i, lane), on in self.on.items():
            self.model.add_hint(on, int(i in times and times[i].resource == lane))
        for member, value in self.hinted:
            self.model.add_hint(member, value)
        self._break_symmetry(lanes)
        solver = self.cp.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = SEED
        solver.parameters.max_deterministic_time = COUNTED_SHARE * effort_s
        solver.parameters.max_time_in_seconds = CLOCK_GUARD * effort_s
        status = solver.solve(self.model)
        found = status in (self.cp.OPTIMAL, self.cp.FEASIBLE)
        proven = status in (self.cp.OPTIMAL, self.cp.INFEASIBLE)
        bound = 0.0 if status == self.cp.INFEASIBLE else solver.best_objective_bound * scale
        return Solved(self._lanes(solver) if found else None, bound, proven)

    def _break_symmetry(self, lanes: Lanes) -> None:
        """Of two resources that are alike in everything, the first keeps the task it starts with."""
        table = self.table
        every = set(range(len(lanes)))
        alike = (
            len({*table.free_from_us}) == len({*table.family_from}) == 1
            and all(set(table.eligible[i]) == every for i in table.free)
            and not table.pinned_end_us
        )
        if alike and lanes[0] and len(lanes) > 1:
            self.model.add(self.on[lanes[0][0], 0] == 1)

    def _lanes(self, solver: Any) -> Lanes:
        lanes: Lanes = [[] for _ in self.table.free_from_us]
        for i in sorted(self.start, key=lambda i: (solver.value(self.start[i]), i)):
            lane = next(n for n in self.table.eligible[i] if solver.value(self.on[i, n]))
            lanes[lane].append(i)
        return lanes
