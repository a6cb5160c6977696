"""Bend sequences in the office: look, arrange, compare, print, retire."""

from dataclasses import replace
from typing import TYPE_CHECKING

from fastapi import APIRouter
from starlette.responses import Response

from server.actions import arrangement, planning
from server.actions import bend_sequence as actions
from server.actions.tolerance import Allowed, save_allowed
from server.storage.database import Session
from server.storage.plain_finding import findings_of
from server.storage.plain_outcome import dimensions_kept
from server.storage.queries.bend_sequence import get_bend_sequence, list_steps
from server.storage.queries.brake import get_brake
from server.storage.queries.part import get_revision
from server.storage.queries.planning import find_last_planning
from server.storage.queries.tolerance import class_of, find_tolerance, marked_of
from server.storage.queries.tool import list_punches
from server.web.forms.arrangement import Arrangement, order_text, read_arrangement, read_order
from server.web.forms.form import Form
from server.web.forms.tolerance import read_allowed, typed_of_allowed
from server.web.house import Typed, Visit, Visiting
from server.web.pages.bend_sequence import (
    SequenceShow,
    SequenceStrip,
    SequenceWays,
    key_picture,
    strip_page,
    ways_page,
)
from server.web.pages.sequence_dimension import SequenceDimensions, dimensions_page
from server.web.pages.step_card import checked_cards, kept_cards, lie_of
from server.web.planner import Asks

if TYPE_CHECKING:
    from server.storage.tables.bend_sequence import BendSequence

router = APIRouter(prefix="/office/sequence", include_in_schema=False)
AT_ONCE_S = 0.5


@router.get("/{sequence_id}")
def show(visit: Visiting, asks: Asks, sequence_id: int, order: str = "") -> Response:
    """One bend sequence, or another order of it."""
    asks.pool.warm("check")
    strip = _strip(visit, asks, sequence_id, Arrangement(read_order(order)))
    return visit.answer(_show(visit, asks, strip))


@router.post("/{sequence_id}/order")
def arrange(visit: Visiting, asks: Asks, sequence_id: int, typed: Typed) -> Response:
    """A step moved or changed, or taken back: checked at once."""
    arranged = read_arrangement(typed)
    answer = visit.answer(_strip(visit, asks, sequence_id, arranged))
    answer.headers["HX-Replace-Url"] = f"?order={order_text(arranged.order)}"
    return answer


@router.post("/{sequence_id}/save")
def save(visit: Visiting, asks: Asks, sequence_id: int, typed: Typed) -> Response:
    """Keep the arranged order as the next sequence of the part."""
    form = Form(typed)
    arranged = read_arrangement(typed)
    row = form.attempt(
        lambda: arrangement.keep_order(
            asks, sequence_id, arranged.order, beside=form.yes("beside")
        ),
        None,
    )
    if row is not None:
        return visit.go_to(f"/office/sequence/{row.id}")
    return _not_kept(visit, asks, sequence_id, arranged, form)


@router.post("/{sequence_id}/ways")
def look_for_ways(visit: Visiting, asks: Asks, sequence_id: int) -> Response:
    """Look for other ways than the one kept."""
    with visit.database.reading() as session:
        errand = arrangement.check_errand(session, sequence_id, settings=visit.house.settings)
    number = planning.ask_alternatives(asks, sequence_id, errand)
    planning.wait_for(asks, number, AT_ONCE_S)
    return _ways_or_back(visit, asks, sequence_id)


@router.get("/{sequence_id}/ways")
def ways(visit: Visiting, asks: Asks, sequence_id: int) -> Response:
    """Other ways, as far as they are found."""
    return _ways_or_back(visit, asks, sequence_id)


@router.post("/{sequence_id}/tolerance")
def allow(visit: Visiting, asks: Asks, sequence_id: int, typed: Typed) -> Response:
    """What the drawing allows: the class of its general tolerances, dimensions marked critical."""
    form = Form.posted(typed, visit.unit)
    allowed = read_allowed(form)
    with visit.database.reading() as session:
        sequence = get_bend_sequence(session, sequence_id)
    number, label = sequence.part_number, sequence.revision_label
    form.attempt(lambda: save_allowed(asks, number, label, allowed, version=form.version()), None)
    page = _dimensions(visit, sequence_id, None if form.ok else form)
    return visit.answer(page, status=200 if form.ok else 409 if form.in_conflict else 422)


@router.post("/{sequence_id}/retired")
def retire(visit: Visiting, sequence_id: int, typed: Typed) -> Response:
    """Take a sequence off the floor, or put it back."""
    with visit.database.writing() as session:
        actions.retire_sequence(
            session, sequence_id, retired=Form(typed).yes("retired"), by=visit.person
        )
    return visit.go_to(f"/office/sequence/{sequence_id}")


