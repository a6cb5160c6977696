"""Cards of steps on the strip of a bend sequence: as kept, or as just arranged and checked."""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from server.actions.work_out_flat import part_of_faces
from server.drawings.step import draw_blocked, draw_step
from server.findings import Finding, Reason
from server.geometry.part import FlatPart
from server.planning.drawn_part import drawn_part_of
from server.planning.order_check import CheckedStep, ChosenStep, OrderCheck
from server.planning.plan_task import PlanTask, shape_bends
from server.planning.split import split_programs
from server.planning.step_reason import reasons_of_step
from server.storage.plain_finding import findings_of, reasons_of
from server.storage.plain_scene import scene_of
from server.web.pages.hold import (
    HeldStep,
    Placed,
    angles_after,
    face_told,
    held_step,
    placed_of_steps,
    placed_step,
    zones_at,
)
from server.web.pages.made_words import made_words

if TYPE_CHECKING:
    from server.storage.tables.bend_sequence import Step
    from server.storage.tables.brake import Brake
    from server.storage.tables.part import Revision


@dataclass(frozen=True)
class StepCard:
    """One step on the strip, kept or just arranged: its pictures, its numbers, what blocks it.

    `fixed` is what a person fixed of it; `program` counts the control's programs from 1.
    """

    number: int
    bends: tuple[int, ...]
    fixed: ChosenStep
    bend_angle_deg: float
    blocked: bool
    findings: tuple[Finding, ...]
    kind: str = "air"
    side_up: str = "A"
    rear: str = ""
    turned_over: bool = False
    turned_end_for_end: bool = False
    tools_changed: bool = False
    gauge_words: str = ""
    x_mm: float = 0.0
    depth_mm: float | None = None
    loaded_bend_angle_deg: float = 0.0
    force_kn: float = 0.0
    punch: str = ""
    die: str = ""
    check_mm: float | None = None
    check_tolerance_mm: float | None = None
    reasons: tuple[Reason, ...] = ()
    halves: tuple[str, str] = ("", "")
    picture_hold: str = ""
    picture_before: str = ""
    picture_after: str = ""
    starts_program: int = 0
    made: str = ""


@dataclass
class Lie:
    """What shows how the sheet lies, step after step: the part, and what is bent of it so far."""

    part: FlatPart
    is_profile: bool
    finger_width_mm: float
    made_deg: dict[int, float] = field(default_factory=dict)

    def held(self, stroke: Placed, number: int) -> HeldStep:
        """The sheet as it lies for a step."""
        made_deg = tuple(self.made_deg.items())
        return held_step(
            self.part, stroke, made_deg, self.finger_width_mm, number, shorten=self.is_profile
        )

    def named(self, face: int) -> str:
        """What a leg or face is called, as the picture of the part numbers it."""
        if not self.is_profile or face in self.part.strips:
            return face_told(self.part, face)
        return f"leg {face + 1 - sum(strip < face for strip in self.part.strips)}"

    def halves(self, bends: Sequence[int]) -> tuple[str, str]:
        """Both sides of a bend."""
        zones = self.part.zones_at(bends[0])
        beside = [face for zone in zones for face in self.part.bends[zone].faces]
        first, second, *_ = [face for face in beside if face not in self.part.strips]
        return self.named(first), self.named(second)

    def touching(self, held: HeldStep, kind: str, face: int) -> str:
        """What touches the gauge, in words; edges of a flat part by their names on its pattern."""
        if held.is_fold:
            return "the fold"
        if held.edges and kind != "flange":
            return f"edge{'s' if len(held.edges) > 1 else ''} {' and '.join(held.edges)}"
        return f"{'flange,' if kind == 'flange' else 'edge of'} {self.named(face)}"

    def bent(self, zones: Sequence[int], bend_angle_deg: float, kind: str) -> None:
        """Note that bend lines were made."""
        self.made_deg.update(angles_after(self.part, zones, kind, bend_angle_deg))


def lie_of(revision: "Revision", brake: "Brake") -> Lie:
    """A revision's part, flat, ready to be shown as it lies."""
    part = part_of_faces(revision.faces)
    if revision.kind != "profile":
        return Lie(part, is_profile=False, finger_width_mm=brake.finger_width_mm)
    bends = drawn_part_of(revision.drawn).profile.bends
    of_zone = tuple(index for index, bend in enumerate(bends) for _ in range(bend.zone_count))
    within = tuple(
        face
        for face, (before, after) in enumerate(itertools.pairwise(of_zone), start=1)
        if before == after
    )
    part = replace(part, bend_of_zone=of_zone, strips=within)
    return Lie(part, is_profile=True, finger_width_mm=brake.finger_width_mm)


