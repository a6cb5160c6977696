"""Materials: list, add, change, archive."""

from dataclasses import replace

from fastapi import APIRouter
from starlette.responses import Response

from server.actions import material as actions
from server.storage.queries import material as queries
from server.web.forms.form import Form
from server.web.forms.material import FAMILY_CHOICES, read_material, typed_of_material
from server.web.house import Typed, Visit, Visiting
from server.web.pages.material import MaterialEdit, MaterialList

router = APIRouter(prefix="/office/material", include_in_schema=False)
NEW = {"family": "steel", "youngs_modulus_mpa": "210000", "poisson_ratio": "0.3"}


@router.get("")
def materials(visit: Visiting) -> Response:
    """All materials."""
    with visit.database.reading() as session:
        rows = queries.list_materials(session)
    return visit.answer(MaterialList(frame=visit.frame("Materials", "material"), materials=rows))


@router.get("/new")
def new_material(visit: Visiting) -> Response:
    """An empty form."""
    return visit.answer(_edit(visit, Form(NEW, visit.unit), code=""))


@router.post("/new")
def add_material(visit: Visiting, typed: Typed) -> Response:
    """Add a material."""
    form = Form(typed, visit.unit)
    code, values = form.code("code"), read_material(form)
    with visit.database.writing() as session:
        form.attempt(lambda: actions.add_material(session, code, values, by=visit.person))
    if not form.ok:
        return visit.answer(_edit(visit, form, code=""), status=422)
    return visit.go_to("/office/material")


@router.get("/{code}")
def material(visit: Visiting, code: str) -> Response:
    """One material."""
    with visit.database.reading() as session:
        row = queries.get_material(session, code)
        lots = queries.list_lots(session, code)
    page = _edit(visit, Form(typed_of_material(row), visit.unit), code=code)
    return visit.answer(replace(page, lots=lots, archived=row.archived_at is not None))


@router.post("/{code}")
def save_material(visit: Visiting, code: str, typed: Typed) -> Response:
    """Change a material."""
    form = Form(typed, visit.unit)
    values, version = read_material(form), form.whole("version", least=0, most=10**9)
    with visit.database.writing() as session:
        form.attempt(
            lambda: actions.save_material(session, code, values, version=version, by=visit.person)
        )
    if not form.ok:
        return visit.answer(_edit(visit, form, code=code), status=422)
    return visit.go_to("/office/material")


@router.post("/{code}/archived")
def archive_material(visit: Visiting, code: str, typed: Typed) -> Response:
    """Take a material off the lists, or put it back."""
    archived = Form(typed).yes("archived")
    with visit.database.writing() as session:
        actions.set_material_archived(session, code, archived=archived, by=visit.person)
    return visit.go_to("/office/material" if archived else f"/office/material/{code}")


def _edit(visit: Visit, form: Form, *, code: str) -> MaterialEdit:
    return MaterialEdit(
        frame=visit.frame(code or "New material", "material"),
        form=form,
        code=code,
        archived=False,
        families=FAMILY_CHOICES,
        lots=[],
    )
