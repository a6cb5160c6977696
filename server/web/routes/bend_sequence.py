"""Bend sequences in the office: plan, look, retire."""

from fastapi import APIRouter
from starlette.responses import Response

from server.actions import bend_sequence as actions
from server.actions.planning import plan_revision
from server.storage.plain_finding import findings_of
from server.storage.queries.bend_sequence import get_bend_sequence, list_steps
from server.storage.queries.part import get_revision
from server.web.forms.form import Form
from server.web.house import Typed, Visiting
from server.web.pages.bend_sequence import SequenceBlocked, SequenceShow, step_strips

router = APIRouter(prefix="/office/sequence", include_in_schema=False)


@router.post("/new")
def plan_sequence(visit: Visiting, typed: Typed) -> Response:
    """Plan a part on a brake and keep the plan, or tell what blocks it."""
    wish = _wish(typed)
    planned = plan_revision(visit.database, wish, settings=visit.house.settings, by=visit.person)
    if planned.sequence is not None:
        return visit.go_to(f"/office/sequence/{planned.sequence.id}")
    frame = visit.frame("Cannot be bent yet", "part", styles=("bend_sequence",))
    page = SequenceBlocked(frame, wish.part_number, wish.revision_label, planned.blockers)
    return visit.answer(page, status=409)


@router.get("/{sequence_id}")
def show(visit: Visiting, sequence_id: int) -> Response:
    """One bend sequence."""
    with visit.database.reading() as session:
        sequence = get_bend_sequence(session, sequence_id)
        revision = get_revision(session, sequence.part_number, sequence.revision_label)
        steps = step_strips(list_steps(session, sequence_id))
    title = f"{sequence.part_number} · sequence {sequence.label}"
    page = SequenceShow(
        frame=visit.frame(title, "part", styles=("bend_sequence",)),
        sequence=sequence,
        revision=revision,
        steps=steps,
        findings=findings_of(sequence.findings),
        blank_error_mm=(sequence.flat_length_mm or revision.blank_length_mm)
        - revision.blank_length_mm,
    )
    return visit.answer(page)


@router.post("/{sequence_id}/retired")
def retire(visit: Visiting, sequence_id: int, typed: Typed) -> Response:
    """Take a sequence off the floor, or put it back."""
    with visit.database.writing() as session:
        actions.retire_sequence(
            session, sequence_id, retired=Form(typed).yes("retired"), by=visit.person
        )
    return visit.go_to(f"/office/sequence/{sequence_id}")


def _wish(typed: Typed) -> actions.PlanWish:
    die, punch = typed.get("die_code", ""), typed.get("punch_code", "")
    return actions.PlanWish(
        part_number=typed.get("part_number", ""),
        revision_label=typed.get("revision_label", ""),
        brake_code=typed.get("brake_code", ""),
        die_codes=(die,) if die else (),
        punch_codes=(punch,) if punch else (),
    )