def kept_cards(
    steps: "Sequence[Step]", fixed: Sequence[ChosenStep], lie: Lie, *, most_steps: int
) -> tuple[StepCard, ...]:
    """The strip of a kept sequence."""
    cards = []
    before: Step | None = None
    for step, stroke, chosen in zip(steps, placed_of_steps(lie.part, steps), fixed, strict=True):
        scene = scene_of(step.scene)
        pictures = draw_step(*scene, side_up=step.side_up, title=f"Step {step.position}")
        tools = (step.punch_code, step.die_code)
        held = lie.held(stroke, step.position)
        cards.append(
            StepCard(
                number=step.position,
                bends=tuple(step.bends),
                fixed=chosen,
                bend_angle_deg=step.bend_angle_deg,
                blocked=False,
                findings=findings_of(step.findings),
                kind=step.kind,
                side_up=step.side_up,
                rear=step.rear,
                turned_over=step.turned_over,
                turned_end_for_end=step.turned_end_for_end,
                tools_changed=before is not None and tools != (before.punch_code, before.die_code),
                gauge_words=lie.touching(held, step.gauge_kind, step.gauge_face),
                x_mm=step.x_mm,
                depth_mm=step.depth_mm,
                loaded_bend_angle_deg=step.loaded_bend_angle_deg,
                force_kn=step.force_kn,
                punch=step.punch_code,
                die=step.die_code,
                check_mm=step.check_mm,
                check_tolerance_mm=step.check_tolerance_mm,
                reasons=reasons_of(step.reasons),
                halves=lie.halves(step.bends),
                picture_hold=held.picture,
                picture_before=pictures[0],
                picture_after=pictures[1],
            )
        )
        lie.bent(stroke.zones, step.bend_angle_deg, step.kind)
        before = step
    return in_programs(cards, most_steps=most_steps)


def checked_cards(
    task: PlanTask, check: OrderCheck, fixed: Sequence[ChosenStep], lie: Lie, *, most_steps: int
) -> tuple[StepCard, ...]:
    """The strip of an order that was just checked."""
    cards = []
    for number, (step, chosen) in enumerate(zip(check.steps, fixed, strict=True), start=1):
        if step.placed is None or step.step is None:
            card = _blocked_card(task, number, step, chosen, lie)
        else:
            card = _checked_card(task, check, number, step, chosen, lie)
        made = step.step.zones if step.step is not None else zones_at(lie.part, card.bends)
        lie.bent(made, card.bend_angle_deg, card.kind)
        cards.append(card)
    return in_programs(cards, most_steps=most_steps)


def in_programs(cards: Sequence[StepCard], *, most_steps: int) -> tuple[StepCard, ...]:
    """The cards as one strip: what each does in words, and the first of each program marked where
    the control needs several.
    """
    words = made_words((card.kind, card.bends) for card in cards)
    programs = split_programs(cards, most_steps=most_steps)
    several = programs if len(programs) > 1 else ()
    starts = {program.first: number for number, program in enumerate(several, start=1)}
    return tuple(
        replace(card, made=made, starts_program=starts.get(card.number, 0))
        for card, made in zip(cards, words, strict=True)
    )


def _checked_card(
    task: PlanTask,
    check: OrderCheck,
    number: int,
    checked: CheckedStep,
    fixed: ChosenStep,
    lie: Lie,
) -> StepCard:
    step, placed = checked.step, checked.placed
    assert step is not None
    assert placed is not None
    target = step.target
    made = (step.zones, step.what, target.bend_angle_deg)
    stroke = placed_step(made, step.side_up, step.rear, step.contact, step.before)
    held = lie.held(stroke, number)
    pictures = draw_step(step.before, step.after, side_up=step.side_up, title=f"Step {number}")
    return StepCard(
        number=number,
        bends=step.bends,
        fixed=fixed,
        bend_angle_deg=target.bend_angle_deg,
        blocked=False,
        findings=step.findings,
        kind=step.what,
        side_up=step.side_up,
        rear=step.rear,
        turned_over=step.turned_over,
        turned_end_for_end=step.turned_end_for_end,
        tools_changed=step.tools_changed,
        gauge_words=lie.touching(held, step.contact.kind, step.contact.face),
        x_mm=target.x_mm,
        depth_mm=target.depth_mm,
        loaded_bend_angle_deg=target.loaded_bend_angle_deg,
        force_kn=target.force_kn,
        punch=step.punch,
        die=step.die,
        check_mm=target.check.outside_mm if target.check else None,
        check_tolerance_mm=target.check.tolerance_mm if target.check else None,
        reasons=reasons_of_step(task, step, check.making.strokes[placed.stroke]),
        halves=lie.halves(step.bends),
        picture_hold=held.picture,
        picture_before=pictures[0],
        picture_after=pictures[1],
    )


def _blocked_card(
    task: PlanTask, number: int, checked: CheckedStep, fixed: ChosenStep, lie: Lie
) -> StepCard:
    bend = shape_bends(task)[checked.bends[0]]
    side_up = "A" if bend.bend_angle_deg > 0 else "B"
    pictures = ("", "")
    if checked.picture is not None:
        pictures = draw_blocked(
            checked.picture.picture,
            checked.picture.overlap_mm,
            side_up=side_up,
            title=f"Step {number}, blocked",
        )
    return StepCard(
        number=number,
        bends=checked.bends,
        fixed=fixed,
        bend_angle_deg=abs(bend.bend_angle_deg),
        blocked=True,
        findings=checked.findings,
        side_up=side_up,
        rear=checked.rear or "",
        punch=checked.punch or "",
        halves=lie.halves(checked.bends),
        picture_before=pictures[0],
        picture_after=pictures[1],
    )
