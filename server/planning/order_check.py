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
from server.mechanics.tooling import Punch
from server.planning.bend_way import Fit
from server.planning.blocked_picture import BlockedPicture, blocked_picture, meetings_first
from server.planning.making import Making, fits_of_die
from server.planning.order import OrderCost, PlacedStroke, Pose, order_cost
from server.planning.plan_task import PlanTask, checked_wishes
from server.planning.planner import single_die_variants, variant_of
from server.planning.search import REARS, TIE_S
from server.planning.sequence import BendSequence, PlanStep, bend_sequence, plan_steps
from server.planning.stroke import Stroke
from server.planning.variant import Variant, prepare_stations


@dataclass(frozen=True, slots=True)
class ChosenStep:
    """One step as a person chose it: a bend of the stroke, and what else is fixed."""

    bend: int
    rear: Rear | None = None
    punch: str | None = None


@dataclass(frozen=True, slots=True)
class CheckedStep:
    """One step after the check: how it is made, or what blocks it in its easiest position.

    `placed` and `step` are None when it cannot be done there; `rear`, `punch` and `picture` then
    show the position the findings tell of, None where no position comes into question.
    """

    bends: tuple[int, ...]
    placed: PlacedStroke | None
    findings: tuple[Finding, ...]
    step: PlanStep | None = None
    rear: Rear | None = None
    punch: str | None = None
    picture: BlockedPicture | None = None


@dataclass(frozen=True, slots=True)
class OrderCheck:
    """A whole order after the check; the bend sequence only when every step can be done.

    The cost counts the steps that can be done.
    """

    steps: tuple[CheckedStep, ...]
    cost: OrderCost
    sequence: BendSequence | None
    making: Making

    @property
    def possible(self) -> bool:
        """Whether every step can be done."""
        return self.sequence is not None

    @property
    def blocked_count(self) -> int:
        """How many steps cannot be done."""
        return sum(step.placed is None for step in self.steps)


class OrderChecker:
    """A part made ready once, so that many orders of it are checked quickly."""

    def __init__(
        self, task: PlanTask, *, die: str | None = None, die_of_bend: Sequence[str] = ()
    ) -> None:
        """Every die of the task, the named one, or for each bend its own.

        Raises: ShopError `no_such_die`, or from the wishes and the making.
        """
        checked_wishes(task.wishes, task.bend_count)
        self.task = task
        if die_of_bend:
            self.variants = [variant_of(task, _fits(task, die_of_bend))]
        else:
            self.variants = _single(task, die)
        for variant in self.variants:
            prepare_stations(variant)

    def check(self, chosen: Sequence[ChosenStep], *, pictures: bool = True) -> OrderCheck:
        """The order in the dies that block the fewest steps, then the cheapest.

        Raises: ShopError `no_such_bend`, `step_missing`, `step_too_many`.
        """
        checks = [_check(self.task, one, chosen, pictures=pictures) for one in self.variants]
        return min(checks, key=lambda one: (one.blocked_count, round(one.cost.seconds, 6)))


def check_order(
    task: PlanTask, chosen: Sequence[ChosenStep], *, die: str | None = None
) -> OrderCheck:
    """The order in the named die, or in the die that blocks the fewest steps.

    Raises: ShopError `no_such_bend`, `step_missing`, `step_too_many`, or from the making.
    """
    return OrderChecker(task, die=die).check(chosen)


def _single(task: PlanTask, die: str | None) -> list[Variant]:
    variants, blocked = single_die_variants(task)
    wanted = [one for one in variants if die is None or one.fits[0].die.name == die]
    if wanted:
        return wanted
    stop = next((one for one in blocked if die is None or one.tool == die), None)
    raise ShopError(
        "no_such_die" if stop is None else stop.code,
        say("There is no die '{die}' here.", die=die or "") if stop is None else stop.what,
        remedy=stop.frees or "Choose another die." if stop else "Choose one of the dies.",
        where="die",
    )


