"""From a task to the best bend sequence, or to the reasons why there is none.

Choices left open by the documents:

* A blank belongs to its dies, so dies are chosen for the whole part first: each die alone, and only
  when that cannot be done or costs more than a change of tools would, two dies together, each bend
  in the first of them that takes it. Dies whose V is far from usual for the thickness (a caution of
  the mechanics) are tried only when no other works.
* Punches that give the same radius may be changed between strokes.
* Work is counted in states and tests, not in seconds, so that the same task gives the same answer
  on any machine; whoever calls may stop it by the clock. Flat parts of more strokes than have to be
  proven are counted by what their states and tests take next to a profile's, so that they are
  answered about as soon; until an order is found their quick search may take as much again.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from server.errors import ShopError, say
from server.findings import Finding
from server.geometry.part import FlatPart
from server.geometry.profile import Profile
from server.mechanics.tooling import Die, Punch
from server.mechanics.v_opening import advised_v_opening
from server.planning.beam import beam
from server.planning.bend_way import Fit
from server.planning.bound import TABLE_MOST_STROKES, PoseBound, TableBound
from server.planning.making import Making, fits_of_die, make
from server.planning.order import Costs, PlacedStroke
from server.planning.part_strokes import PartStrokes
from server.planning.plan_task import PlanTask, checked_wishes, shape_bends
from server.planning.precedence import later_strokes
from server.planning.profile_strokes import ProfileStrokes
from server.planning.search import (
    REARS,
    TIE_S,
    Bound,
    Found,
    KeepGoing,
    Progress,
    Search,
    always,
)
from server.planning.sequence import BendSequence, Tests, bend_sequence

DEFAULT_WORK = 40_000
PROVEN_STROKES = 12
WORK_OF_A_STROKE_MORE = 2
MOST_STATE_WORK = 10
TESTS_OF_A_STATE = 3
"""What a state of a long flat part takes, as measured: so much more for each stroke above those
that have to be proven, up to a most; and as many tests take as long as one state."""
BEAM_FROM_STROKES = 13
PART_BEAM_FROM_STROKES = 7
NARROWEST_BEAM = 8
BEAM_WIDTHS = ((NARROWEST_BEAM, 40), (160,))
"""Widths tried with one set of punches after the other; the last only when the first find nothing."""
MOST_BEAM_WORK = 80_000
LEAST_STATES = 64
MOST_TWO_DIES = 12
MOST_STROKES = 100
FAR_FROM_USUAL = "v_outside_usual"

TOOL_DEPENDENT = frozenset(
    {
        "leg_too_short",
        "face_swallowed",
        "springs_back_too_far",
        "all_springs_back",
        "too_springy",
        "bump_not_needed",
        "springs_past_flat",
    }
)
"""Troubles of the making that another die may not have: they block the die, not the task."""


@dataclass(frozen=True, slots=True)
class Plan:
    """The answer: a bend sequence or blockers, and how far it is proven.

    `bound_s` is what every bend sequence needs at least; `work` counts states and tests.
    """

    sequence: BendSequence | None
    bound_s: float
    proven: bool
    blockers: tuple[Finding, ...]
    work: int

    @property
    def gap_ratio(self) -> float:
        """How far the sequence may be above the best one."""
        if self.sequence is None or self.sequence.cost.seconds == 0.0:
            return 0.0
        return max(0.0, 1.0 - self.bound_s / self.sequence.cost.seconds)


@dataclass(slots=True)
class Variant:
    """The part in chosen dies, ready to be searched."""

    fits: tuple[Fit, ...]
    making: Making
    tests: Tests
    costs: Costs
    rears: tuple[tuple[int, ...], ...]
    punches: tuple[tuple[Punch, ...], ...]
    usual: bool
    unusual_v_ratio: float
    bound: Bound
    later: tuple[int, ...] = ()

    @property
    def searchable(self) -> bool:
        """Whether every stroke has a punch that nothing blocks by itself."""
        return all(self.punches)


@dataclass(slots=True)
class Attempt:
    """What one variant came to: the best order so far, its costs, and a bound for all of them."""

    variant: Variant
    order: tuple[PlacedStroke, ...] | None = None
    seconds: float = math.inf
    costs: Costs | None = None
    bound_s: float = math.inf
    dead_sets: list[int] = field(default_factory=list)


@dataclass(slots=True)
class _Budget:
    """Work left, and who may stop it."""

    left: int
    keep_going: KeepGoing
    stopped: bool = False
    whole: int = field(init=False)

    def __post_init__(self) -> None:
        self.whole = self.left

    def going(self, progress: Progress) -> bool:
        """Ask whoever may stop the work."""
        self.stopped = self.stopped or not self.keep_going(progress)
        return not self.stopped


def plan(task: PlanTask, *, work: int = DEFAULT_WORK, keep_going: KeepGoing = always) -> Plan:
    """The cheapest bend sequence of a task, or why there is none.

    Raises: ShopError for a task that cannot be meant: broken outlines, wishes that contradict.
    """
    return plan_with_attempts(task, work=work, keep_going=keep_going)[0]


def plan_with_attempts(
    task: PlanTask, *, work: int = DEFAULT_WORK, keep_going: KeepGoing = always
) -> tuple[Plan, tuple[Attempt, ...]]:
    """`plan`, and what each choice of dies came to, for those who tell more of why it is blocked.

    Raises: ShopError as `plan`.
    """
    checked_wishes(task.wishes, task.bend_count)
    budget = _Budget(work, keep_going)
    variants, blockers = single_die_variants(task)
    attempts = _search_all(variants, budget)
    best = _best(attempts)
    if _two_dies_may_pay(task, attempts, best):
        attempts += _search_all(list(_two_die_variants(task, attempts)), budget, best)
        best = _best(attempts)
    used = work - budget.left
    if best is None or best.order is None:
        from server.planning.reason import blockers_of

        bound_s = min((one.bound_s for one in attempts), default=math.inf)
        found = (*blockers, *blockers_of(task, attempts))
        return Plan(None, bound_s, bound_s == math.inf, found, used), tuple(attempts)
    rivals = [one.bound_s for one in attempts if one.variant.usual == best.variant.usual]
    bound_s = min(best.seconds, *rivals)
    costs = best.costs or best.variant.costs
    sequence = bend_sequence(task, best.variant.tests, costs, best.order)
    proven = bound_s >= best.seconds - TIE_S
    return Plan(sequence, bound_s, proven, (), used), tuple(attempts)


def single_die_variants(task: PlanTask) -> tuple[list[Variant], list[Finding]]:
    """The part in each of the task's dies, usual ones first, and what blocks the others.

    Raises: ShopError that no other die would cure.
    """
    variants: list[Variant] = []
    blocked: list[Finding] = []
    for die in task.dies:
        for fit in fits_of_die(task, die):
            try:
                variants.append(variant_of(task, (fit,) * task.bend_count))
            except ShopError as trouble:
                if trouble.code not in TOOL_DEPENDENT:
                    raise
                blocked.append(die_finding(trouble, die))
    order = {id(one): number for number, one in enumerate(variants)}
    variants.sort(key=lambda one: (not one.usual, one.unusual_v_ratio, order[id(one)]))
    return variants, blocked


def variant_of(task: PlanTask, fits: Sequence[Fit]) -> Variant:
    """The part with each bend in its fit.

    Raises: ShopError from the making.
    """
    making = make(task, fits)
    if len(making.strokes) > MOST_STROKES:
        raise ShopError(
            "too_many_strokes",
            say(
                "The part takes {count} strokes; at most {most} are planned.",
                count=str(len(making.strokes)),
                most=str(MOST_STROKES),
            ),
            remedy="Plan it in two parts, or bump with fewer hits.",
            where="part.bends",
        )
    tests: Tests
    rears = rears_of(task, making)
    if isinstance(making.sheet, Profile):
        tests = ProfileStrokes(task, making)
        punches = _profile_punches(tests)
    else:
        tests = PartStrokes(task, making)
        punches = tuple(stroke.free_punches for stroke in making.strokes)
    costs = Costs(task.handling, making.mass_kg)
    ratios = [
        max(one.die.v_opening_mm, advised) / min(one.die.v_opening_mm, advised)
        for one in making.strokes
        for advised in (advised_v_opening(thickness_mm=task.thickness_mm),)
    ]
    return Variant(
        fits=tuple(fits),
        making=making,
        tests=tests,
        costs=costs,
        rears=rears,
        punches=punches,
        usual=all(finding.code != FAR_FROM_USUAL for finding in making.findings),
        unusual_v_ratio=max(ratios, default=1.0),
        bound=PoseBound(tests, costs, rears),
    )


def rears_of(task: PlanTask, making: Making) -> tuple[tuple[int, ...], ...]:
    """Which halves may lie behind the die for each stroke, by the shop's wishes."""
    allowed = []
    for stroke in making.strokes:
        rears = {0, 1}
        for bend in stroke.bends:
            wished = task.wishes.gauge_from.get(bend)
            if wished is not None:
                flipped = _flipped(making, stroke.bends[0], bend)
                rears &= {REARS.index(wished) ^ flipped}
        allowed.append(tuple(sorted(rears)))
    return tuple(allowed)


