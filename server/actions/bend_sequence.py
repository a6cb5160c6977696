"""Bend sequences: planned for a revision on a brake, kept with everything each step needs."""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import asdict, dataclass, field
from typing import Any

from server.actions.history import keep
from server.actions.tool_choice import offset_pair
from server.actions.work_out_flat import shape_of_faces
from server.errors import ShopError, say
from server.geometry.part import FlatPart, flat_size
from server.mechanics.control_reading import TouchOff
from server.mechanics.material import Material as SheetMetal
from server.mechanics.tooling import Die, Punch
from server.planning.blank import SheetInTools
from server.planning.dimension import dimensions_of
from server.planning.drawn_flat import drawn_flat_of
from server.planning.drawn_part import drawn_part_of
from server.planning.error_stack import GaugingErrors
from server.planning.flat_blank import flat_blank
from server.planning.order_check import ChosenStep
from server.planning.order_wish import OrderWish
from server.planning.plan_task import (
    FlatShape,
    PlanTask,
    ProfileShape,
    Shape,
    ToolPair,
    bends_of,
)
from server.planning.planner import Plan
from server.planning.sequence import BendSequence as Planned
from server.planning.sequence import PlanStep
from server.planning.step_reason import depth_slope, reasons_of_step
from server.planning.stroke import Stroke
from server.settings import ShopSettings
from server.storage.database import Session
from server.storage.plain_finding import plain_findings, plain_reasons
from server.storage.plain_outcome import plain_dimensions
from server.storage.plain_scene import plain_scene
from server.storage.queries.bend_sequence import get_bend_sequence, list_bend_sequences
from server.storage.queries.brake import brake_of, get_brake_with_holder, touch_off_of
from server.storage.queries.material import find_lot, get_material, sheet_metal
from server.storage.queries.part import get_revision
from server.storage.queries.tolerance import class_of, find_tolerance, marked_of
from server.storage.queries.tool import (
    die_of,
    list_dies_with_segments,
    list_pairs,
    list_punches_with_segments,
    punch_of,
)
from server.storage.tables.bend_sequence import BendSequence, Step
from server.storage.tables.part import Revision

NO_TOUCH_OFF = TouchOff("die", reading_mm=0.0, tip_above_die_top_mm=0.0, checked=False)
ANY_DIE = "any"


@dataclass(frozen=True, slots=True)
class PlanWish:
    """What a person asks the planner for: brake, tools to choose from, and what is fixed.

    No die codes: the die the blank was worked out for. No punch codes: every punch of the shop.
    `split` bends the pieces of one line one at a time.
    """

    part_number: str
    revision_label: str
    brake_code: str
    die_codes: tuple[str, ...] = ()
    punch_codes: tuple[str, ...] = ()
    order: OrderWish = field(default_factory=OrderWish)
    split: bool = False
    thickness_mm: float | None = None
    lot_code: str | None = None


def plan_task(session: Session, wish: PlanWish, *, settings: ShopSettings) -> PlanTask:
    """Everything the planner needs for a revision on a brake. Reads only.

    Raises: ShopError `not_found`, `no_tools`.
    """
    revision = get_revision(session, wish.part_number, wish.revision_label)
    brake_row, holder = get_brake_with_holder(session, wish.brake_code)
    thickness_mm = wish.thickness_mm or revision.thickness_mm
    lot = find_lot(session, wish.lot_code)
    dies = _chosen_dies(session, wish, revision)
    punches = tuple(
        punch_of(row, segments)
        for row, segments in list_punches_with_segments(session, purpose="bend")
        if not wish.punch_codes or row.code in wish.punch_codes
    )
    if not dies or not punches:
        raise ShopError(
            "no_tools",
            "There is no punch and die to plan with.",
            remedy="Enter your tools, or choose others.",
        )
    metal = sheet_metal(
        get_material(session, revision.material_code), thickness_mm=thickness_mm, lot=lot
    )
    shape = shape_of(revision)
    tolerance = find_tolerance(session, wish.part_number, wish.revision_label)
    offset_tools = offset_pair(list_pairs(session, "offset"), bends_of(shape), thickness_mm)
    return PlanTask(
        shape=shape,
        thickness_mm=thickness_mm,
        material=metal,
        brake=brake_of(brake_row, holder),
        punches=punches,
        dies=dies,
        touch_off=touch_off_of(brake_row) or NO_TOUCH_OFF,
        k_factor=revision.blank_k_factor,
        handling=settings.handling,
        flange_margin=settings.bend.flange_margin_ratio,
        tolerance_class=class_of(tolerance),
        wishes=wish.order.wishes(bends_of(shape)),
        split_groups=wish.split,
        flattening=next(iter(list_pairs(session, "flatten")), None),
        offset_tools=offset_tools,
        shapes_in_dies=tuple(_shapes_in_dies(revision, dies, punches, metal, offset_tools)),
    )


