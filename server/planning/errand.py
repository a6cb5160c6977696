"""What a planning worker is asked, and what it answers: plain values that travel between processes.

Each errand is carried out by one pure function, which tells how far it is and may be stopped.
"""

from collections.abc import Callable
from dataclasses import dataclass, field, replace

from server.findings import Finding
from server.mechanics.tooling import Die, Punch
from server.planning.alternative import Alternative, alternatives
from server.planning.at_thickness import KeptStep, OnSheet, SheetInHand, at_thickness
from server.planning.dead_end import DeadEnd, dead_ends
from server.planning.dimension import Dimension, Marked, critical_tolerances, dimensions_of
from server.planning.error_stack import GaugingErrors
from server.planning.freeing import Suggestion, ToolWorth, best_tool_to_buy, what_would_free
from server.planning.order_check import ChosenStep, OrderCheck, OrderChecker
from server.planning.plan_task import PlanTask
from server.planning.planner import DEFAULT_WORK, Plan, plan_with_attempts
from server.planning.protecting import check_critical, plan_protecting
from server.planning.search import Progress
from server.planning.sequence import BendSequence

PATIENT_WORK = 8 * DEFAULT_WORK
"""Work for a plan that somebody watches and may end with the best so far: longest parts proven."""
MOST_ALTERNATIVES = 4
KEPT_CHECKERS = 6


@dataclass(frozen=True, slots=True)
class Told:
    """How far an errand is. States and tests count everything so far, seconds are of handling."""

    doing: str
    states: int = 0
    tests: int = 0
    bound_s: float | None = None
    best_s: float | None = None


Tell = Callable[[Told], bool]
"""Takes what is told; false asks to stop."""


@dataclass(frozen=True, slots=True)
class PlanErrand:
    """Plan a part: each task in turn until one works; else what blocks it and what frees it."""

    tasks: tuple[PlanTask, ...]
    marked: tuple[Marked, ...] = ()
    errors: GaugingErrors = field(default_factory=GaugingErrors)
    owned_punches: tuple[Punch, ...] = ()
    owned_dies: tuple[Die, ...] = ()
    work: int = PATIENT_WORK


@dataclass(frozen=True, slots=True)
class Planned:
    """A sequence was found: for which task, its dimensions, and what speaks against it."""

    task: PlanTask
    plan: Plan
    dimensions: tuple[Dimension, ...]
    cautions: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class Blocked:
    """No sequence: what blocks it and what would free it. `proven` when nothing was cut short."""

    blockers: tuple[Finding, ...]
    ends: tuple[DeadEnd, ...]
    suggestions: tuple[Suggestion, ...]
    proven: bool


@dataclass(frozen=True, slots=True)
class CheckErrand:
    """Check an order that a person arranged."""

    task: PlanTask
    die_of_bend: tuple[str, ...]
    chosen: tuple[ChosenStep, ...]
    marked: tuple[Marked, ...] = ()
    errors: GaugingErrors = field(default_factory=GaugingErrors)


@dataclass(frozen=True, slots=True)
class Checked:
    """The order after the check, its dimensions when it is possible, and their cautions."""

    check: OrderCheck
    dimensions: tuple[Dimension, ...]
    cautions: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class AlternativeErrand:
    """Look for other ways than the one shown."""

    shown: CheckErrand


@dataclass(frozen=True, slots=True)
class Alternatives:
    """Other ways, the cheapest first."""

    found: tuple[Alternative, ...]


@dataclass(frozen=True, slots=True)
class WorthErrand:
    """Which candidate tool frees the most of the blocked parts."""

    blocked: tuple[PlanTask, ...]
    punches: tuple[Punch, ...]
    dies: tuple[Die, ...]


@dataclass(frozen=True, slots=True)
class Worth:
    """The candidates that free something, the best first; parts by their place in the errand."""

    found: tuple[ToolWorth, ...]


@dataclass(frozen=True, slots=True)
class SheetErrand:
    """Work kept steps out again for the sheet in hand."""

    task: PlanTask
    kept: tuple[KeptStep, ...]
    sheet: SheetInHand
    blank_mm: float | None = None


Errand = PlanErrand | CheckErrand | AlternativeErrand | WorthErrand | SheetErrand
Outcome = Planned | Blocked | Checked | Alternatives | Worth | OnSheet


class Checkers:
    """Parts made ready for checking, the ones used last: a drag on a page asks for the same part."""

    def __init__(self) -> None:
        self._kept: list[tuple[PlanTask, tuple[str, ...], OrderChecker]] = []

    def checker(self, task: PlanTask, die_of_bend: tuple[str, ...]) -> OrderChecker:
        """The part made ready, now or before."""
        for number, (known, dies, made) in enumerate(self._kept):
            if dies == die_of_bend and known == task:
                self._kept.append(self._kept.pop(number))
                return made
        made = OrderChecker(task, die_of_bend=die_of_bend)
        self._kept = [*self._kept[1 - KEPT_CHECKERS :], (task, die_of_bend, made)]
        return made


