"""How often each thing is looked after: the office keeps the list by the machine's manual."""

from fastapi import APIRouter
from starlette.responses import Response

from server.actions import care as actions
from server.storage.queries.brake import get_brake
from server.storage.queries.care import get_care_task, list_care_tasks
from server.web.forms.care_task import KINDS, read_care_task, typed_of_care_task
from server.web.forms.form import Form
from server.web.house import Typed, Visit, Visiting
from server.web.pages.care import CareTaskEdit
from server.web.problems import status_of

router = APIRouter(prefix="/office/brake/{code}/care", include_in_schema=False)


@router.get("")
def care_tasks(visit: Visiting, code: str, task: int | None = None) -> Response:
    """The list, and one task's form."""
    typed: dict[str, str] = {"kind": "check"}
    if task is not None:
        with visit.database.reading() as session:
            typed = typed_of_care_task(get_care_task(session, task))
    return visit.answer(_edit(visit, code, Form(typed, visit.unit), task))


@router.post("")
def save(visit: Visiting, code: str, typed: Typed) -> Response:
    """Add a task, or change one."""
    form = Form(typed, visit.unit)
    task_id = form.whole("task", least=1, most=10**9, default=0) or None
    values = read_care_task(form)
    with visit.database.writing() as session:
        form.attempt(
            lambda: actions.save_care_task(session, code, values, task_id=task_id, by=visit.person),
            session,
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