def die_finding(trouble: ShopError, die: Die) -> Finding:
    """A trouble of the making as a blocker of one die."""
    bend = next((int(word) for word in (trouble.where or "").split(".") if word.isdigit()), None)
    return Finding(
        "stop", trouble.code, trouble.what, trouble.remedy, "the part in this die", bend, die.name
    )


def search_variant(
    variant: Variant, budget_work: int, keep_going: KeepGoing, better_than_s: float = math.inf
) -> tuple[Attempt, int]:
    """The best order of one variant; also returns the work used."""
    budget = _Budget(budget_work, keep_going)
    attempt = _search(variant, budget, better_than_s)
    return attempt, budget_work - budget.left


def _search_all(
    variants: Sequence[Variant], budget: _Budget, known: Attempt | None = None
) -> list[Attempt]:
    attempts: list[Attempt] = []
    best_s = math.inf if known is None else known.seconds
    usual_found = known is not None and known.variant.usual and known.order is not None
    for variant in variants:
        if usual_found and not variant.usual:
            break
        if budget.left <= 0 or not budget.going(Progress(0, 0, 0.0, None)):
            attempts.append(Attempt(variant, bound_s=variant.bound.whole_s()))
            continue
        attempt = _search(variant, budget, best_s)
        attempts.append(attempt)
        if attempt.order is not None:
            best_s = min(best_s, attempt.seconds)
            usual_found = usual_found or variant.usual
    return attempts


