"""Pages about bend sequences: the strip of steps, other ways, dimensions, the sheet in hand."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, ClassVar

from server.actions.work_out import section_of_faces
from server.actions.work_out_flat import part_of_faces
from server.drawings.flat import draw_flat
from server.drawings.section import SectionWords, draw_section
from server.drawings.step import draw_blocked, draw_step
from server.errors import Sentence
from server.findings import Finding, Reason
from server.geometry.part import FlatPart
from server.geometry.plain_part import flat_part_of
from server.planning.dimension import Dimension
from server.planning.errand import Told
from server.planning.flat_measure import in_words
from server.planning.order import OrderCost
from server.planning.order_check import CheckedStep, ChosenStep, OrderCheck
from server.planning.plan_task import PlanTask, shape_bends
from server.planning.split import split_programs
from server.planning.step_reason import reasons_of_step
from server.storage.plain_finding import findings_of, reasons_of
from server.storage.plain_outcome import dimensions_kept, ways_of
from server.storage.plain_scene import scene_of
from server.web.display import Display
from server.web.forms.arrangement import Arrangement, order_text, past_text
from server.web.forms.conflict import Conflict, conflict_of
from server.web.forms.form import Form, Problem
from server.web.forms.tolerance import CLASS_WORDS, pair_name
from server.web.pages.hold import HeldStep, Placed, held_step, placed_of_steps, placed_step
from server.web.pages.page import Frame, Page

if TYPE_CHECKING:
    from server.storage.tables.bend_sequence import BendSequence, Step
    from server.storage.tables.brake import Brake
    from server.storage.tables.part import Revision
    from server.storage.tables.planning import Planning

PARTLY = frozenset({"bump", "acute"})
"""Kinds of stroke that leave a bend short of its whole angle."""


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
        return f"{'leg' if self.is_profile else 'face'} {face + 1}"

    def halves(self, bends: Sequence[int]) -> tuple[str, str]:
        """Both sides of a bend."""
        first, second = self.part.bends[bends[0]].faces
        return self.named(first), self.named(second)

    def touching(self, held: HeldStep, kind: str, face: int) -> str:
        """What touches the gauge, in words; edges of a flat part by their names on its pattern."""
        if held.edges and kind != "flange":
            return f"edge{'s' if len(held.edges) > 1 else ''} {' and '.join(held.edges)}"
        return f"{'flange,' if kind == 'flange' else 'edge of'} {self.named(face)}"

    def bent(self, bends: Sequence[int], bend_angle_deg: float, kind: str) -> None:
        """Note that bends were made; a bumped one grows with every hit."""
        for bend in bends:
            whole = self.part.bends[bend].bend_angle_deg
            before = abs(self.made_deg.get(bend, 0.0)) if kind == "bump" else 0.0
            now = min(abs(whole), before + bend_angle_deg) if kind in PARTLY else abs(whole)
            self.made_deg[bend] = math.copysign(now, whole)


@dataclass(frozen=True)
class SequenceStrip(Page):
    """The steps in order, and the form that arranges them."""

    template: ClassVar[str] = "bend_sequence/_strip.html"
    sequence: "BendSequence"
    cards: tuple[StepCard, ...]
    order: str
    past: str
    ahead: str
    arranged: bool
    cost: OrderCost
    kept_cost: OrderCost
    blocked_count: int
    punches: tuple[str, ...]
    other: "BendSequence | None"
    key_picture: str
    problem: Problem | None = None


@dataclass(frozen=True)
class WayRow:
    """Another way to bend the part, to compare and to look at."""

    asked: Sentence
    cost: OrderCost
    order: str
    bends: tuple[int, ...]


@dataclass(frozen=True)
class SequenceWays(Page):
    """Other ways than the one kept: under way, or compared."""

    template: ClassVar[str] = "bend_sequence/_ways.html"
    sequence_id: int
    state: str
    told: Told | None
    ways: tuple[WayRow, ...]
    kept_cost: OrderCost
    kept_bends: tuple[int, ...]


@dataclass(frozen=True)
class DimensionRow:
    """One dimension of the part: what it is, and how it stands in the form."""

    name: str
    words: str
    dimension: Dimension
    problem: Problem | None

    @property
    def added(self) -> bool:
        """Whether somebody added it, so that it can be forgotten."""
        first = self.dimension.first
        return first.startswith("f") if isinstance(first, str) else first != self.dimension.last


@dataclass(frozen=True)
class SequenceDimensions(Page):
    """Dimensions of the part as this sequence makes them, and what the drawing allows."""

    template: ClassVar[str] = "bend_sequence/_dimensions.html"
    sequence_id: int
    form: Form
    rows: tuple[DimensionRow, ...]
    classes: tuple[tuple[str, str], ...]
    ends: tuple[tuple[str, str], ...]
    at_risk_count: int
    conflict: Conflict
    like: str


@dataclass(frozen=True)
class SequenceShow(Page):
    """One bend sequence: its strip of pictures, its cost, and what to know."""

    template: ClassVar[str] = "bend_sequence/show.html"
    frame: Frame
    sequence: "BendSequence"
    revision: "Revision"
    strip: SequenceStrip
    ways: SequenceWays
    dimensions: SequenceDimensions
    findings: tuple[Finding, ...]
    blank_error_mm: float


def key_picture(revision: "Revision", show: Display) -> str:
    """The part with its bends numbered: a section, or the flat of a part that is none."""
    section = section_of_faces(revision.faces)
    if section is None:
        flat = flat_part_of(revision.faces)
        return draw_flat(flat, title="The blank with its bends", length=show.length, names=True)
    words = SectionWords(
        legs=[f"leg {number}" for number in range(1, len(section.legs) + 1)],
        bends=[f"{number}" for number in range(1, len(section.bends) + 1)],
        numbered=True,
    )
    return draw_section(section, title="The part with its bends", words=words)


def bends_of_revision(revision: "Revision") -> tuple[tuple[int, float, str, str], ...]:
    """Each bend of a revision: its number from 1, its angle with its sign, and its two sides."""
    part = flat_part_of(revision.faces)
    noun = "leg" if revision.kind == "profile" else "face"
    return tuple(
        (
            number,
            bend.bend_angle_deg,
            f"{noun} {bend.faces[0] + 1}",
            f"{noun} {bend.faces[1] + 1}",
        )
        for number, bend in enumerate(part.bends, start=1)
    )


def lie_of(revision: "Revision", brake: "Brake") -> Lie:
    """A revision's part, flat, ready to be shown as it lies."""
    part = part_of_faces(revision.faces)
    return Lie(part, revision.kind == "profile", brake.finger_width_mm)