def carry_out(errand: Errand, tell: Tell, checkers: Checkers) -> Outcome:
    """Do what is asked.

    Raises: ShopError from the planner, for a task that cannot be meant.
    """
    match errand:
        case PlanErrand():
            return _plan(errand, _Teller(tell))
        case CheckErrand():
            return _check(errand, checkers)
        case AlternativeErrand():
            return _alternatives(errand.shown, _Teller(tell), checkers)
        case WorthErrand():
            teller = _Teller(tell)
            teller.now("trying each tool on each blocked part")
            found = best_tool_to_buy(
                errand.blocked,
                candidate_punches=errand.punches,
                candidate_dies=errand.dies,
                keep_going=teller,
            )
            return Worth(found)
        case SheetErrand():
            return at_thickness(errand.task, errand.kept, errand.sheet, blank_mm=errand.blank_mm)


class _Teller:
    """Adds up the work of several searches and passes on what each tells."""

    def __init__(self, tell: Tell) -> None:
        self.tell = tell
        self.told = Told("beginning")
        self.before = (0, 0)
        self.last = (0, 0)
        self.stopped = False

    def now(self, doing: str) -> None:
        """Begin another part of the errand; what was best so far no longer counts."""
        self.told = replace(self.told, doing=doing, bound_s=None, best_s=None)
        self.stopped = self.stopped or not self.tell(self.told)

    def __call__(self, progress: Progress) -> bool:
        """A search's progress; false once somebody asked to stop."""
        now = (progress.states, progress.tests)
        if now[0] < self.last[0]:
            self.before = (self.before[0] + self.last[0], self.before[1] + self.last[1])
        self.last = now
        self.told = Told(
            self.told.doing,
            self.before[0] + now[0],
            self.before[1] + now[1],
            progress.bound_s or self.told.bound_s,
            self.told.best_s if progress.best_s is None else progress.best_s,
        )
        self.stopped = self.stopped or not self.tell(self.told)
        return not self.stopped


def _plan(errand: PlanErrand, teller: _Teller) -> Planned | Blocked:
    blockers: list[Finding] = []
    ends: list[DeadEnd] = []
    proven = True
    last: tuple[PlanTask, Plan] | None = None
    for number, task in enumerate(errand.tasks):
        die = task.dies[0].name if len(task.dies) == 1 else ""
        of = f" ({number + 1} of {len(errand.tasks)})" if len(errand.tasks) > 1 else ""
        teller.now(f"looking for the best order in {die}{of}" if die else "looking for an order")
        made, attempts = plan_with_attempts(task, work=errand.work, keep_going=teller)
        if made.sequence is not None:
            return _planned(errand, task, made, made.sequence, teller)
        blockers += made.blockers
        proven = proven and made.proven
        last = last or (task, made)
        if teller.stopped:
            break
        ends += dead_ends(task, attempts)
    suggestions: tuple[Suggestion, ...] = ()
    if last is not None and proven and not teller.stopped:
        teller.now("looking for what would free it")
        suggestions = what_would_free(
            *last,
            owned_punches=errand.owned_punches,
            owned_dies=errand.owned_dies,
            keep_going=teller,
        )
    return Blocked(tuple(blockers), tuple(ends), suggestions, proven)


def _planned(
    errand: PlanErrand, task: PlanTask, made: Plan, sequence: BendSequence, teller: _Teller
) -> Planned:
    """The plan, with contacts that protect what is marked as critical where they can."""
    tolerances = critical_tolerances(task, sequence.making, errand.marked)
    if tolerances and not teller.stopped:
        teller.now("choosing contacts that protect the critical dimensions")
        made = plan_protecting(task, tolerances, errors=errand.errors, best=made, keep_going=teller)
        sequence = made.sequence or sequence
    return Planned(
        task,
        made,
        dimensions_of(task, sequence, errand.marked, errand.errors),
        check_critical(sequence, tolerances, errand.errors) if tolerances else (),
    )


def _check(errand: CheckErrand, checkers: Checkers) -> Checked:
    check = checkers.checker(errand.task, errand.die_of_bend).check(errand.chosen)
    sequence = check.sequence
    if sequence is None:
        return Checked(check, (), ())
    tolerances = critical_tolerances(errand.task, sequence.making, errand.marked)
    return Checked(
        check,
        dimensions_of(errand.task, sequence, errand.marked, errand.errors),
        check_critical(sequence, tolerances, errand.errors) if tolerances else (),
    )


def _alternatives(shown: CheckErrand, teller: _Teller, checkers: Checkers) -> Alternatives:
    teller.now("looking for other ways")
    check = checkers.checker(shown.task, shown.die_of_bend).check(shown.chosen)
    best = Plan(check.sequence, 0.0, False, (), 0)
    return Alternatives(alternatives(shown.task, best, count=MOST_ALTERNATIVES, keep_going=teller))