def shape_of(revision: Revision) -> Shape:
    """The shape of a revision in the die of its blank, as the planner takes it."""
    if revision.kind == "flat":
        return shape_of_faces(revision.faces)
    profile = drawn_part_of(revision.drawn).profile
    return ProfileShape(
        width_mm=profile.width_mm,
        legs_mm=profile.legs_mm,
        legs_are=profile.legs_are,
        bends=tuple(bend.shape_bend for bend in profile.bends),
    )


def _shapes_in_dies(
    revision: Revision,
    dies: Sequence[Die],
    punches: Sequence[Punch],
    metal: SheetMetal,
    offset_tools: ToolPair | None,
) -> Iterator[tuple[str, FlatShape]]:
    """A flat part's blank in each die that is not its blank's own; a die it does not fit is left
    to the planner to refuse.
    """
    if revision.kind != "flat":
        return
    sharpest = min(punches, key=lambda punch: (punch.tip_radius_mm, punch.name))
    for die in dies:
        if die.name == revision.blank_die_code:
            continue
        sheet = SheetInTools(
            revision.thickness_mm,
            metal,
            die,
            sharpest,
            k_factor=revision.blank_k_factor,
            offset_tools=offset_tools,
        )
        with suppress(ShopError):
            yield die.name, flat_blank(drawn_flat_of(revision.drawn).flat, sheet).shape


def save_plan(
    session: Session,
    wish: PlanWish,
    task: PlanTask,
    plan: Plan,
    *,
    arranged: str = "planned",
    chosen: Sequence[ChosenStep] = (),
    by: str,
) -> BendSequence:
    """Keep a planned sequence, ready for the brake; `chosen` is what a person arranged of it.

    Raises: ShopError `cannot_be_bent` when the plan has no sequence.
    """
    if plan.sequence is None:
        first = plan.blockers[0] if plan.blockers else None
        raise ShopError(
            "cannot_be_bent",
            first.what if first else "No way to bend this part was found.",
            remedy=first.frees if first and first.frees else "Change the part or the tools.",
        )
    planned = plan.sequence
    row = BendSequence(
        part_number=wish.part_number,
        revision_label=wish.revision_label,
        brake_code=wish.brake_code,
        label=_next_label(session, wish),
        state="ready",
        arranged=arranged,
        thickness_mm=task.thickness_mm,
        k_factor=task.k_factor,
        flat_length_mm=planned.flat_length_mm or _blank_length(planned),
        seconds_s=planned.cost.seconds,
        proven=plan.proven,
        cost=asdict(planned.cost),
        stations=[asdict(station) for station in planned.stations],
        findings=plain_findings(planned.findings),
        made_by=by,
        arrangement=[asdict(step) for step in chosen],
        wishes=plain_order_wish(wish.order),
        dimensions=plain_dimensions(
            dimensions_of(
                task,
                planned,
                marked_of(find_tolerance(session, wish.part_number, wish.revision_label)),
                GaugingErrors(),
            )
        ),
    )
    session.add(row)
    session.flush()
    assert row.id is not None
    session.add_all(_step_row(row.id, task, planned, step) for step in planned.steps)
    session.flush()
    keep(
        session,
        "planned",
        noun="bend_sequence",
        key=str(row.id),
        by=by,
        after={"part": wish.part_number, "revision": wish.revision_label, "label": row.label},
    )
    return row


