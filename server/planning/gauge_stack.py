"""How gauging errors add up in a bent profile's dimensions, and contacts that protect the critical.

Every bend line lands where its stroke's contact puts it: an edge of the blank, or the outer face of
a flange bent before, which carries its own error on. Each dimension is the difference of two such
places, so an error they share cancels. Errors are independent limits: worst case adds their sizes,
the statistical sum takes the root of their squares (limits read as three standard deviations).
Root-sum-square tolerance stacking: e.g. ASME Y14.5.1 practice (from memory); the sizes of the
errors are common practice, no source, and shop settings.
"""

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from server.errors import Amount, ShopError, place, say
from server.findings import Finding
from server.geometry.profile import Profile
from server.planning.making import Making
from server.planning.order import PlacedStroke
from server.planning.plan_task import PlanTask, ProfileShape
from server.planning.planner import DEFAULT_WORK, Plan, plan
from server.planning.search import REARS, KeepGoing, always
from server.planning.sequence import BendSequence

MOST_TRIES = 24


@dataclass(frozen=True, slots=True)
class GaugingErrors:
    """Limits of the independent errors [mm]: gauge, blank, and a formed flange as a contact."""

    gauge_mm: float = 0.1
    blank_mm: float = 0.15
    flange_contact_mm: float = 0.15


@dataclass(frozen=True, slots=True)
class StackedLeg:
    """One leg of a profile: how far gauging may put it off, and from which errors."""

    leg: int
    worst_mm: float
    statistical_mm: float
    from_errors: Mapping[str, float]


def stacked_legs(
    making: Making, order: tuple[PlacedStroke, ...], errors: GaugingErrors
) -> tuple[StackedLeg, ...]:
    """The stack of every leg of a profile bent in an order.

    Raises: ShopError `profile_only` for a flat part.
    """
    sheet = making.sheet
    if not isinstance(sheet, Profile):
        raise ShopError(
            "profile_only",
            "Gauging errors are added up for profiles only.",
            remedy="Look at the contacts of each step instead.",
            where="part",
        )
    last_leg = len(sheet.bends)
    places: dict[int, dict[str, float]] = {-1: {}, last_leg: {"blank": errors.blank_mm}}
    for placed in order:
        stroke = making.strokes[placed.stroke]
        if stroke.depth_mm is None:
            continue
        contact = placed.contact
        sign = -1.0 if placed.rear == 0 else 1.0
        if contact.kind == "edge":
            base = places[-1 if placed.rear == 0 else last_leg]
            moved: dict[str, float] = {}
        else:
            zone = contact.face if placed.rear == 0 else contact.face - 1
            base = places.get(zone, {})
            moved = {f"contact of stroke {stroke.index}": sign * errors.flange_contact_mm}
        moved[f"gauge of stroke {stroke.index}"] = sign * errors.gauge_mm
        for zone in stroke.zones:
            places[zone] = _sum(base, moved, 1.0)
    found = []
    for leg in range(last_leg + 1):
        before = places.get(leg - 1, {})
        after = places.get(leg, {}) if leg < last_leg else places[last_leg]
        parts = {name: size for name, size in _sum(after, before, -1.0).items() if size}
        found.append(
            StackedLeg(
                leg,
                math.fsum(abs(size) for size in parts.values()),
                math.sqrt(math.fsum(size * size for size in parts.values())),
                parts,
            )
        )
    return tuple(found)


def check_critical(
    sequence: BendSequence,
    critical_mm: Mapping[int, float],
    errors: GaugingErrors | None = None,
) -> tuple[Finding, ...]:
    """Cautions for critical legs whose worst case goes beyond their tolerance.

    `critical_mm` gives the tolerance of each critical leg, either way.
    """
    stacked = stacked_legs(sequence.making, sequence.order, errors or GaugingErrors())
    return tuple(
        Finding(
            "caution",
            "critical_leg_at_risk",
            say(
                "Leg {leg} may come out {worst} off (statistically {likely}); it is allowed "
                "{tolerance}.",
                leg=place(one.leg),
                worst=Amount(one.worst_mm, "mm"),
                likely=Amount(one.statistical_mm, "mm"),
                tolerance=Amount(critical_mm[one.leg], "mm"),
            ),
            say("Gauge it directly, and measure it on every part."),
            source="worst case of the gauging errors",
            amount=Amount(one.worst_mm - critical_mm[one.leg], "mm"),
        )
        for one in stacked
        if one.leg in critical_mm and one.worst_mm > critical_mm[one.leg]
    )


def plan_protecting(
    task: PlanTask,
    critical_mm: Mapping[int, float],
    *,
    errors: GaugingErrors | None = None,
    work: int = DEFAULT_WORK,
    keep_going: KeepGoing = always,
) -> Plan:
    """The cheapest plan whose contacts keep every critical leg within its tolerance.

    When none does, the plan with the least worst excess; the caller shows `check_critical`.

    Raises: ShopError as `plan`.
    """
    sizes = errors or GaugingErrors()
    best = plan(task, work=work, keep_going=keep_going)
    if best.sequence is None or not isinstance(task.shape, ProfileShape):
        return best
    known = [(*_protects(best.sequence, critical_mm, sizes), best)]
    beside = sorted(
        {
            bend
            for leg in critical_mm
            for bend in (leg - 1, leg)
            if 0 <= bend < task.bend_count and bend not in task.wishes.gauge_from
        }
    )
    if known[0][0] > 0.0:
        tries = itertools.product(REARS, repeat=min(len(beside), 6))
        for rears in itertools.islice(tries, MOST_TRIES):
            wishes = replace(
                task.wishes,
                gauge_from={**task.wishes.gauge_from, **dict(zip(beside, rears, strict=False))},
            )
            made = plan(replace(task, wishes=wishes), work=work // 4, keep_going=keep_going)
            if made.sequence is not None:
                known.append((*_protects(made.sequence, critical_mm, sizes), made))
    return min(known, key=lambda one: one[:2])[2]


def _protects(
    sequence: BendSequence, critical_mm: Mapping[int, float], errors: GaugingErrors
) -> tuple[float, float]:
    """Worst excess over any tolerance (0 when none), then seconds."""
    stacked = stacked_legs(sequence.making, sequence.order, errors)
    excess = max(
        (
            round(max(0.0, one.worst_mm - critical_mm[one.leg]), 9)
            for one in stacked
            if one.leg in critical_mm
        ),
        default=0.0,
    )
    return excess, sequence.cost.seconds


def _sum(
    first: Mapping[str, float], second: Mapping[str, float], factor: float
) -> dict[str, float]:
    total = dict(first)
    for name, size in second.items():
        total[name] = total.get(name, 0.0) + factor * size
    return total
