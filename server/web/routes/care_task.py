"""How often each thing is looked after: the office keeps the list by the machine's manual."""

from typing import TYPE_CHECKING

from fastapi import APIRouter
from starlette.responses import Response

from server.actions import care as actions
from server.actions.care import CareTaskValues
from server.storage.queries.brake import get_brake
from server.storage.queries.care import get_care_task, list_care_tasks
from server.web.forms.form import Form
from server.web.house import Typed, Visit, Visiting
from server.web.pages.care import KINDS, CareTaskEdit
from server.web.problems import status_of

if TYPE_CHECKING:
    from server.storage.tables.care import CareTask

router = APIRouter(prefix="/office/brake/{code}/care", include_in_schema=False)


@router.get("")
def care_tasks(visit: Visiting, code: str, task: int | None = None) -> Response:
    """The list, and one task's form."""
    typed: dict[str, str] = {"kind": "check"}
    if task is not None:
        with visit.database.reading() as session:
            typed = _typed_of(get_care_task(session, task))
    return visit.answer(_edit(visit, code, Form(typed, visit.unit), task))


@router.post("")
def save(visit: Visiting, code: str, typed: Typed) -> Response:
    """Add a task, or change one."""
    form = Form(typed, visit.unit)
    task_id = form.whole("task", least=1, most=10**9, default=0) or None
    days = form.whole("every_days", least=0, most=36500, default=0)
    values = CareTaskValues(
        name=form.text("name", needed=True, most=120),
        kind=form.choice("kind", KINDS, "check"),
        what=form.text("what", most=300),
        every_days=days or None,
        every_h=form.number("every_h", least=0, most=1e6, needed=False, above=True),
    )
    with visit.database.writing() as session:
        form.attempt(
            lambda: actions.save_care_task(session, code, values, task_id=task_id, by=visit.person)
        )
    if not form.ok:
        return visit.answer(_edit(visit, code, form, task_id), status=status_of(form))
    return visit.go_to(f"/office/brake/{code}/care")


@router.post("/archived")
def archive(visit: Visiting, code: str, typed: Typed) -> Response:
    """Take a task off the list, or put it back."""
    form = Form(typed, visit.unit)
    task_id = form.whole("task", least=1, most=10**9)
    form.need_ok()
    with visit.database.writing() as session:
        actions.set_care_task_archived(
            session, task_id, archived=form.yes("archived"), by=visit.person
        )
    return visit.go_to(f"/office/brake/{code}/care")


def _edit(visit: Visit, code: str, form: Form, task_id: int | None) -> CareTaskEdit:
    with visit.database.reading() as session:
        row = get_brake(session, code)
        tasks = tuple(list_care_tasks(session, code, with_archived=True))
    return CareTaskEdit(
        frame=visit.frame(f"Care of {code}", "brake", styles=("tool",)),
        machine=row,
        tasks=tasks,
        form=form,
        task_id=task_id,
        kinds=tuple((kind, kind) for kind in KINDS),
    )


def _typed_of(row: "CareTask") -> dict[str, str]:
    return {
        "name": row.name,
        "kind": row.kind if row.kind in KINDS else "other",
        "what": row.what,
        "every_days": "" if row.every_days is None else str(row.every_days),
        "every_h": "" if row.every_h is None else f"{row.every_h:g}",
    }
