"""From a task to the best bend sequence, or to the reasons why there is none.

Choices left open by the documents:

* A blank belongs to its dies, so dies are chosen for the whole part first: each die alone, and only
  when that cannot be done or costs more than a change of tools would, two dies together, each bend
  in the first of them that takes it. Dies whose V is far from usual for the thickness (a caution of
  the mechanics) are tried only when no other works.
* Punches that give the same radius may be changed between strokes.
* Work is counted in states and tests, not in seconds, so that the same task gives the same answer
  on any machine; whoever calls may stop it by the clock. Flat parts are counted by what their
  states and tests take next to a profile's, so that they are answered about as soon; the first passes
  of a search are made whatever is left, until an order is found.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from server.errors import ShopError, say
from server.findings import Finding
from server.geometry.part import FlatPart
from server.geometry.profile import Profile
from server.mechanics.tooling import Die, Punch
from server.mechanics.v_opening import advised_v_opening
from server.planning.bend_way import Fit
from server.planning.bound import PoseBound
from server.planning.making import Making, fits_of_die, make
from server.planning.order import Costs
from server.planning.part_strokes import PartStrokes
from server.planning.plan_task import PlanTask, checked_wishes, shape_bends
from server.planning.profile_strokes import ProfileStrokes
from server.planning.search import (
    REARS,
    TIE_S,
    KeepGoing,
    Progress,
    always,
)
from server.planning.sequence import BendSequence, Tests, bend_sequence
from server.planning.variant import Attempt, Budget, Variant
from server.planning.variant_search import search_variant

DEFAULT_WORK = 70_000
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
    budget = Budget(work, keep_going)
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


def _search_all(
    variants: Sequence[Variant], budget: Budget, known: Attempt | None = None
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
        attempt = search_variant(variant, budget, best_s)
        attempts.append(attempt)
        if attempt.order is not None:
            best_s = min(best_s, attempt.seconds)
            usual_found = usual_found or variant.usual
    return attempts


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
