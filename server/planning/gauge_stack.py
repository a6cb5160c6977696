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

from server.errors import Amount, Sentence, ShopError, place, say
from server.findings import Finding
from server.geometry.profile import Profile
from server.planning.making import Making
from server.planning.order import PlacedStroke
from server.planning.plan_task import PlanTask, ProfileShape
from server.planning.planner import DEFAULT_WORK, Plan, plan
from server.planning.search import REARS, KeepGoing, always
from server.planning.sequence import BendSequence

MOST_TRIES = 24
SAME_MM = 1e-9
PARALLEL = math.sin(math.radians(0.5))
Measured = int | tuple[int, int]
"""A leg by its number, or two parallel legs whose outer faces are measured."""


@dataclass(frozen=True, slots=True)
class GaugingErrors:
    """Limits of the independent errors [mm]: gauge, blank, and a formed flange as a contact."""

    gauge_mm: float = 0.1
    blank_mm: float = 0.15
    flange_contact_mm: float = 0.15


@dataclass(frozen=True, slots=True)
class StackedLeg:
    """One leg of a profile: how far gauging may put it off, and from which errors.

    `leg` is the first leg of a face-to-face dimension, `last_leg` its other one; equal for a leg.
    """

    leg: int
    last_leg: int
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
        found.append(_stacked(leg, leg, _sum(after, before, -1.0)))
    return tuple(found)


def stacked_faces(
    making: Making, order: tuple[PlacedStroke, ...], first: int, last: int, errors: GaugingErrors
) -> StackedLeg:
    """The stack of the distance between the outer faces of two parallel legs.

    Every leg between them counts by the part of it that stands square to them.

    Raises: ShopError `profile_only`, `not_parallel`.
    """
    legs = stacked_legs(making, order, errors)
    sheet = making.sheet
    assert isinstance(sheet, Profile)
    if not 0 <= first < last < len(legs) or not _parallel(sheet, first, last):
        raise ShopError(
            "not_parallel",
            say("Legs {first} and {last} are not parallel.", first=place(first), last=place(last)),
            remedy="Choose two legs whose faces are parallel in the finished part.",
            where="last",
        )
    parts: dict[str, float] = {}
    turned_deg = 0.0
    for leg in range(first + 1, last):
        turned_deg += sheet.bends[leg - 1].bend_angle_deg
        parts = _sum(parts, legs[leg].from_errors, math.sin(math.radians(turned_deg)))
    return _stacked(first, last, parts)


def stacked(
    making: Making, order: tuple[PlacedStroke, ...], measured: Measured, errors: GaugingErrors
) -> StackedLeg:
    """The stack of one dimension of the part as drawn.

    Raises: ShopError as `stacked_legs` and `stacked_faces`, `no_such_leg`.
    """
    if isinstance(measured, tuple):
        first, last = (sheet_leg(making, leg) for leg in measured)
        return replace(
            stacked_faces(making, order, first, last, errors), leg=measured[0], last_leg=measured[1]
        )
    legs = stacked_legs(making, order, errors)
    return replace(legs[sheet_leg(making, measured)], leg=measured, last_leg=measured)


def sheet_leg(making: Making, leg: int) -> int:
    """The sheet's own straight for a leg as drawn: bumps and offsets have straights within a bend.

    Raises: ShopError `no_such_leg`.
    """
    if leg == 0:
        return 0
    zones = [zone for stroke in making.strokes if leg - 1 in stroke.bends for zone in stroke.zones]
    if not zones:
        raise ShopError(
            "no_such_leg",
            say("There is no leg {leg}.", leg=place(leg)),
            remedy="Choose a leg of this part.",
            where="first",
        )
    return max(zones) + 1


def check_critical(
    sequence: BendSequence,
    critical_mm: Mapping[Measured, float],
    errors: GaugingErrors | None = None,
) -> tuple[Finding, ...]:
    """Cautions for critical dimensions whose worst case goes beyond their tolerance.

    `critical_mm` gives the tolerance of each critical dimension, either way.
    """
    sizes = errors or GaugingErrors()
    found = []
    for measured, tolerance_mm in critical_mm.items():
        one = stacked(sequence.making, sequence.order, measured, sizes)
        if one.worst_mm > tolerance_mm + SAME_MM:
            found.append(_at_risk(one, tolerance_mm, sizes))
    return tuple(found)


