"""Why a part cannot be bent, told with pictures: for each die the smallest set that has no last bend.

Whatever is bent first, one bend of a set has to be the last of it. When none can be, no order works,
and every one of them shows what it would meet with the others made.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from server.findings import Finding
from server.geometry.profile import Rear
from server.planning.blocked_picture import BlockedPicture, blocked_picture, meetings_first
from server.planning.plan_task import PlanTask
from server.planning.reason import BlockedStroke, BlockedWay, own_stops_with, smallest_dead_set
from server.planning.search import REARS
from server.planning.stroke import Stroke
from server.planning.variant import Attempt, Variant

MOST_OTHER_WAYS = 6


@dataclass(frozen=True, slots=True)
class OtherWay:
    """Another punch in its easier position, and what blocks it there."""

    punch: str
    rear: Rear
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class DeadStroke:
    """One bend that cannot be the last of the set; the picture is of its easiest way.

    `made` are the bends made before it. `side_up` and `rear` tell how the sheet lies.
    """

    bends: tuple[int, ...]
    made: tuple[int, ...]
    punch: str
    rear: Rear
    side_up: str
    findings: tuple[Finding, ...]
    picture: BlockedPicture
    others: tuple[OtherWay, ...]


@dataclass(frozen=True, slots=True)
class DeadEnd:
    """The part in one die: bends of which none can be the last, each shown.

    `by_itself` when the bends are blocked whatever was made before them.
    """

    dies: tuple[str, ...]
    strokes: tuple[DeadStroke, ...]
    by_itself: bool


def dead_ends(task: PlanTask, attempts: Sequence[Attempt]) -> tuple[DeadEnd, ...]:
    """What blocks each choice of dies that was searched to its end, one for each die or pair."""
    found: dict[tuple[str, ...], DeadEnd] = {}
    for attempt in attempts:
        if attempt.order is not None or not attempt.variant.making.strokes:
            continue
        made = _dead_end(task, attempt)
        if made is not None:
            found.setdefault(made.dies, made)
    return tuple(found.values())


def _dead_end(task: PlanTask, attempt: Attempt) -> DeadEnd | None:
    variant = attempt.variant
    dies = tuple(dict.fromkeys(fit.die.name for fit in variant.fits))
    alone = [
        _stopped_by_itself(task, variant, stroke)
        for stroke, punches in zip(variant.making.strokes, variant.punches, strict=True)
        if not punches
    ]
    if alone:
        return DeadEnd(dies, tuple(alone), by_itself=True)
    smallest = None if attempt.bound_s < math.inf else smallest_dead_set(attempt)
    if smallest is None:
        return None
    dead, blocked = smallest
    strokes = tuple(_dead_stroke(task, variant, one) for one in blocked)
    return DeadEnd(dies, strokes, by_itself=dead.bit_count() == 1)


def _stopped_by_itself(task: PlanTask, variant: Variant, stroke: Stroke) -> DeadStroke:
    """A stroke that its own limits block with every punch."""
    rear = variant.rears[stroke.index][0]
    ways = tuple(
        BlockedWay(rear, punch, own_stops_with(variant, stroke.index, punch))
        for punch in stroke.punches
    )
    return _dead_stroke(task, variant, BlockedStroke(stroke.index, 0, ways))


def _dead_stroke(task: PlanTask, variant: Variant, blocked: BlockedStroke) -> DeadStroke:
    stroke = variant.making.strokes[blocked.stroke]
    easiest = blocked.easiest
    findings = meetings_first(easiest.findings)
    made = sorted(
        {
            bend
            for other in variant.making.strokes
            if blocked.done >> other.index & 1
            for bend in other.bends
        }
    )
    return DeadStroke(
        bends=stroke.bends,
        made=tuple(made),
        punch=easiest.punch.name,
        rear=REARS[easiest.rear],
        side_up="A" if stroke.sign > 0 else "B",
        findings=findings,
        picture=blocked_picture(
            task,
            variant.tests,
            stroke,
            easiest.rear,
            easiest.punch,
            blocked.done,
            findings[0] if findings else None,
        ),
        others=tuple(
            OtherWay(way.punch.name, REARS[way.rear], meetings_first(way.findings))
            for way in blocked.ways
            if way is not easiest
        )[:MOST_OTHER_WAYS],
    )
