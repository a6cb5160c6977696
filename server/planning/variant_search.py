"""The best order of one part in chosen dies, by what suits its number of strokes.

Few strokes: A* from the finished part (`search`), with the exact table of the way before for
profiles. More: all sets of one stroke fewer at once (`layers`), in passes that keep more and more
states; what a pass has tested the next one knows. Each choice of punches has its own passes, and the
best order of one is what the others have to beat.
"""

import gc
import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field

from server.mechanics.tooling import Punch
from server.planning.bound import TABLE_MOST_STROKES, PoseBound, TableBound
from server.planning.layers import LayerSearch, Memory, layer_work
from server.planning.order import Costs
from server.planning.part_strokes import PartStrokes
from server.planning.precedence import Later, LaterByRear, later_by_rear, later_strokes
from server.planning.profile_strokes import ProfileStrokes
from server.planning.search import TIE_S, Found, Search
from server.planning.variant import Attempt, Budget, Variant, prepare_stations
from server.planning.window_bound import WindowBound

PROVEN_STROKES = 12
PART_STATE_WORK = 2
WORK_OF_A_STROKE_MORE = 3
MOST_STATE_WORK = 10
"""What a state of a flat part takes next to one of a profile in A*, as measured: so much, and more for each
stroke above those that have to be proven, up to a most."""
PROFILE_STATES_OF_WORK = 2
"""As many states of a profile in layers are one work, as measured: arrays answer most of what they
ask."""
LAYERS_FROM_STROKES = 13
PART_LAYERS_FROM_STROKES = 7
WIDTHS = (8, 40, 160, 640, 2560, 10_240, 1_000_000)
FIRST_WIDTHS = 2
"""Passes of these widths are made whatever is left of the work, until an order is found."""
LEAST_STATES = 64

PunchSet = Sequence[Sequence[Punch]]


@dataclass(slots=True)
class _Side:
    """One choice of punches, what it asks of the order, and the bound for orders made with it.

    `owed_s` are for the change of tools that every order of this choice has and of no other.
    """

    punches: PunchSet
    later: Later
    by_rear: LaterByRear
    costs: Costs
    bound_s: float
    owed_s: float = 0.0
    memory: Memory = field(default_factory=Memory)


def search_variant(variant: Variant, budget: Budget, better_than_s: float) -> Attempt:
    """The best order of a variant as far as the work goes, and a bound for all its orders."""
    attempt = Attempt(variant)
    if not variant.searchable:
        return attempt
    _tighten(variant)
    sets = _punch_sets(variant)
    part = isinstance(variant.tests, PartStrokes)
    from_strokes = PART_LAYERS_FROM_STROKES if part else LAYERS_FROM_STROKES
    if len(variant.making.strokes) >= from_strokes:
        with _nothing_collected():
            _search_in_layers(attempt, sets, budget, better_than_s)
        return attempt
    for number, punches in enumerate(sets):
        best_s = min(better_than_s, attempt.seconds)
        if best_s <= variant.bound.whole_s() + _owed_s(variant, punches):
            continue
        _search_through(attempt, punches, budget, better_than_s, len(sets) - number)
    return attempt