def _at_risk(one: StackedLeg, tolerance_mm: float, sizes: GaugingErrors) -> Finding:
    named = "Leg {leg}" if one.leg == one.last_leg else "Legs {leg} to {last}, face to face,"
    return Finding(
        "caution",
        "critical_leg_at_risk",
        say(
            f"{named} may come out {{worst}} off (statistically {{likely}}); it is allowed "
            "{tolerance}.",
            leg=place(one.leg),
            last=place(one.last_leg),
            worst=Amount(one.worst_mm, "mm"),
            likely=Amount(one.statistical_mm, "mm"),
            tolerance=Amount(tolerance_mm, "mm"),
        ),
        _what_would_protect(one, tolerance_mm, sizes),
        source="worst case of the gauging errors",
        amount=Amount(one.worst_mm - tolerance_mm, "mm"),
    )


def _what_would_protect(one: StackedLeg, tolerance_mm: float, sizes: GaugingErrors) -> Sentence:
    """The one kind of error that, made small enough, would bring the worst case inside."""
    kinds = (
        ("blank", "the blank cut", sizes.blank_mm),
        ("gauge", "the gauge repeating", sizes.gauge_mm),
        ("contact", "flanges gauged", sizes.flange_contact_mm),
    )
    over_mm = one.worst_mm - tolerance_mm
    shares = {
        kind: math.fsum(
            abs(size) for name, size in one.from_errors.items() if name.startswith(kind)
        )
        for kind, _, _ in kinds
    }
    kind, words, now_mm = max(kinds, key=lambda entry: shares[entry[0]])
    if shares[kind] <= over_mm:
        return say("No contact holds it: measure it on every part, or ask for a wider tolerance.")
    return say(
        f"With {words} within {{needed}} instead of {{now}} it would hold; until then measure it "
        "on every part.",
        needed=Amount(now_mm * (1.0 - over_mm / shares[kind]), "mm"),
        now=Amount(now_mm, "mm"),
    )


def plan_protecting(
    task: PlanTask,
    critical_mm: Mapping[Measured, float],
    *,
    errors: GaugingErrors | None = None,
    best: Plan | None = None,
    work: int = DEFAULT_WORK,
    keep_going: KeepGoing = always,
) -> Plan:
    """The cheapest plan whose contacts keep every critical dimension within its tolerance.

    `best` is the plan of the task, where it was made already. When none does, the plan with the least worst excess; the caller shows `check_critical`.

    Raises: ShopError as `plan`.
    """
    sizes = errors or GaugingErrors()
    best = best or plan(task, work=work, keep_going=keep_going)
    if best.sequence is None or not isinstance(task.shape, ProfileShape):
        return best
    known = [(*_protects(best.sequence, critical_mm, sizes), best)]
    beside = sorted(
        {
            bend
            for measured in critical_mm
            for bend in _bends_beside(measured)
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
    sequence: BendSequence, critical_mm: Mapping[Measured, float], errors: GaugingErrors
) -> tuple[float, float]:
    """Worst excess over any tolerance (0 when none), then seconds."""
    excess = max(
        (
            stacked(sequence.making, sequence.order, measured, errors).worst_mm - tolerance_mm
            for measured, tolerance_mm in critical_mm.items()
        ),
        default=0.0,
    )
    return round(max(0.0, excess), 6), round(sequence.cost.seconds, 6)


def _bends_beside(measured: Measured) -> range:
    """Bends whose places a dimension depends on."""
    if isinstance(measured, tuple):
        return range(measured[0], measured[1])
    return range(measured - 1, measured + 1)


def _parallel(sheet: Profile, first: int, last: int) -> bool:
    turned_deg = sum(bend.bend_angle_deg for bend in sheet.bends[first:last])
    return abs(math.sin(math.radians(turned_deg))) < PARALLEL


def _stacked(first: int, last: int, parts: Mapping[str, float]) -> StackedLeg:
    sizes = {name: size for name, size in parts.items() if abs(size) > SAME_MM}
    return StackedLeg(
        first,
        last,
        math.fsum(abs(size) for size in sizes.values()),
        math.sqrt(math.fsum(size * size for size in sizes.values())),
        sizes,
    )


def _sum(
    first: Mapping[str, float], second: Mapping[str, float], factor: float
) -> dict[str, float]:
    total = dict(first)
    for name, size in second.items():
        total[name] = total.get(name, 0.0) + factor * size
    return total