def _search(variant: Variant, budget: _Budget, better_than_s: float) -> Attempt:
    attempt = Attempt(variant)
    if not variant.searchable:
        return attempt
    _tighten(variant)
    sets = _punch_sets(variant)
    for widths in BEAM_WIDTHS:
        if attempt.seconds < math.inf:
            break
        for punches in sets:
            if attempt.order is None or not _changing(punches):
                _search_quickly(attempt, punches, widths, budget, better_than_s)
    change_s = variant.costs.handling.change_tools_s
    for number, punches in enumerate(sets):
        best_s = min(better_than_s, attempt.seconds)
        if _changing(punches) and best_s <= variant.bound.whole_s() + change_s:
            continue
        _search_through(attempt, punches, budget, better_than_s, len(sets) - number)
    return attempt


def _punch_sets(variant: Variant) -> list[Sequence[Sequence[Punch]]]:
    """Each punch that does for every stroke alone, then all of them with changes of tools."""
    every = variant.punches
    common = [punch for punch in every[0] if all(punch in some for some in every)] if every else []
    sets: list[Sequence[Sequence[Punch]]] = [((punch,),) * len(every) for punch in common]
    if any(len(punches) > 1 for punches in every) or not common:
        sets.append(every)
    return sets


def _changing(punches: Sequence[Sequence[Punch]]) -> bool:
    """Whether a set of punches leaves a choice, and so may ask for changes of tools."""
    return any(len(some) > 1 for some in punches)


