"""Materials: list, add, change, archive."""

from fastapi import APIRouter
from starlette.responses import Response

from server.actions import material as actions
from server.storage.queries import material as queries
from server.storage.queries.history import list_events, list_noun_events
from server.web.forms.conflict import Conflict, conflict_of
from server.web.forms.form import Form
from server.web.forms.material import FAMILY_CHOICES, read_material, typed_of_material
from server.web.house import Typed, Visit, Visiting
from server.web.pages.history import history_of
from server.web.pages.material import MaterialEdit, MaterialList
from server.web.problems import status_of

router = APIRouter(prefix="/office/material", include_in_schema=False)
NEW = {"family": "steel", "youngs_modulus_mpa": "210000", "poisson_ratio": "0.3"}


@router.get("")
def materials(visit: Visiting, archived: bool = False) -> Response:
    """All materials."""
    with visit.database.reading() as session:
        rows = queries.list_materials(session, with_archived=archived)
        events = list_noun_events(session, "material")
    page = MaterialList(
        frame=visit.frame("Materials", "material", styles=("tool",)),
        materials=rows,
        with_archived=archived,
        history=history_of(events, visit.show, with_names=True),
    )
    return visit.answer(page)


@router.get("/new")
def new_material(visit: Visiting) -> Response:
    """An empty form."""
    return visit.answer(_edit(visit, Form(NEW, visit.unit)))


@router.post("/new")
def add_material(visit: Visiting, typed: Typed) -> Response:
    """Add a material."""
    form = Form.posted(typed, visit.unit)
    code, values = form.code("code"), read_material(form)
    with visit.database.writing() as session:
        form.attempt(lambda: actions.add_material(session, code, values, by=visit.person), session)
    if not form.ok:
        return visit.answer(_edit(visit, form), status=status_of(form))
    return visit.go_to(f"/office/material/{code}?saved=yes")


@router.get("/{code}")
def material(visit: Visiting, code: str, saved: bool = False) -> Response:
    """One material."""
    with visit.database.reading() as session:
        row = queries.get_material(session, code)
    form = Form(typed_of_material(row), visit.unit)
    return visit.answer(_edit(visit, form, code=code, saved=saved))


@router.post("/{code}")
def save_material(visit: Visiting, code: str, typed: Typed) -> Response:
    """Change a material."""
    form = Form.posted(typed, visit.unit)
    values, version = read_material(form), form.version()
    with visit.database.writing() as session:
        form.attempt(
            lambda: actions.save_material(session, code, values, version=version, by=visit.person),
            session,
        )
    if not form.ok:
        return visit.answer(_edit(visit, form, code=code), status=status_of(form))
    return visit.go_to(f"/office/material/{code}?saved=yes")


@router.post("/{code}/archived")
def archive_material(visit: Visiting, code: str, typed: Typed) -> Response:
    """Take a material off the lists, or put it back."""
    archived = Form(typed).yes("archived")
    with visit.database.writing() as session:
        actions.set_material_archived(session, code, archived=archived, by=visit.person)
    return visit.go_to("/office/material" if archived else f"/office/material/{code}")


@router.post("/{code}/put-back")
def put_material_back(visit: Visiting, code: str, typed: Typed) -> Response:
    """Undo one change of a material."""
    event_id = Form(typed).whole("event", least=0, most=10**12)
    with visit.database.writing() as session:
        actions.put_material_back(session, code, event_id, by=visit.person)
    return visit.go_to(f"/office/material/{code}?saved=yes")


def _edit(visit: Visit, form: Form, *, code: str = "", saved: bool = False) -> MaterialEdit:
    """A material's page around a form; an existing one's lots and history are read here."""
    archived, conflict, events, lots = False, Conflict(), [], []
    if code:
        with visit.database.reading() as session:
            row = queries.get_material(session, code)
            lots = queries.list_lots(session, code)
            events = list_events(session, noun="material", key=code)
        archived = row.archived_at is not None
        conflict = conflict_of(form, typed_of_material(row), version=row.version)
    return MaterialEdit(
        frame=visit.frame(
            code or "New material", "material", styles=("tool",), notice="Saved." if saved else ""
        ),
        form=form,
        code=code,
        archived=archived,
        families=FAMILY_CHOICES,
        lots=lots,
        conflict=conflict,
        history=history_of(
            events, visit.show, put_back_path=f"/office/material/{code}/put-back" if code else ""
        ),
    )
