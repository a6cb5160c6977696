"""The drawing board of a flat part: typed, pulled, undone, released."""

from dataclasses import dataclass
from typing import cast

from fastapi import APIRouter
from starlette.responses import Response

from server.actions import draft as actions
from server.actions.part import release_draft
from server.actions.work_out_flat import WorkedFlat, work_out_flat
from server.drawings.pattern import PatternMarks, draw_made_flat, draw_pattern
from server.planning.drawn_flat import FLAT_STARTERS, DrawnFlat, DrawnFlatPart, Pattern
from server.planning.flat_blank import made_corner, split_if_possible
from server.planning.flat_change import (
    as_pattern,
    turned_over,
    with_cutout,
    with_row,
    without_cutout,
    without_row,
)
from server.storage.database import Session
from server.storage.queries.material import list_materials
from server.storage.queries.part import get_draft
from server.storage.queries.tool import list_punches
from server.web.forms.flat_draft import (
    CUTOUT_KINDS,
    MOST_CUTOUTS,
    MOST_LINES,
    field_of_flat,
    read_flat_draft,
    typed_of_flat_draft,
)
from server.web.forms.form import Form
from server.web.house import Typed, Visit, Visiting
from server.web.pages.flat_draft import FlatBoard, FlatDraftPage, flat_board
from server.web.routes.draft import family_of

router = APIRouter(prefix="/office/flat-draft", include_in_schema=False)


@dataclass
class Tried:
    """A change that was tried: the form with its problems, and the shape it asked for."""

    form: Form
    part: DrawnFlatPart | None = None


@router.get("/{draft_id}")
def show_flat_draft(visit: Visiting, draft_id: int) -> Response:
    """The drawing as it stands."""
    with visit.database.reading() as session:
        board = _board(visit, session, draft_id)
    styles, scripts = ("draft", "flat_draft", "fold"), ("flat_draft", "fold")
    frame = visit.frame("Drawing board", "part", styles=styles, scripts=scripts)
    return visit.answer(FlatDraftPage(frame=frame, board=board))


@router.post("/{draft_id}")
def change_flat_draft(visit: Visiting, draft_id: int, typed: Typed) -> Response:
    """One change: a field typed, a hole or line more or less, undo, redo."""
    with visit.database.writing() as session:
        tried = _changed(visit, session, draft_id, typed)
        board = _board(visit, session, draft_id, tried)
    return visit.answer(board, status=200 if tried.form.ok else 422)


@router.post("/{draft_id}/release")
def release_flat_draft(visit: Visiting, draft_id: int, typed: Typed) -> Response:
    """Freeze the drawing as the next revision of its part."""
    form = Form(typed, visit.unit)
    margin = visit.house.settings.bend.flange_margin_ratio
    with visit.database.writing() as session:
        revision = form.attempt(
            lambda: release_draft(session, draft_id, flange_margin=margin, by=visit.person), session
        )
        board = None if revision else _board(visit, session, draft_id, Tried(form))
    if revision is not None:
        return visit.go_to(f"/office/part/{revision.part_number}")
    return visit.answer(cast("FlatBoard", board), status=422)


def _changed(visit: Visit, session: Session, draft_id: int, typed: Typed) -> Tried:
    """Carry out what the form asks for; the form tells whether it could be done."""
    form = Form(typed, visit.unit)
    do = typed.get("do", "")
    if do in ("undo", "redo"):
        actions.step_draft(session, draft_id, back=do == "undo")
        return Tried(form)
    now = actions.drawn_flat_now(get_draft(session, draft_id))
    family = family_of(session, typed.get("material_code", ""))
    part = read_flat_draft(form, now, family=family)
    version = form.whole("version", least=0, most=10**9)
    if not form.ok:
        return Tried(form)
    tried = Tried(form, part)
    form.attempt(
        lambda: _keep(visit, session, draft_id, tried, do, version),
        session,
        rename=lambda where: field_of_flat(where, form.typed),
    )
    return tried