def _not_kept(
    visit: Visit, asks: Asks, sequence_id: int, arranged: Arrangement, form: Form
) -> Response:
    """The arranged order as it was, and why it was not kept; nothing is lost."""
    problem = next(iter(form.problems.values()))
    strip = replace(_strip(visit, asks, sequence_id, arranged), problem=problem)
    page = strip if visit.in_page else _show(visit, asks, strip)
    return visit.answer(page, status=409 if form.in_conflict else 422)


def _strip(visit: Visit, asks: Asks, sequence_id: int, arranged: Arrangement) -> SequenceStrip:
    """The strip as kept, or in another order after its check."""
    with visit.database.reading() as session:
        sequence = get_bend_sequence(session, sequence_id)
        steps = list_steps(session, sequence_id)
        kept = arrangement.kept_order(sequence, steps)
        brake = get_brake(session, sequence.brake_code)
        revision = get_revision(session, sequence.part_number, sequence.revision_label)
        punches = [row.code for row in list_punches(session, purpose="bend")]
        other = _other(session, sequence)
    picture = key_picture(revision, visit.show)
    most_steps, lie = brake.steps_per_program_count, lie_of(revision, brake)
    if not arranged.order or arranged.order == kept:
        shown = Arrangement(kept, arranged.past, arranged.ahead)
        cards = kept_cards(steps, kept, lie, most_steps=most_steps)
        return strip_page(
            sequence, cards, shown, cost=None, punches=punches, other=other, picture=picture
        )
    order = arrangement.check_order(asks, sequence_id, arranged.order)
    check = order.checked.check
    return strip_page(
        sequence,
        checked_cards(order.task, check, order.chosen, lie, most_steps=most_steps),
        arranged,
        cost=check.cost,
        punches=punches,
        other=other,
        picture=picture,
    )


def _ways_or_back(visit: Visit, asks: Asks, sequence_id: int) -> Response:
    """The fragment for an open page, the sequence's page for others."""
    if not visit.in_page:
        return visit.go_to(f"/office/sequence/{sequence_id}#ways")
    return visit.answer(_ways(visit, asks, sequence_id))


def _ways(visit: Visit, asks: Asks, sequence_id: int) -> SequenceWays:
    with visit.database.reading() as session:
        last = find_last_planning(session, "alternative", sequence_id=sequence_id)
    under_way = None
    if last is not None and last.state == "running":
        under_way = planning.find_under_way(asks, last.id or 0)
    with visit.database.reading() as session:
        sequence = get_bend_sequence(session, sequence_id)
        kept = arrangement.kept_order(sequence, list_steps(session, sequence_id))
        last = find_last_planning(session, "alternative", sequence_id=sequence_id)
    return ways_page(sequence, kept, last, under_way.told if under_way else None)


def _dimensions(visit: Visit, sequence_id: int, form: Form | None = None) -> SequenceDimensions:
    """The dimensions as they are kept; a form with problems keeps what was typed."""
    with visit.database.reading() as session:
        sequence = get_bend_sequence(session, sequence_id)
        revision = get_revision(session, sequence.part_number, sequence.revision_label)
        row = find_tolerance(session, sequence.part_number, sequence.revision_label)
    version = row.version if row is not None else 0
    allowed = Allowed(class_of(row), marked_of(row))
    kept = dimensions_kept(sequence.dimensions)
    now = typed_of_allowed(allowed, kept, version, visit.show)
    return dimensions_page(sequence, revision, form or Form(now, visit.unit), now, version)


def _other(session: Session, sequence: "BendSequence") -> "BendSequence | None":
    """The sequence that superseded this one, if any."""
    superseded = sequence.superseded_by_id
    return None if superseded is None else get_bend_sequence(session, superseded)


def _show(visit: Visit, asks: Asks, strip: SequenceStrip) -> SequenceShow:
    sequence = strip.sequence
    number = sequence.id or 0
    with visit.database.reading() as session:
        revision = get_revision(session, sequence.part_number, sequence.revision_label)
    title = f"{sequence.part_number} · sequence {sequence.label}"
    return SequenceShow(
        frame=visit.frame(title, "part", styles=("bend_sequence",), scripts=("bend_sequence",)),
        sequence=sequence,
        revision=revision,
        strip=strip,
        ways=_ways(visit, asks, number),
        dimensions=_dimensions(visit, number),
        findings=findings_of(sequence.findings),
        blank_error_mm=(sequence.flat_length_mm or revision.blank_length_mm)
        - revision.blank_length_mm,
    )
