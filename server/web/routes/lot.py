"""Lots: list, add, measure, change, archive, put back."""

from dataclasses import replace

from fastapi import APIRouter
from starlette.responses import Response

from server.actions import lot as actions
from server.storage.queries import lot as queries
from server.storage.queries.history import list_events, list_noun_events
from server.storage.queries.material import list_materials
from server.web.forms.conflict import Conflict, conflict_of
from server.web.forms.form import Form
from server.web.forms.lot import STANDARD_CHOICES, read_lot, typed_of_lot
from server.web.house import Typed, Visit, Visiting
from server.web.pages.history import history_of
from server.web.pages.lot import LotEdit, LotList, lot_line, lot_measure
from server.web.problems import status_of

router = APIRouter(prefix="/office/lot", include_in_schema=False)


@router.get("")
def lots(visit: Visiting, archived: bool = False) -> Response:
    """Every lot."""
    with visit.database.reading() as session:
        rows = queries.list_lots_with_materials(session, with_archived=archived)
        events = list_noun_events(session, actions.NOUN)
    page = LotList(
        frame=visit.frame("Lots", "material", styles=("tool",)),
        lots=tuple(lot_line(lot, material) for lot, material in rows),
        with_archived=archived,
        history=history_of(events, visit.show, with_names=True),
    )
    return visit.answer(page)


@router.get("/new")
def new_lot(visit: Visiting, material: str = "") -> Response:
    """An empty form."""
    return visit.answer(_edit(visit, Form({"material_code": material}, visit.unit)))


@router.post("/new")
def add_lot(visit: Visiting, typed: Typed) -> Response:
    """Add a lot."""
    form = Form.posted(typed, visit.unit)
    code, values = form.code("code"), read_lot(form, _families(visit))
    with visit.database.writing() as session:
        form.attempt(lambda: actions.add_lot(session, code, values, by=visit.person), session)
    if not form.ok:
        return visit.answer(_edit(visit, form), status=status_of(form))
    return visit.go_to(f"/office/lot/{code}?saved=yes")


@router.post("/measure")
def measure(visit: Visiting, typed: Typed) -> Response:
    """What the typed thickness and readings say."""
    form = Form.posted(typed, visit.unit)
    family = _families(visit).get(typed.get("material_code", ""), "")
    return visit.answer(lot_measure(form, family))


@router.get("/{code}")
def lot(visit: Visiting, code: str, saved: bool = False) -> Response:
    """One lot."""
    with visit.database.reading() as session:
        row = queries.get_lot(session, code)
    form = Form(typed_of_lot(row, visit.show), visit.unit)
    return visit.answer(_edit(visit, form, code=code, saved=saved))


@router.post("/{code}")
def save_lot(visit: Visiting, code: str, typed: Typed) -> Response:
    """Change a lot, or measure it again."""
    form = Form.posted(typed, visit.unit)
    values, version = read_lot(form, _families(visit)), form.version()
    with visit.database.writing() as session:
        form.attempt(
            lambda: actions.save_lot(session, code, values, version=version, by=visit.person),
            session,
        )
    if not form.ok:
        return visit.answer(_edit(visit, form, code=code), status=status_of(form))
    return visit.go_to(f"/office/lot/{code}?saved=yes")


@router.post("/{code}/archived")
def archive_lot(visit: Visiting, code: str, typed: Typed) -> Response:
    """Take a lot off the lists, or put it back."""
    archived = Form(typed).yes("archived")
    with visit.database.writing() as session:
        actions.set_lot_archived(session, code, archived=archived, by=visit.person)
    return visit.go_to("/office/lot" if archived else f"/office/lot/{code}")


@router.post("/{code}/put-back")
def put_lot_back(visit: Visiting, code: str, typed: Typed) -> Response:
    """Undo one change of a lot."""
    event_id = Form(typed).whole("event", least=0, most=10**12)
    with visit.database.writing() as session:
        actions.put_lot_back(session, code, event_id, by=visit.person)
    return visit.go_to(f"/office/lot/{code}?saved=yes")


def _families(visit: Visit) -> dict[str, str]:
    with visit.database.reading() as session:
        return {row.code: row.family for row in list_materials(session, with_archived=True)}


def _edit(visit: Visit, form: Form, *, code: str = "", saved: bool = False) -> LotEdit:
    """A lot's page around a form; an existing lot's history and conflict are read here."""
    archived, conflict, events = False, Conflict(), []
    with visit.database.reading() as session:
        materials = list_materials(session, with_archived=bool(code))
        if code:
            row = queries.get_lot(session, code)
            events = list_events(session, noun=actions.NOUN, key=code)
            archived = row.archived_at is not None
            now = typed_of_lot(row, replace(visit.show, unit=form.unit))
            conflict = conflict_of(form, now, version=row.version)
    chosen = form.typed.get("material_code", "")
    family = next((row.family for row in materials if row.code == chosen), "")
    return LotEdit(
        frame=visit.frame(
            code or "New lot", "material", styles=("tool",), notice="Saved." if saved else ""
        ),
        form=form,
        code=code,
        archived=archived,
        materials=(
            *([("", "choose")] if not chosen else []),
            *((row.code, f"{row.code} {row.name}") for row in materials),
        ),
        standards=STANDARD_CHOICES,
        measure=lot_measure(form, family),
        conflict=conflict,
        history=history_of(
            events, visit.show, put_back_path=f"/office/lot/{code}/put-back" if code else ""
        ),
    )
