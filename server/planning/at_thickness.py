"""A kept bend sequence on another sheet: every number worked out again, with old, new and why.

The order, halves and tools stay as they were kept; depth, X, angle under load and force follow the
sheet in hand: its measured thickness, and the strengths of its certificate. A step whose limits are
then exceeded is blocked and says what would unblock it. The blank stays as it was cut.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from server.errors import Amount, Sentence, ShopError, Unit, say
from server.findings import Finding, Given, Reason, has_stop
from server.geometry.profile import Rear
from server.mechanics.material import Material
from server.planning.dimension import general
from server.planning.making import Making
from server.planning.order_check import CheckedStep, ChosenStep, OrderChecker
from server.planning.plan_task import PlanTask, ProfileShape
from server.planning.step_reason import TRY_IT, depth_slope
from server.planning.step_target import StepTarget, step_target
from server.planning.stroke import Stroke

SAME = 5e-4
"""Lengths [mm], angles [deg] and forces [kN] closer than this have not changed."""


@dataclass(frozen=True, slots=True)
class KeptStep:
    """One step as it was kept: what fixes it, and its numbers on the sheet it was planned for."""

    number: int
    bend: int
    rear: Rear
    punch: str
    die: str
    x_mm: float
    depth_mm: float | None
    loaded_bend_angle_deg: float
    force_kn: float


@dataclass(frozen=True, slots=True)
class SheetInHand:
    """The sheet a job is bent from. `why` names the lot or the measurement in a few words."""

    thickness_mm: float
    material: Material
    why: str


@dataclass(frozen=True, slots=True)
class NumberChange:
    """One number of a step, old and new, and how much of the change each reason makes."""

    number: str
    before: Amount
    now: Amount
    because: tuple[tuple[str, Amount], ...]


@dataclass(frozen=True, slots=True)
class StepOnSheet:
    """One step on the sheet in hand; the numbers are None where it is blocked."""

    number: int
    target: StepTarget | None
    depth_mm_per_deg: float | None
    force_kn_per_m: float | None
    changes: tuple[NumberChange, ...]
    reasons: tuple[Reason, ...]
    findings: tuple[Finding, ...]

    @property
    def blocked(self) -> bool:
        """Whether the step may not be started."""
        return has_stop(self.findings)


@dataclass(frozen=True, slots=True)
class OnSheet:
    """A whole sequence on the sheet in hand; `findings` are about the blank."""

    steps: tuple[StepOnSheet, ...]
    findings: tuple[Finding, ...]
    flat_length_mm: float | None

    @property
    def blocked(self) -> bool:
        """Whether some step may not be started."""
        return any(step.blocked for step in self.steps)


def at_thickness(
    task: PlanTask,
    kept: Sequence[KeptStep],
    sheet: SheetInHand,
    *,
    blank_mm: float | None = None,
) -> OnSheet:
    """The kept steps on the sheet in hand. `task` is the one they were planned for.

    Raises: ShopError as the check of an order; what a thickness makes impossible is a finding.
    """
    there = replace(task, thickness_mm=sheet.thickness_mm, material=sheet.material)
    chosen = [ChosenStep(step.bend, step.rear, step.punch) for step in kept]
    dies = _die_of_bend(task, kept)
    try:
        now = OrderChecker(there, die_of_bend=dies).check(chosen, pictures=False)
        thicker = OrderChecker(replace(there, material=task.material), die_of_bend=dies)
    except ShopError as trouble:
        return OnSheet(tuple(_all_blocked(kept, trouble)), (), None)
    first = next((step.placed for step in now.steps if step.placed is not None), None)
    old_metal = thicker.variants[0].making
    steps = []
    for step, checked in zip(kept, now.steps, strict=True):
        if checked.placed is None or first is None:
            steps.append(_blocked(step, checked))
            continue
        target = step_target(there, now.making, checked.placed, first)
        stroke = now.making.strokes[checked.placed.stroke]
        by_thickness = old_metal.strokes[checked.placed.stroke]
        steps.append(_on_sheet(task, there, step, target, stroke, by_thickness, sheet))
    return OnSheet(
        tuple(steps),
        tuple(_blank(task, now.making, sheet, blank_mm)),
        now.making.flat_length_mm,
    )


def _die_of_bend(task: PlanTask, kept: Sequence[KeptStep]) -> tuple[str, ...]:
    die_of = {step.bend: step.die for step in kept if step.depth_mm is not None}
    usual = next(iter(die_of.values()), task.dies[0].name)
    return tuple(die_of.get(bend, usual) for bend in range(task.bend_count))


def _on_sheet(
    task: PlanTask,
    there: PlanTask,
    kept: KeptStep,
    target: StepTarget,
    stroke: Stroke,
    by_thickness: Stroke,
    sheet: SheetInHand,
) -> StepOnSheet:
    changes = tuple(_changes(kept, target, by_thickness))
    return StepOnSheet(
        number=kept.number,
        target=target,
        depth_mm_per_deg=depth_slope(there, stroke) if stroke.depth_mm is not None else None,
        force_kn_per_m=stroke.line_load_kn_per_m,
        changes=changes,
        reasons=tuple(_reason(change, task, there, sheet) for change in changes),
        findings=tuple(
            finding
            for finding in (*stroke.findings, *stroke.findings_of_punch.get(kept.punch, ()))
            if finding.level != "stop"
        ),
    )


def _changes(kept: KeptStep, target: StepTarget, by_thickness: Stroke) -> Iterator[NumberChange]:
    """What differs from the kept numbers, split into thickness and strength."""
    rows: tuple[tuple[str, Unit, float | None, float | None, float | None], ...] = (
        ("depth", "mm", kept.depth_mm, by_thickness.depth_mm, target.depth_mm),
        (
            "angle under load",
            "deg",
            kept.loaded_bend_angle_deg,
            by_thickness.loaded_deg,
            target.loaded_bend_angle_deg,
        ),
        ("force", "kn", kept.force_kn, by_thickness.force_kn, target.force_kn),
        ("X", "mm", kept.x_mm, target.x_mm, target.x_mm),
    )
    for number, unit, before, thick, now in rows:
        if before is None or thick is None or now is None or abs(now - before) <= SAME:
            continue
        parts = (
            ("the thickness", Amount(thick - before, unit)),
            ("the strength of this lot", Amount(now - thick, unit)),
        )
        yield NumberChange(
            number,
            Amount(before, unit),
            Amount(now, unit),
            tuple(part for part in parts if abs(part[1].value) > SAME),
        )


def _reason(change: NumberChange, task: PlanTask, there: PlanTask, sheet: SheetInHand) -> Reason:
    return Reason(
        number=change.number,
        result=change.now,
        rule=f"worked out again for {sheet.why}",
        formula="new = old + what each reason adds",
        given=(
            Given("old", "as it was planned", change.before),
            Given("t₀", "thickness planned for", Amount(task.thickness_mm, "mm")),
            Given("t", "thickness of this sheet", Amount(there.thickness_mm, "mm")),
            *(Given("+", words, amount) for words, amount in change.because),
        ),
        source="the same rules as in the plan, with this sheet's numbers",
        sure=say("{try_it}", try_it=TRY_IT),
    )


def _blocked(kept: KeptStep, checked: CheckedStep) -> StepOnSheet:
    return StepOnSheet(kept.number, None, None, None, (), (), checked.findings)


def _all_blocked(kept: Sequence[KeptStep], trouble: ShopError) -> Iterator[StepOnSheet]:
    """A sheet the formulas refuse altogether: nothing may be started."""
    for step in kept:
        finding = Finding(
            "stop",
            trouble.code,
            trouble.what,
            trouble.remedy if str(trouble.remedy) else _measure_again(),
            source="the part worked out at this thickness",
            bend=step.bend,
        )
        yield StepOnSheet(step.number, None, None, None, (), (), (finding,))


def _measure_again() -> Sentence:
    return say("Measure the sheet again, or take another lot.")


def _blank(
    task: PlanTask, making: Making, sheet: SheetInHand, blank_mm: float | None
) -> Iterator[Finding]:
    """The blank was cut for the planned thickness: what is over or short goes into one leg."""
    if blank_mm is None or making.flat_length_mm is None:
        return
    error_mm = blank_mm - making.flat_length_mm
    if abs(error_mm) <= SAME or not isinstance(task.shape, ProfileShape):
        return
    allowed_mm = general(min(task.shape.legs_mm), task.tolerance_class)
    tells: Mapping[bool, str] = {True: "long", False: "short"}
    yield Finding(
        "caution" if allowed_mm is None or abs(error_mm) > allowed_mm else "note",
        "blank_for_other_thickness",
        say(
            f"The blank was cut for {{planned}}; at {{now}} it is {{error}} too {tells[error_mm > 0]}.",
            planned=Amount(task.thickness_mm, "mm"),
            now=Amount(sheet.thickness_mm, "mm"),
            error=Amount(abs(error_mm), "mm"),
        ),
        say(
            "The gauged legs come out right; the leg that is never gauged takes it up. Check that "
            "leg on the first part."
        ),
        source="flat length at the two thicknesses, with the revision's K-factor",
        amount=Amount(error_mm, "mm"),
    )