def _tighten(variant: Variant) -> None:
    """What holds for every order, found before the search: who comes first, and a better bound.

    A variant that this alone forbids is searched without it, for the reasons.
    """
    tests, costs, rears = variant.tests, variant.costs, variant.rears
    count = len(variant.making.strokes)
    variant.later = later_strokes(tests, variant.punches, rears)
    if any(later >> index & 1 for index, later in enumerate(variant.later)):
        variant.later = ()
        return
    variant.bound = PoseBound(tests, costs, rears, variant.later)
    if isinstance(tests, ProfileStrokes) and 0 < count <= TABLE_MOST_STROKES:
        table = TableBound(tests, costs, rears, variant.later)
        if table.whole_s() < math.inf:
            variant.bound = table


def _search_quickly(
    attempt: Attempt,
    punches: Sequence[Sequence[Punch]],
    widths: Sequence[int],
    budget: _Budget,
    better_than_s: float,
) -> None:
    """A good order to begin with, for parts of many strokes."""
    variant = attempt.variant
    count = len(variant.making.strokes)
    part = isinstance(variant.tests, PartStrokes)
    if count < (PART_BEAM_FROM_STROKES if part else BEAM_FROM_STROKES):
        return
    prepare_stations(variant, punches)
    for width in widths:
        narrow = width == NARROWEST_BEAM
        if not narrow and width * count**2 > MOST_BEAM_WORK:
            continue
        found = attempt.order is not None or better_than_s < math.inf
        left = budget.left if found else budget.left + budget.whole
        if left <= 0 and (found or not narrow):
            continue
        limit_s = min(better_than_s, attempt.seconds)
        search = _new_search(variant, punches, limit_s, budget)
        tests_before = variant.tests.tests_made
        made = beam(search, width)
        budget.left -= _work(search, tests_before)
        if made is not None and made[1] < limit_s - TIE_S:
            attempt.order, attempt.seconds = made
            attempt.costs = variant.costs