def kept_cards(
    steps: "Sequence[Step]", fixed: Sequence[ChosenStep], lie: Lie, *, most_steps: int
) -> tuple[StepCard, ...]:
    """The strip of a kept sequence."""
    cards = []
    before: Step | None = None
    for step, stroke, chosen in zip(steps, placed_of_steps(steps), fixed, strict=True):
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
        lie.bent(step.bends, step.bend_angle_deg, step.kind)
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
        lie.bent(card.bends, card.bend_angle_deg, card.kind)
        cards.append(card)
    return in_programs(cards, most_steps=most_steps)


def in_programs(cards: Sequence[StepCard], *, most_steps: int) -> tuple[StepCard, ...]:
    """The cards, with the first of each program marked where the control needs several."""
    programs = split_programs(cards, most_steps=most_steps)
    if len(programs) < 2:
        return tuple(cards)
    starts = {program.first: number for number, program in enumerate(programs, start=1)}
    return tuple(replace(card, starts_program=starts.get(card.number, 0)) for card in cards)


def strip_page(
    sequence: "BendSequence",
    cards: tuple[StepCard, ...],
    arrangement: Arrangement,
    *,
    cost: OrderCost | None,
    punches: Sequence[str],
    other: "BendSequence | None",
    picture: str,
) -> SequenceStrip:
    """The strip as it stands; no cost for the sequence as it was kept."""
    kept = OrderCost(**sequence.cost)
    return SequenceStrip(
        sequence=sequence,
        cards=cards,
        order=order_text(arrangement.order),
        past=past_text(arrangement.past),
        ahead=past_text(arrangement.ahead),
        arranged=cost is not None,
        cost=cost or kept,
        kept_cost=kept,
        blocked_count=sum(card.blocked for card in cards),
        punches=tuple(punches),
        other=other,
        key_picture=picture,
    )


def ways_page(
    sequence: "BendSequence",
    kept: Sequence[ChosenStep],
    planning: "Planning | None",
    told: Told | None,
) -> SequenceWays:
    """Other ways as far as they are known."""
    found = ways_of(planning.outcome["found"]) if planning and planning.state == "found" else ()
    return SequenceWays(
        sequence_id=sequence.id or 0,
        state=planning.state if planning else "",
        told=told,
        ways=tuple(
            WayRow(one.asked, one.cost, order_text(one.steps), tuple(s.bend for s in one.steps))
            for one in found
        ),
        kept_cost=OrderCost(**sequence.cost),
        kept_bends=tuple(step.bend for step in kept),
    )


def dimensions_page(
    sequence: "BendSequence",
    revision: "Revision",
    form: Form,
    allowed: Mapping[str, str],
    version: int,
) -> SequenceDimensions:
    """The dimensions of a sequence and the form that marks them; `allowed` is what is saved now."""
    is_profile = revision.kind == "profile"
    ends_count = len(revision.faces["faces"])
    found = dimensions_kept(sequence.dimensions)
    rows = tuple(
        DimensionRow(name, _dimension_words(one), one, form.problems.get(f"own_{name}"))
        for one in found
        for name in (pair_name(one.first, one.last),)
    )
    return SequenceDimensions(
        sequence_id=sequence.id or 0,
        form=form,
        rows=rows,
        classes=tuple((word, told) for word, told in CLASS_WORDS.items()),
        ends=tuple(
            (str(number), f"leg {number}") if is_profile else (f"f{number}", f"face {number}")
            for number in range(1, ends_count + 1)
        ),
        at_risk_count=sum(one.critical and one.protected is False for one in found),
        conflict=conflict_of(form, allowed, version=version),
        like=f"/office/planning/new?like={sequence.id}",
    )


def _dimension_words(one: Dimension) -> str:
    if isinstance(one.first, str):
        return in_words((one.first, str(one.last)))
    if one.first == one.last:
        return f"Leg {one.first + 1}"
    return f"Leg {one.first + 1} to leg {int(one.last) + 1}, outer faces"


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
    stroke = placed_step(step.bends, step.side_up, step.rear, step.contact, step.before)
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