def _keep(
    visit: Visit, session: Session, draft_id: int, tried: Tried, do: str, version: int
) -> None:
    """Put a shape on the board, once it is sure that it can be worked out."""
    assert tried.part is not None
    if do:
        tried.part = _done(visit, session, tried.part, do)
        each = tried.form.typed.get("walls") == "each"
        tried.form.typed = typed_of_flat_draft(tried.part, visit.show, each_wall=each)
    _worked(visit, session, tried.part)
    actions.change_draft(session, draft_id, tried.part, version=version, by=visit.person)


def _done(visit: Visit, session: Session, part: DrawnFlatPart, do: str) -> DrawnFlatPart:
    """The part after one of the board's buttons."""
    verb, _, what = do.partition(":")
    flat, index = part.flat, int(what) - 1 if what.isdecimal() else -1
    kind = next((kind for kind in CUTOUT_KINDS if kind == what), None)
    if verb == "cut" and kind is not None:
        flat = with_cutout(flat, kind)
    elif verb == "uncut":
        flat = without_cutout(flat, index)
    elif verb == "row":
        flat = with_row(flat)
    elif verb == "unrow":
        flat = without_row(flat, index)
    elif verb == "mirror":
        flat = turned_over(flat)
    elif verb == "starter" and what in FLAT_STARTERS:
        flat = FLAT_STARTERS[what]
    elif verb == "pattern":
        flat = as_pattern(flat, _worked(visit, session, part).blank)
    return part.with_flat(flat)


def _worked(visit: Visit, session: Session, part: DrawnFlatPart) -> WorkedFlat:
    margin = visit.house.settings.bend.flange_margin_ratio
    return work_out_flat(session, part, flange_margin=margin)


def _board(visit: Visit, session: Session, draft_id: int, tried: Tried | None = None) -> FlatBoard:
    """The board as it stands; a form with problems keeps what was typed."""
    draft = get_draft(session, draft_id)
    part = actions.drawn_flat_now(draft)
    each = tried is not None and tried.form.typed.get("walls") == "each"
    form = Form(typed_of_flat_draft(part, visit.show, each_wall=each), visit.unit)
    if tried is not None and not tried.form.ok:
        form, part = tried.form, tried.part or part
    worked = form.work_out(
        lambda: _worked(visit, session, part),
        rename=lambda where: field_of_flat(where, form.typed),
    )
    return flat_board(
        draft,
        form,
        part.flat,
        worked,
        materials=list_materials(session),
        punches=tuple(row.code for row in list_punches(session, purpose="bend")),
        picture=_picture(visit, part.flat, worked, form),
        show=visit.show,
    )


def _picture(visit: Visit, flat: DrawnFlat, worked: WorkedFlat | None, form: Form) -> str:
    """The pattern as drawn, or the blank of a part made by dimensions; empty when there is none."""
    marks = _marks(flat, worked, form)
    title, length = "Flat pattern of the part", visit.show.length
    if isinstance(flat.form, Pattern):
        split = split_if_possible(flat.form, flat.cutouts)
        return draw_pattern(flat.form, flat.cutouts, split, title=title, length=length, marks=marks)
    if worked is None:
        return ""
    corner = made_corner(flat, worked.blank)
    return draw_made_flat(
        worked.blank.zoned.part, flat.cutouts, corner, title=title, length=length, marks=marks
    )


def _marks(flat: DrawnFlat, worked: WorkedFlat | None, form: Form) -> PatternMarks:
    """What is marked as wrong on the picture, by the fields in trouble and the bends that stop."""
    lines = {n for n in range(MOST_LINES) if f"line_{n + 1}" in form.problems}
    for finding in worked.findings if worked else ():
        if finding.level == "stop" and finding.bend is not None and worked is not None:
            lines.add(worked.blank.line_of_bend[finding.bend])
    return PatternMarks(
        lines=frozenset(lines),
        cutouts=frozenset(n for n in range(MOST_CUTOUTS) if f"cut_{n + 1}_u" in form.problems),
        outline="outline" in form.problems,
        grain=flat.grain,
    )