def _search_through(
    attempt: Attempt,
    punches: Sequence[Sequence[Punch]],
    budget: _Budget,
    better_than_s: float,
    sets_left: int,
) -> None:
    """The best order, or the proof that there is none better, as far as a share of the work goes."""
    variant = attempt.variant
    prepare_stations(variant, punches)
    search = _new_search(variant, punches, min(better_than_s, attempt.seconds), budget)
    state_work = _state_work(search)
    tests_before = variant.tests.tests_made
    found: Found = search.run(max(LEAST_STATES, budget.left // state_work // sets_left))
    budget.left -= _work(search, tests_before)
    if found.seconds is not None:
        attempt.order, attempt.seconds = found.order, found.seconds
        attempt.costs = variant.costs
    attempt.bound_s = min(attempt.bound_s, found.bound_s)
    attempt.dead_sets += found.dead_sets


def _new_search(
    variant: Variant, punches: Sequence[Sequence[Punch]], limit_s: float, budget: _Budget
) -> Search:
    return Search(
        variant.tests,
        variant.costs,
        punches,
        variant.bound,
        variant.rears,
        better_than_s=limit_s,
        keep_going=budget.going,
        later=variant.later,
    )


def _work(search: Search, tests_before: int) -> int:
    """The work a search took; `tests_before` were made when it began."""
    weight = _state_work(search)
    if weight == 1:
        return search.states
    tests = search.tests.tests_made - tests_before
    return weight * (search.states + tests // TESTS_OF_A_STATE)


def _state_work(search: Search) -> int:
    """What one state takes next to one of a profile, or of a part that has to be proven."""
    more = len(search.tests.making.strokes) - PROVEN_STROKES
    if more <= 0 or not isinstance(search.tests, PartStrokes):
        return 1
    return min(MOST_STATE_WORK, WORK_OF_A_STROKE_MORE * more)


def prepare_stations(variant: Variant, punches: Sequence[Sequence[Punch]] | None = None) -> None:
    """Stations of a flat part, and what going from one to another costs; nothing for a profile."""
    tests = variant.tests
    if isinstance(tests, ProfileStrokes):
        return
    punches = variant.punches if punches is None else punches
    together = True
    for punch in {punch.name: punch for some in punches for punch in some}.values():
        tests.prepare_stations(punch)
        for stroke in tests.making.strokes:
            tools = f"{punch.name} / {stroke.die.name}"
            together = together and tests.stand_together(tools, punch, stroke)
    handling = variant.costs.handling
    station_s = handling.other_station_s if together else handling.change_tools_s
    variant.costs = Costs(replace(handling, other_station_s=station_s), variant.costs.mass_kg)


def _profile_punches(tests: ProfileStrokes) -> tuple[tuple[Punch, ...], ...]:
    """Free punches of each stroke whose segments, with the die's, cover the part's width."""
    return tuple(
        tuple(punch for punch in stroke.free_punches if not tests.stageable(punch, stroke.die))
        for stroke in tests.making.strokes
    )


def _two_dies_may_pay(task: PlanTask, attempts: Sequence[Attempt], best: Attempt | None) -> bool:
    if len(task.dies) < 2 or len(shape_bends(task)) < 2:
        return False
    if best is None or best.order is None:
        return True
    least_s = min(one.variant.bound.whole_s() for one in attempts)
    return best.seconds > least_s + task.handling.change_tools_s


def _two_die_variants(task: PlanTask, attempts: Sequence[Attempt]) -> Iterator[Variant]:
    """Two dies together: each bend in the first of the two that takes it by itself."""
    singles = [one.variant for one in attempts]
    made = 0
    for first in singles:
        for second in singles:
            fit_a, fit_b = first.fits[0], second.fits[0]
            if fit_a.die.name == fit_b.die.name or made >= MOST_TWO_DIES:
                continue
            blocked = _blocked_bends(first)
            free_second = set(range(task.bend_count)) - _blocked_bends(second)
            if not blocked or not blocked <= free_second or len(blocked) == task.bend_count:
                continue
            made += 1
            fits = [fit_b if bend in blocked else fit_a for bend in range(task.bend_count)]
            try:
                yield variant_of(task, fits)
            except ShopError as trouble:
                if trouble.code not in TOOL_DEPENDENT:
                    raise


def _blocked_bends(variant: Variant) -> set[int]:
    """Bends that cannot be made in a variant's die, by themselves or in the finished part."""
    full = (1 << len(variant.making.strokes)) - 1
    blocked: set[int] = set()
    for stroke, punches in zip(variant.making.strokes, variant.punches, strict=True):
        reachable = any(
            variant.tests.contact(done, stroke.index, rear) is not None
            for done in (0, full & ~(1 << stroke.index))
            for rear in variant.rears[stroke.index]
        )
        if not punches or not reachable:
            blocked |= set(stroke.bends)
    return blocked


def _best(attempts: Sequence[Attempt]) -> Attempt | None:
    found = [one for one in attempts if one.order is not None]
    return min(found, key=lambda one: (not one.variant.usual, one.seconds), default=None)


def _flipped(making: Making, lead: int, bend: int) -> int:
    if not isinstance(making.sheet, FlatPart):
        return 0
    (ax, ay), (bx, by) = (
        making.sheet.across[making.bend_of_zone.index(one)] for one in (lead, bend)
    )
    return int(ax * bx + ay * by < 0.0)