def _fits(task: PlanTask, die_of_bend: Sequence[str]) -> list[Fit]:
    """The first fit of each bend's own die."""
    fits = {}
    for die in task.dies:
        of_die = fits_of_die(task, die)
        if of_die:
            fits[die.name] = of_die[0]
    missing = [name for name in die_of_bend if name not in fits]
    if missing:
        raise ShopError(
            "no_such_die",
            say("There is no die '{die}' here.", die=missing[0]),
            remedy="Choose one of the dies.",
            where="die",
        )
    return [fits[name] for name in die_of_bend]


def _check(
    task: PlanTask, variant: Variant, chosen: Sequence[ChosenStep], *, pictures: bool
) -> OrderCheck:
    strokes = _strokes_in_order(variant, chosen)
    options: list[list[PlacedStroke]] = []
    before: list[int] = []
    done = 0
    for step, stroke in zip(chosen, strokes, strict=True):
        options.append(_options(variant, stroke, step, done))
        before.append(done)
        done |= 1 << stroke.index
    order = _cheapest(variant, options)
    placed = iter(order)
    places = [next(placed) if found else None for found in options]
    numbered = [
        (number + 1, one, before[number]) for number, one in enumerate(places) if one is not None
    ]
    sequence = None
    drawn: Sequence[PlanStep] = ()
    if pictures and all(options):
        sequence = bend_sequence(task, variant.tests, variant.costs, order)
        drawn = sequence.steps
    elif pictures:
        drawn = plan_steps(task, variant.tests, numbered)
    made = iter(drawn)
    steps = [
        CheckedStep(stroke.bends, one, (), next(made) if pictures else None)
        if one is not None
        else _blocked_step(task, variant, stroke, step, state, pictures=pictures)
        for step, stroke, one, state in zip(chosen, strokes, places, before, strict=True)
    ]
    return OrderCheck(tuple(steps), order_cost(order, variant.costs), sequence, variant.making)


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


def _blocked_step(
    task: PlanTask,
    variant: Variant,
    stroke: Stroke,
    step: ChosenStep,
    done: int,
    *,
    pictures: bool,
) -> CheckedStep:
    """What blocks a step in its place, in the position and punch it is least blocked in."""
    early = _too_early(variant, stroke, done)
    if early is not None:
        return CheckedStep(stroke.bends, None, (early,))
    found: list[tuple[tuple[Finding, ...], int, Punch]] = []
    for rear in variant.rears[stroke.index]:
        if step.rear is not None and REARS[rear] != step.rear:
            continue
        found += [
            (variant.tests.findings(done, stroke.index, rear, punch), rear, punch)
            for punch in stroke.punches
            if step.punch is None or punch.name == step.punch
        ]
    told = [one for one in found if one[0]]
    if not told:
        return CheckedStep(stroke.bends, None, (_not_allowed(stroke),))
    findings, rear, punch = min(
        told, key=lambda one: (len(one[0]), sum(f.amount.value for f in one[0] if f.amount))
    )
    findings = meetings_first(findings)
    picture = None
    if pictures:
        picture = blocked_picture(task, variant.tests, stroke, rear, punch, done, findings[0])
    return CheckedStep(stroke.bends, None, findings, None, REARS[rear], punch.name, picture)


def _too_early(variant: Variant, stroke: Stroke, done: int) -> Finding | None:
    missing = [first for first in stroke.after if not done >> first & 1]
    if not missing:
        return None
    bends = sorted({bend for one in missing for bend in variant.making.strokes[one].bends})
    told = ", ".join(f"bend {{bend_{bend}}}" for bend in bends)
    return Finding(
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
                if seconds + move_s < best[0] - TIE_S:
                    best = (seconds + move_s, order)
            longer.append((best[0] + variant.costs.stroke_s(placed.contact), (*best[1], placed)))
        ways = longer
    return min(ways, key=lambda one: round(one[0], 6))[1]
