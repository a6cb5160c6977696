"""An order a person arranged, checked step by step without any search.

Every step is looked at in the state the steps before it leave, whether they were possible or not, so
one blocked step does not hide the next. Where a half or punch is left open the cheapest possible
choice over the whole order is taken (dynamic programming along the order).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from server.errors import ShopError, place, say
from server.findings import Finding
from server.geometry.profile import Rear
from server.planning.order import OrderCost, PlacedStroke, Pose, order_cost
from server.planning.plan_task import PlanTask, checked_wishes
from server.planning.planner import Variant, prepare_stations, single_die_variants
from server.planning.search import REARS
from server.planning.sequence import BendSequence, bend_sequence
from server.planning.stroke import Stroke


@dataclass(frozen=True, slots=True)
class ChosenStep:
    """One step as a person chose it: a bend of the stroke, and what else is fixed."""

    bend: int
    rear: Rear | None = None
    punch: str | None = None


@dataclass(frozen=True, slots=True)
class CheckedStep:
    """One step after the check; `placed` None when it cannot be done there."""

    bends: tuple[int, ...]
    placed: PlacedStroke | None
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class OrderCheck:
    """A whole order after the check; the bend sequence only when every step can be done."""

    steps: tuple[CheckedStep, ...]
    cost: OrderCost
    sequence: BendSequence | None

    @property
    def possible(self) -> bool:
        """Whether every step can be done."""
        return self.sequence is not None


def check_order(
    task: PlanTask, chosen: Sequence[ChosenStep], *, die: str | None = None
) -> OrderCheck:
    """The order in the named die, or in the die that blocks the fewest steps.

    Raises: ShopError `no_such_bend`, `step_missing`, `step_too_many`, or from the making.
    """
    checked_wishes(task.wishes, task.bend_count)
    variants, blocked = single_die_variants(task)
    wanted = [one for one in variants if die is None or one.fits[0].die.name == die]
    if not wanted:
        stop = next((one for one in blocked if die is None or one.tool == die), None)
        raise ShopError(
            "no_such_die" if stop is None else stop.code,
            say("There is no die '{die}' here.", die=die or "") if stop is None else stop.what,
            remedy=stop.frees or "Choose another die." if stop else "Choose one of the dies.",
            where="die",
        )
    checks = [_check(task, variant, chosen) for variant in wanted]
    return min(checks, key=lambda one: (_blocked(one), one.cost.seconds))


def _check(task: PlanTask, variant: Variant, chosen: Sequence[ChosenStep]) -> OrderCheck:
    prepare_stations(variant)
    strokes = _strokes_in_order(variant, chosen)
    steps: list[CheckedStep] = []
    options: list[list[PlacedStroke]] = []
    done = 0
    for step, stroke in zip(chosen, strokes, strict=True):
        found = _options(variant, stroke, step, done)
        options.append(found)
        steps.append(
            CheckedStep(stroke.bends, None, () if found else _why(variant, stroke, step, done))
        )
        done |= 1 << stroke.index
    order = _cheapest(variant, options)
    placed = iter(order)
    steps = [
        CheckedStep(step.bends, next(placed) if found else None, step.findings)
        for step, found in zip(steps, options, strict=True)
    ]
    sequence = None
    if all(options):
        sequence = bend_sequence(task, variant.tests, variant.costs, order)
    return OrderCheck(tuple(steps), order_cost(order, variant.costs), sequence)


def _strokes_in_order(variant: Variant, chosen: Sequence[ChosenStep]) -> list[Stroke]:
    """The stroke of each step: of a bend made in several strokes the next one not yet made."""
    left = list(variant.making.strokes)
    found = []
    for number, step in enumerate(chosen):
        stroke = next((one for one in left if step.bend in one.bends), None)
        if stroke is None:
            known = any(step.bend in one.bends for one in variant.making.strokes)
            raise ShopError(
                "step_too_many" if known else "no_such_bend",
                say(
                    "Step {step} names bend {bend} once too often.",
                    step=str(number + 1),
                    bend=place(step.bend),
                )
                if known
                else say("There is no bend {bend}.", bend=place(step.bend)),
                remedy="Name every stroke once.",
                where=f"steps.{number}",
            )
        left.remove(stroke)
        found.append(stroke)
    if left:
        raise ShopError(
            "step_missing",
            say("No step makes bend {bend}.", bend=place(left[0].bends[0])),
            remedy="Add the missing steps.",
            where="steps",
        )
    return found


def _options(variant: Variant, stroke: Stroke, step: ChosenStep, done: int) -> list[PlacedStroke]:
    """Every way the step can be done in its place."""
    if any(not done >> first & 1 for first in stroke.after):
        return []
    found = []
    for rear in variant.rears[stroke.index]:
        if step.rear is not None and REARS[rear] != step.rear:
            continue
        contact = variant.tests.contact(done, stroke.index, rear)
        if contact is None:
            continue
        for punch in variant.punches[stroke.index]:
            if step.punch is not None and punch.name != step.punch:
                continue
            if not variant.tests.possible(done, stroke.index, rear, punch):
                continue
            for station in variant.tests.stations(done, stroke.index, rear, punch):
                pose = Pose(
                    0 if stroke.sign > 0 else 1,
                    variant.tests.directions[stroke.index][rear],
                    contact.x_mm,
                    f"{punch.name} / {stroke.die.name}",
                    station,
                )
                found.append(PlacedStroke(stroke.index, rear, punch, contact, pose))
    return found


def _why(variant: Variant, stroke: Stroke, step: ChosenStep, done: int) -> tuple[Finding, ...]:
    """What blocks a step in its place, in the position and punch it is least blocked in."""
    missing = [first for first in stroke.after if not done >> first & 1]
    if missing:
        bends = sorted({bend for one in missing for bend in variant.making.strokes[one].bends})
        told = ", ".join(f"bend {{bend_{bend}}}" for bend in bends)
        return (
            Finding(
                "stop",
                "too_early",
                say(
                    f"Bend {{bend}} has to come after {told}.",
                    bend=place(stroke.bends[0]),
                    **{f"bend_{bend}": place(bend) for bend in bends},
                ),
                say("Move it after them, or take the wish back."),
                source="the shop's wish, or the strokes of one bend",
                bend=stroke.bends[0],
            ),
        )
    found: list[tuple[Finding, ...]] = []
    for rear in variant.rears[stroke.index]:
        if step.rear is not None and REARS[rear] != step.rear:
            continue
        found += [
            variant.tests.findings(done, stroke.index, rear, punch)
            for punch in stroke.punches
            if step.punch is None or punch.name == step.punch
        ]
    return min(
        (one for one in found if one),
        key=lambda one: (len(one), sum(f.amount.value for f in one if f.amount)),
        default=(_not_allowed(stroke),),
    )


def _not_allowed(stroke: Stroke) -> Finding:
    return Finding(
        "stop",
        "not_as_chosen",
        say("Bend {bend} cannot be done as chosen.", bend=place(stroke.bends[0])),
        say("Leave the half or the punch open."),
        source="the choices of this step and the shop's wishes",
        bend=stroke.bends[0],
    )


def _cheapest(
    variant: Variant, options: Sequence[Sequence[PlacedStroke]]
) -> tuple[PlacedStroke, ...]:
    """The cheapest choice for each possible step; blocked steps are passed over."""
    ways: list[tuple[float, tuple[PlacedStroke, ...]]] = [(0.0, ())]
    for found in options:
        if not found:
            continue
        longer = []
        for placed in found:
            best = (math.inf, ways[0][1])
            for seconds, order in ways:
                move_s = variant.costs.move_s(order[-1].pose, placed.pose) if order else 0.0
                if seconds + move_s < best[0]:
                    best = (seconds + move_s, order)
            longer.append((best[0] + variant.costs.stroke_s(placed.contact), (*best[1], placed)))
        ways = longer
    return min(ways, key=lambda one: one[0])[1]


def _blocked(check: OrderCheck) -> int:
    return sum(step.placed is None for step in check.steps)