def plain_order_wish(wish: OrderWish) -> dict[str, Any]:
    """What was fixed before planning, as plain values; empty when nothing was."""
    if wish.empty:
        return {}
    return {**asdict(wish), "gauge_from": [list(pair) for pair in wish.gauge_from.items()]}


def order_wish_of(plain: Mapping[str, Any]) -> OrderWish:
    """What `plain_order_wish` wrote."""
    if not plain:
        return OrderWish()
    return OrderWish(**{**plain, "gauge_from": dict(plain["gauge_from"])})


def retire_sequence(session: Session, sequence_id: int, *, retired: bool, by: str) -> BendSequence:
    """Take a sequence off the floor, or put it back.

    Raises: ShopError `not_found`.
    """
    row = get_bend_sequence(session, sequence_id)
    row.state = "retired" if retired else "ready"
    session.add(row)
    keep(session, row.state, noun="bend_sequence", key=str(sequence_id), by=by)
    return row


def _blank_length(planned: Planned) -> float | None:
    """The longer side of the blank a sequence of a flat part wants."""
    sheet = planned.making.sheet
    return max(flat_size(sheet)) if isinstance(sheet, FlatPart) else None


def _step_row(sequence_id: int, task: PlanTask, planned: Planned, step: PlanStep) -> Step:
    stroke = planned.making.strokes[planned.order[step.number - 1].stroke]
    target = step.target
    return Step(
        bend_sequence_id=sequence_id,
        position=step.number,
        kind=step.what,
        bends=list(step.bends),
        zones=list(step.zones),
        punch_code=step.punch,
        die_code=step.die,
        station=step.station + 1,
        side_up=step.side_up,
        rear=step.rear,
        turned_over=step.turned_over,
        turned_end_for_end=step.turned_end_for_end,
        gauge_kind=step.contact.kind,
        gauge_face=step.contact.face,
        gauge_fingers_mm=list(step.contact.fingers_mm),
        x_mm=target.x_mm,
        x_exact_mm=target.x_exact_mm,
        r_mm=target.r_mm,
        bend_length_mm=stroke.length_mm,
        bend_angle_deg=target.bend_angle_deg,
        loaded_bend_angle_deg=target.loaded_bend_angle_deg,
        inside_radius_mm=stroke.inside_radius_mm,
        depth_mm=target.depth_mm,
        depth_mm_per_deg=_slope(task, stroke),
        force_kn=target.force_kn,
        force_kn_per_m=stroke.line_load_kn_per_m,
        check_mm=target.check.outside_mm if target.check else None,
        check_tolerance_mm=target.check.tolerance_mm if target.check else None,
        scene=plain_scene(step.before, step.after),
        findings=plain_findings(step.findings),
        reasons=plain_reasons(reasons_of_step(task, step, stroke)),
    )


def _slope(task: PlanTask, stroke: Stroke) -> float | None:
    return depth_slope(task, stroke) if stroke.depth_mm is not None else None


def _chosen_dies(session: Session, wish: PlanWish, revision: Revision) -> tuple[Any, ...]:
    own = {
        row.code: die_of(row, segments)
        for row, segments in list_dies_with_segments(session, purpose="bend")
    }
    if wish.die_codes == (ANY_DIE,):
        return tuple(own.values())
    wanted = wish.die_codes or ((revision.blank_die_code,) if revision.blank_die_code else ())
    missing = [code for code in wanted if code not in own]
    if missing:
        raise ShopError(
            "not_found",
            say("The shop owns no die '{code}'.", code=missing[0]),
            remedy="Choose one from the list.",
            where="die_codes",
        )
    return tuple(own[code] for code in wanted) or tuple(own.values())


def _next_label(session: Session, wish: PlanWish) -> str:
    used = {
        row.label
        for row in list_bend_sequences(session, wish.part_number, wish.revision_label)
        if row.brake_code == wish.brake_code
    }
    number = 1
    while str(number) in used:
        number += 1
    return str(number)


def mismatch_of_blank(revision: Revision, dies: Mapping[str, float]) -> float | None:
    """The V a blank was made for, when a sequence bends it in another; None when they agree."""
    v_mm = revision.blank_v_opening_mm
    if v_mm is None or all(abs(other - v_mm) < 0.01 for other in dies.values()):
        return None
    return v_mm
