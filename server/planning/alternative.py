"""A few next-best plans that differ in a way an operator would notice."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from server.errors import Sentence, ShopError, place, say
from server.planning.plan_task import PlanTask
from server.planning.planner import DEFAULT_WORK, Plan, plan
from server.planning.search import REARS, KeepGoing, always
from server.planning.sequence import BendSequence


@dataclass(frozen=True, slots=True)
class Alternative:
    """Another bend sequence and what was asked of it."""

    sequence: BendSequence
    asked: Sentence


def alternatives(
    task: PlanTask,
    best: Plan,
    *,
    count: int = 3,
    work: int = DEFAULT_WORK // 4,
    keep_going: KeepGoing = always,
) -> tuple[Alternative, ...]:
    """Plans other than the best, cheapest first: other halves gauged, other first or last bends.

    Each is the best one under one wish the best plan does not fulfil.
    """
    if best.sequence is None:
        return ()
    seen = {_shape_of(best.sequence)}
    found: list[Alternative] = []
    for asked, wished in _wishes(task, best.sequence):
        try:
            other = plan(wished, work=work, keep_going=keep_going)
        except ShopError:
            continue  # the wish contradicts the shop's own
        if other.sequence is None or _shape_of(other.sequence) in seen:
            continue
        seen.add(_shape_of(other.sequence))
        found.append(Alternative(other.sequence, asked))
    found.sort(key=lambda one: one.sequence.cost.seconds)
    return tuple(found[:count])


def _wishes(task: PlanTask, best: BendSequence) -> Iterator[tuple[Sentence, PlanTask]]:
    """Tasks that each rule the best plan out in one way."""
    wishes = task.wishes
    order = [step.bends[0] for step in best.steps]
    if len(order) > 1:
        first, last = order[0], order[-1]
        yield (
            say("Bend {bend} not first.", bend=place(first)),
            replace(task, wishes=replace(wishes, before=(*wishes.before, (order[1], first)))),
        )
        yield (
            say("Bend {bend} not last.", bend=place(last)),
            replace(task, wishes=replace(wishes, before=(*wishes.before, (last, order[-2])))),
        )
    for step in best.steps:
        bend = step.bends[0]
        if bend in wishes.gauge_from:
            continue
        other = REARS[1 - REARS.index(step.rear)]
        yield (
            say("Bend {bend} gauged on its other half.", bend=place(bend)),
            replace(task, wishes=replace(wishes, gauge_from={**wishes.gauge_from, bend: other})),
        )


def _shape_of(sequence: BendSequence) -> tuple[object, ...]:
    return tuple((step.bends, step.rear, step.punch, step.die) for step in sequence.steps)
