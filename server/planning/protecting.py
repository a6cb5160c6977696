"""Contacts that protect what is critical on the drawing."""

import itertools
import math
from collections.abc import Mapping
from dataclasses import replace

from server.errors import Amount, Sentence, place, say
from server.findings import Finding
from server.planning.error_stack import SAME_MM, ErrorStack, GaugingErrors
from server.planning.flat_measure import bends_between, in_words
from server.planning.gauge_stack import Measured, stacked
from server.planning.making import Making
from server.planning.plan_task import PlanTask
from server.planning.planner import DEFAULT_WORK, Plan, plan
from server.planning.search import REARS, KeepGoing, always
from server.planning.sequence import BendSequence

MOST_TRIES = 24


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
            found.append(_at_risk(measured, one, tolerance_mm, sizes))
    return tuple(found)


def _at_risk(
    measured: Measured, one: ErrorStack, tolerance_mm: float, sizes: GaugingErrors
) -> Finding:
    named = measured_words(measured)
    return Finding(
        "caution",
        "critical_leg_at_risk",
        say(
            f"{named.template} may come out {{worst}} off (statistically {{likely}}); it is allowed "
            "{tolerance}.",
            **named.amounts,
            worst=Amount(one.worst_mm, "mm"),
            likely=Amount(one.statistical_mm, "mm"),
            tolerance=Amount(tolerance_mm, "mm"),
        ),
        _what_would_protect(one, tolerance_mm, sizes),
        source="worst case of the gauging errors",
        amount=Amount(one.worst_mm - tolerance_mm, "mm"),
    )


def _what_would_protect(one: ErrorStack, tolerance_mm: float, sizes: GaugingErrors) -> Sentence:
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
    if best.sequence is None:
        return best
    making = best.sequence.making
    known = [(*_protects(best.sequence, critical_mm, sizes), best)]
    beside = sorted(
        {
            bend
            for measured in critical_mm
            for bend in bends_beside(making, measured)
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


def bends_beside(making: Making, measured: Measured) -> frozenset[int]:
    """Bends whose places a dimension depends on; ends of a profile may be counted as bends.

    Raises: ShopError as `bends_between`.
    """
    if isinstance(measured, int):
        return frozenset((measured - 1, measured))
    first, last = measured
    if isinstance(first, int) and isinstance(last, int):
        return frozenset(range(first, last))
    return bends_between(making, (str(first), str(last)))


def measured_words(measured: Measured) -> Sentence:
    """What a dimension is called."""
    if isinstance(measured, int):
        return say("Leg {leg}", leg=place(measured))
    first, last = measured
    if isinstance(first, int) and isinstance(last, int):
        return say("Legs {leg} to {last}, face to face,", leg=place(first), last=place(last))
    return say(in_words((str(first), str(last))))
