"""A bend sequence on the sheet in hand, and on paper."""

from fastapi import APIRouter
from starlette.responses import Response

from server.actions.arrangement import kept_order
from server.actions.key_ahead import keyed_ahead
from server.actions.key_in import key_layout
from server.actions.other_sheet import OtherSheet, on_other_sheet
from server.storage.database import Session
from server.storage.queries.bend_sequence import get_bend_sequence, list_steps
from server.storage.queries.brake import get_brake
from server.storage.queries.lot import list_lots_with_materials
from server.storage.queries.part import get_revision
from server.web.forms.form import Form
from server.web.house import Visit, Visiting
from server.web.pages.bend_sequence import key_picture
from server.web.pages.other_sheet import PAPERS, SequencePrint, SequenceSheet
from server.web.pages.step_card import kept_cards, lie_of
from server.web.planner import Asks

router = APIRouter(prefix="/office/sequence", include_in_schema=False)


@router.get("/{sequence_id}/sheet")
def sheet(
    visit: Visiting, asks: Asks, sequence_id: int, thickness: str = "", lot_code: str = ""
) -> Response:
    """Every number for a measured thickness or a lot: old, new and why."""
    form = Form({"thickness": thickness, "lot_code": lot_code}, visit.unit)
    thickness_mm = form.length_mm("thickness", needed=False, most_mm=60.0)
    found = None
    if form.ok and (thickness_mm or lot_code):
        found = form.attempt(
            lambda: on_other_sheet(
                asks, sequence_id, thickness_mm=thickness_mm, lot_code=lot_code or None
            ),
            None,
        )
    page = _sheet(visit, sequence_id, form, found)
    return visit.answer(page, status=200 if form.ok else 422)


@router.get("/{sequence_id}/print")
def on_paper(visit: Visiting, sequence_id: int, paper: str = "a4") -> Response:
    """The whole sequence to print: pictures, what to key, what to measure."""
    with visit.database.reading() as session:
        page = _print(visit, session, sequence_id, paper if paper in PAPERS else "a4")
    return visit.answer(page)


def _sheet(visit: Visit, sequence_id: int, form: Form, found: OtherSheet | None) -> SequenceSheet:
    with visit.database.reading() as session:
        sequence = get_bend_sequence(session, sequence_id)
        revision = get_revision(session, sequence.part_number, sequence.revision_label)
        lots = list_lots_with_materials(session)
    title = f"{sequence.part_number} · sheet in hand"
    return SequenceSheet(
        frame=visit.frame(title, "part", styles=("bend_sequence",)),
        sequence=sequence,
        revision=revision,
        form=form,
        found=found,
        lots=[lot for lot, material in lots if material.code == revision.material_code],
    )


def _print(visit: Visit, session: Session, sequence_id: int, paper: str) -> SequencePrint:
    sequence = get_bend_sequence(session, sequence_id)
    steps = list_steps(session, sequence_id)
    brake = get_brake(session, sequence.brake_code)
    revision = get_revision(session, sequence.part_number, sequence.revision_label)
    title = f"{sequence.part_number} · sequence {sequence.label} on paper"
    fixed = kept_order(sequence, steps)
    lie = lie_of(revision, brake)
    cards = kept_cards(steps, fixed, lie, most_steps=brake.steps_per_program_count)
    return SequencePrint(
        frame=visit.frame(title, "part", styles=("bend_sequence", f"paper_{paper}")),
        sequence=sequence,
        revision=revision,
        paper=paper,
        cards=cards,
        keyed=keyed_ahead(session, brake, steps, thickness_mm=sequence.thickness_mm),
        key_picture=key_picture(revision, visit.show),
        control_unit=key_layout(brake).unit,
        touched_off=brake.touch_off_reading_mm is not None,
    )
