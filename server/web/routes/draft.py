"""The drawing board: start, change, undo, release."""

from dataclasses import replace

from fastapi import APIRouter
from starlette.responses import Response

from server.actions import draft as actions
from server.actions.part import release_draft
from server.actions.work_out import WorkedOut, work_out
from server.drawings.section import SectionWords, draw_section
from server.errors import ShopError
from server.planning.blank import as_drawn
from server.planning.drawn_part import (
    STARTERS,
    DrawnPart,
    mirrored,
    with_leg_added,
    with_leg_removed,
)
from server.storage.database import Session
from server.storage.queries.material import find_material, list_materials
from server.storage.queries.part import get_draft
from server.storage.queries.tool import list_punches
from server.units.sheet_gauge import GAUGE_FAMILIES, GaugeFamily
from server.web.forms.draft import read_draft, read_row, typed_of_draft
from server.web.forms.form import Form
from server.web.house import Typed, Visit, Visiting
from server.web.pages.draft import (
    DraftBoard,
    DraftPage,
    bend_words,
    board_of,
    draft_path,
    leg_words,
)

router = APIRouter(prefix="/office/draft", include_in_schema=False)


@router.post("/new")
def start(visit: Visiting, typed: Typed) -> Response:
    """Put a new drawing on the board."""
    with visit.database.writing() as session:
        draft = actions.start_draft(
            session,
            part_number=typed.get("part_number", ""),
            starter=typed.get("starter", ""),
            by=visit.person,
        )
    return visit.go_to(draft_path(draft))


@router.get("/{draft_id}")
def show_draft(visit: Visiting, draft_id: int) -> Response:
    """The drawing as it stands."""
    with visit.database.reading() as session:
        board = _board(visit, session, draft_id)
    frame = visit.frame("Drawing board", "part", styles=("draft",), scripts=("draft",))
    return visit.answer(DraftPage(frame=frame, board=board))


@router.post("/{draft_id}")
def change(visit: Visiting, draft_id: int, typed: Typed) -> Response:
    """One change: a field typed, a leg added, undo, redo, a pasted row."""
    with visit.database.writing() as session:
        form = _changed(visit, session, draft_id, typed)
        board = _board(visit, session, draft_id, None if form.ok else form)
    return visit.answer(board, status=200 if form.ok else 422)


@router.post("/{draft_id}/release")
def release(visit: Visiting, draft_id: int, typed: Typed) -> Response:
    """Freeze the drawing as the next revision of its part."""
    form = Form(typed, visit.unit)
    margin = visit.house.settings.bend.flange_margin_ratio
    with visit.database.writing() as session:
        revision = form.attempt(
            lambda: release_draft(session, draft_id, flange_margin=margin, by=visit.person), session
        )
        board = None if revision else _board(visit, session, draft_id, form)
    if revision is not None:
        return visit.go_to(f"/office/part/{revision.part_number}")
    return visit.answer(board or _lost(), status=422)


@router.post("/{draft_id}/away")
def throw_away(visit: Visiting, draft_id: int) -> Response:
    """Throw the drawing away."""
    with visit.database.writing() as session:
        actions.throw_away_draft(session, draft_id)
    return visit.go_to("/office/part")


def _lost() -> DraftBoard:
    raise ShopError("not_found", "This drawing is gone.", remedy="Start a new one.")


def _changed(visit: Visit, session: Session, draft_id: int, typed: Typed) -> Form:
    """Carry out what the form asks for; the form tells whether it could be done."""
    form = Form(typed, visit.unit)
    do = typed.get("do", "")
    if do in ("undo", "redo"):
        actions.step_draft(session, draft_id, back=do == "undo")
        return form
    now = actions.drawn_now(get_draft(session, draft_id))
    part = read_draft(form, now, family=family_of(session, typed.get("material_code", "")))
    version = form.whole("version", least=0, most=10**9)
    if form.ok:
        form.attempt(
            lambda: _keep(visit, session, draft_id, _done(visit, part, do, typed), version),
            session,
            rename=_field_of,
        )
    return form


def _keep(
    visit: Visit, session: Session, draft_id: int, part: DrawnPart, version: int
) -> WorkedOut:
    """Put a shape on the board, once it is sure that it can be worked out."""
    worked = _worked(visit, session, part)
    actions.change_draft(session, draft_id, part, version=version, by=visit.person)
    return worked


def _worked(visit: Visit, session: Session, part: DrawnPart) -> WorkedOut:
    margin = visit.house.settings.bend.flange_margin_ratio
    return work_out(session, part, flange_margin=margin)


def _done(visit: Visit, part: DrawnPart, do: str, typed: Typed) -> DrawnPart:
    """The part after one of the board's buttons."""
    verb, _, what = do.partition(":")
    profile = part.profile
    if verb == "add":
        pulled = Form(typed, visit.unit)
        leg_mm = pulled.length_mm("new_leg", needed=False)
        angle_deg = pulled.number("new_bend", least=-180, most=180, needed=False)
        profile = with_leg_added(
            profile, leg_mm=leg_mm or profile.legs_mm[-1], bend_angle_deg=angle_deg or 90.0
        )
    elif verb == "remove":
        profile = with_leg_removed(profile, int(what) - 1 if what.isdigit() else -1)
    elif verb == "mirror":
        profile = mirrored(profile)
    elif verb == "starter" and what in STARTERS:
        profile = STARTERS[what]
    elif verb == "paste" and typed.get("paste", "").strip():
        legs, bends = read_row(typed["paste"], unit=visit.unit)
        profile = replace(profile, legs_mm=legs, bends=bends)
    return replace(part, profile=profile)


def _board(visit: Visit, session: Session, draft_id: int, form: Form | None = None) -> DraftBoard:
    """The board as it stands; a form with problems keeps what was typed."""
    draft = get_draft(session, draft_id)
    part = actions.drawn_now(draft)
    shown = form or Form(typed_of_draft(part, visit.show), visit.unit)
    worked = shown.work_out(
        lambda: _worked(visit, session, part),
        rename=_field_of,
    )
    return board_of(
        draft,
        shown,
        worked,
        materials=list_materials(session),
        punches=tuple(row.code for row in list_punches(session, purpose="bend")),
        picture=_picture(visit, worked) if worked else "",
        show=visit.show,
    )


def _picture(visit: Visit, worked: WorkedOut) -> str:
    words = SectionWords(legs=leg_words(worked, visit.show), bends=bend_words(worked))
    section = as_drawn(worked.section, worked.part.profile.bends)
    return draw_section(section, title="Section of the part", words=words, handles=True)


def _field_of(where: str | None) -> str:
    """The board's field for a place in the formulas, such as legs_mm.1 -> leg_2."""
    parts = (where or "").split(".")
    if parts[0] == "legs_mm" and len(parts) > 1:
        return f"leg_{int(parts[1]) + 1}"
    if parts[0] == "bends" and len(parts) > 1:
        field = "radius" if "radius" in parts[-1] else "bend"
        return f"{field}_{int(parts[1]) + 1}"
    return {"thickness_mm": "thickness", "bend_length_mm": "width"}.get(parts[0], parts[0])


def family_of(session: Session, material_code: str) -> GaugeFamily | None:
    """The gauge family of a material, for thicknesses typed like 16 ga."""
    material = find_material(session, material_code)
    if material is None:
        return None
    return next((family for family in GAUGE_FAMILIES if family == material.family), None)