@contextmanager
def _nothing_collected() -> Iterator[None]:
    """No looking for unreachable cycles meanwhile: some 100 000 states that hold none are kept, and
    going over them again and again took a third of the time, as measured.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def _punch_sets(variant: Variant) -> list[PunchSet]:
    """Each punch that does for every stroke alone, then all of them with changes of tools."""
    every = variant.punches
    common = [punch for punch in every[0] if all(punch in some for some in every)] if every else []
    sets: list[PunchSet] = [((punch,),) * len(every) for punch in common]
    if any(len(punches) > 1 for punches in every) or not common:
        sets.append(every)
    return sets


def _owed_s(variant: Variant, punches: PunchSet) -> float:
    """Seconds of the change of tools that tells orders of a set from those of the sets before."""
    one = set(punches[0]).intersection(*punches[1:]) if punches else set()
    alone = len(one) == 1 and all(len(some) == 1 for some in punches)
    return 0.0 if alone else variant.costs.handling.change_tools_s


def _tighten(variant: Variant) -> None:
    """What holds for every order, found before the search: who comes first, and a better bound.

    A variant that this alone forbids is searched without it, for the reasons.
    """
    tests, costs, rears = variant.tests, variant.costs, variant.rears
    count = len(variant.making.strokes)
    by_rear = later_by_rear(tests, variant.punches, rears)
    variant.later = later_strokes(by_rear)
    if any(later >> index & 1 for index, later in enumerate(variant.later)):
        variant.later = ()
        return
    variant.by_rear = by_rear
    variant.bound = base = PoseBound(tests, costs, rears, variant.later)
    if isinstance(tests, ProfileStrokes) and 0 < count <= TABLE_MOST_STROKES:
        table = TableBound(tests, costs, rears, variant.later)
        if table.whole_s() < math.inf:
            variant.bound = table
    elif isinstance(tests, PartStrokes):
        variant.bound = WindowBound(tests, costs, rears, variant.later, base, by_rear)


def _search_in_layers(
    attempt: Attempt, sets: Sequence[PunchSet], budget: Budget, better_than_s: float
) -> None:
    """Wider and wider passes over each choice of punches, until all is proven or the work used."""
    sides = [_side(attempt.variant, punches) for punches in sets]
    for number, width in enumerate(WIDTHS):
        for side in sides:
            limit_s = min(better_than_s, attempt.seconds)
            if side.bound_s >= limit_s - TIE_S or budget.stopped:
                continue
            found = limit_s < math.inf
            if budget.left <= 0 and (found or number >= FIRST_WIDTHS):
                continue
            _pass(attempt, side, width, budget, limit_s)
    attempt.bound_s = min(side.bound_s for side in sides)
    if attempt.bound_s == math.inf and not attempt.dead_sets and not budget.stopped:
        # for the reasons: how far it goes when all is tried
        every = _Side(sets[-1], (), (), sides[-1].costs, 0.0)
        _pass(attempt, every, WIDTHS[0], budget, math.inf)


def _side(variant: Variant, punches: PunchSet) -> _Side:
    """A choice of punches with what holds for every order made with it.

    What another station costs is settled here: stations found on the way may not all stand together,
    and passes have to agree on what an order takes.
    """
    later, by_rear = variant.later, variant.by_rear
    bound_s = variant.bound.whole_s()
    owed_s = _owed_s(variant, punches)
    if not owed_s and punches != variant.punches:
        by_rear = later_by_rear(variant.tests, punches, variant.rears)
        later = later_strokes(by_rear)
        if any(some >> index & 1 for index, some in enumerate(later)):
            bound_s = math.inf
    prepare_stations(variant, punches)
    return _Side(punches, later, by_rear, variant.costs, bound_s + owed_s, owed_s)


def _pass(attempt: Attempt, side: _Side, width: int, budget: Budget, limit_s: float) -> None:
    """One pass over one choice of punches."""
    variant = attempt.variant
    search = _new_search(variant, side.punches, side.later, limit_s, budget)
    search.costs, search.by_rear = side.costs, side.by_rear
    work, states = _work_of_states(search)
    tests_before = search.tests.tests_made
    most = max(LEAST_STATES, budget.left * states // work)
    found = LayerSearch(search, width, most, side.owed_s, side.memory).run()
    budget.left -= math.ceil(layer_work(search, tests_before) * work / states)
    if found.order is not None and found.seconds < limit_s - TIE_S:
        attempt.order, attempt.seconds = found.order, found.seconds
        attempt.costs = side.costs
    side.bound_s = max(side.bound_s, min(limit_s, found.bound_s))
    attempt.dead_sets += found.dead_sets


def _search_through(
    attempt: Attempt,
    punches: PunchSet,
    budget: Budget,
    better_than_s: float,
    sets_left: int,
) -> None:
    """The best order, or the proof that there is none better, as far as a share of the work goes."""
    variant = attempt.variant
    prepare_stations(variant, punches)
    limit_s = min(better_than_s, attempt.seconds)
    search = _new_search(variant, punches, variant.later, limit_s, budget)
    found: Found = search.run(max(LEAST_STATES, budget.left // sets_left))
    budget.left -= search.states
    if found.seconds is not None:
        attempt.order, attempt.seconds = found.order, found.seconds
        attempt.costs = variant.costs
    attempt.bound_s = min(attempt.bound_s, found.bound_s)
    attempt.dead_sets += found.dead_sets


def _new_search(
    variant: Variant,
    punches: PunchSet,
    later: Sequence[int],
    limit_s: float,
    budget: Budget,
) -> Search:
    return Search(
        variant.tests,
        variant.costs,
        punches,
        variant.bound,
        variant.rears,
        better_than_s=limit_s,
        keep_going=budget.going,
        later=later,
    )


def _work_of_states(search: Search) -> tuple[int, int]:
    """So much work is done in so many states."""
    if not isinstance(search.tests, PartStrokes):
        return 1, PROFILE_STATES_OF_WORK
    more = max(0, len(search.tests.making.strokes) - PROVEN_STROKES)
    return min(MOST_STATE_WORK, PART_STATE_WORK + WORK_OF_A_STROKE_MORE * more), 1
