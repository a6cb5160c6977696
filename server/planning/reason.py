"""Why a part cannot be bent, and what would free it.

A set of strokes of which none can be the last is a proof in itself: whatever is bent first, one of
them has to be last of the set. The smallest such set found is reported, each of its bends with what
it meets in the state before it.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from server.errors import say
from server.findings import Finding
from server.mechanics.tooling import Punch
from server.planning.plan_task import PlanTask
from server.planning.variant import Attempt, Variant

MOST_BLOCKERS = 60


def blockers_of(task: PlanTask, attempts: Sequence[Attempt]) -> tuple[Finding, ...]:
    """What blocks every way, each bend and tool once, with the least amount it is blocked by."""
    found: list[Finding] = []
    for attempt in attempts:
        found += variant_blockers(attempt)
    if not task.dies or not task.punches:
        found.append(_no_tools())
    return _least_of_each(found)[:MOST_BLOCKERS]


def variant_blockers(attempt: Attempt) -> list[Finding]:
    """What blocks the part in the dies of one variant."""
    variant = attempt.variant
    found: list[Finding] = []
    for stroke, punches in zip(variant.making.strokes, variant.punches, strict=True):
        if not punches:
            found += own_stops(variant, stroke.index)
    if found:
        return found
    if attempt.bound_s < math.inf:
        return [_not_found(attempt)]
    smallest = smallest_dead_set(attempt)
    if smallest is None:
        return [_no_way_through(attempt)]
    return [finding for blocked in smallest[1] for way in blocked.ways for finding in way.findings]


@dataclass(frozen=True, slots=True)
class BlockedWay:
    """One way to make a stroke in a state, and what blocks it."""

    rear: int
    punch: Punch
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class BlockedStroke:
    """A stroke that cannot be made after others, each punch in its easier position."""

    stroke: int
    done: int
    ways: tuple[BlockedWay, ...]

    @property
    def easiest(self) -> BlockedWay:
        """The way that is blocked least."""
        return min(self.ways, key=lambda way: _weight(way.findings))


def smallest_dead_set(attempt: Attempt) -> tuple[int, tuple[BlockedStroke, ...]] | None:
    """The smallest set of strokes of which none can be the last, with what blocks each.

    None when every set looked at has a last stroke.
    """
    variant = attempt.variant
    count = len(variant.making.strokes)
    alone = [1 << stroke for stroke in range(count)]
    ordered = sorted(set(attempt.dead_sets), key=lambda done: (done.bit_count(), done))
    for dead in (*alone, *ordered, (1 << count) - 1):
        found = _blocked_in_set(variant, dead)
        if found:
            return dead, found
    return None


def _blocked_in_set(variant: Variant, dead: int) -> tuple[BlockedStroke, ...]:
    """What blocks each stroke of a set from being its last; empty when one of them can be."""
    found: list[BlockedStroke] = []
    for stroke in variant.making.strokes:
        index = stroke.index
        needed = any(
            index in other.after and dead >> other.index & 1 for other in variant.making.strokes
        )
        if not dead >> index & 1 or needed:
            continue
        ways = blocked_ways(variant, index, dead & ~(1 << index))
        if not ways:
            return ()
        found.append(BlockedStroke(index, dead & ~(1 << index), ways))
    return tuple(found)


def own_stops(variant: Variant, stroke: int) -> list[Finding]:
    """What blocks a stroke by itself with any punch: its limits, and tools of the wrong length."""
    punches = variant.making.strokes[stroke].punches
    return [finding for punch in punches for finding in own_stops_with(variant, stroke, punch)]


def own_stops_with(variant: Variant, stroke: int, punch: Punch) -> tuple[Finding, ...]:
    """What blocks a stroke by itself with one punch."""
    from server.planning.profile_strokes import ProfileStrokes

    one = variant.making.strokes[stroke]
    stops = one.stops(punch)
    if not stops and isinstance(variant.tests, ProfileStrokes):
        return variant.tests.stageable(punch, one.die)
    return stops


def blocked_ways(variant: Variant, stroke: int, done: int) -> tuple[BlockedWay, ...]:
    """What blocks a stroke after others, for each punch in its easier position.

    Empty when one punch can make it.
    """
    found: list[BlockedWay] = []
    for punch in variant.punches[stroke]:
        positions = [
            BlockedWay(rear, punch, variant.tests.findings(done, stroke, rear, punch))
            for rear in variant.rears[stroke]
        ]
        if not all(way.findings for way in positions):
            return ()
        if positions:
            found.append(min(positions, key=lambda way: _weight(way.findings)))
    return tuple(found)


def _weight(findings: tuple[Finding, ...]) -> tuple[int, float]:
    return len(findings), sum(one.amount.value for one in findings if one.amount)


def _least_of_each(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    kept: dict[tuple[int | None, str, str | None], Finding] = {}
    for finding in findings:
        key = (finding.bend, finding.code, finding.tool)
        known = kept.get(key)
        if known is None or _amount(finding) < _amount(known):
            kept[key] = finding
    return tuple(kept.values())


def _amount(finding: Finding) -> float:
    return finding.amount.value if finding.amount else 0.0


def _not_found(attempt: Attempt) -> Finding:
    return Finding(
        "stop",
        "not_found",
        say(
            "No order was found in the work allowed; it is not proven that there is none "
            "({strokes} strokes).",
            strokes=str(len(attempt.variant.making.strokes)),
        ),
        say("Allow more time, or fix a part of the order."),
        source="the search was cut short",
    )


def _no_way_through(attempt: Attempt) -> Finding:
    return Finding(
        "stop",
        "no_order",
        say(
            "Each stroke can be last of some, but no order of all {strokes} goes through.",
            strokes=str(len(attempt.variant.making.strokes)),
        ),
        say("Take back wishes for the order, or use other tools."),
        source="every order was looked at",
    )


def _no_tools() -> Finding:
    return Finding(
        "stop",
        "no_tools",
        say("No punch or no die was given."),
        say("Give at least one of each."),
        source="the tools given",
    )
