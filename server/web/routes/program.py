"""The memory map of a control: what each program number holds, held, and must not run any more."""

from fastapi import APIRouter
from starlette.responses import Response

from server.actions.key_in import clear_program
from server.planning.memory_map import check_slots
from server.storage.queries.brake import get_brake, list_brakes
from server.storage.queries.part import find_newest_revision
from server.storage.queries.program import list_archived_programs, list_programs, memory_of
from server.web.forms.form import Form
from server.web.house import Typed, Visit, Visiting
from server.web.pages.program import MemoryShow, memory_slots

router = APIRouter(prefix="/brake/memory", include_in_schema=False)


@router.get("")
def memory(visit: Visiting, code: str = "") -> Response:
    """What a control holds; of the first brake where none is named."""
    return visit.answer(_memory(visit, code))


@router.post("/clear")
def clear(visit: Visiting, typed: Typed) -> Response:
    """Note that a program number was cleared in the control."""
    form = Form(typed, visit.unit)
    number = form.whole("number", least=1, most=100_000)
    form.need_ok()
    code = form.text("code", most=40)
    with visit.database.writing() as session:
        clear_program(session, get_brake(session, code).code, number, by=visit.person)
    return visit.go_to(f"{visit.brake}/memory?code={code}")


def _memory(visit: Visit, code: str) -> MemoryShow:
    with visit.database.reading() as session:
        brakes = list_brakes(session)
        row = get_brake(session, code or (brakes[0].code if brakes else ""))
        programs = list_programs(session, row.code)
        newest = {
            program.part_number: found.label
            for program in programs
            if (found := find_newest_revision(session, program.part_number)) is not None
        }
        archived = list_archived_programs(session, row.code, most=12)
    held = memory_of(row, programs)
    return MemoryShow(
        frame=visit.frame(
            f"Memory of {row.code}",
            "brake",
            side="brake",
            styles=("panel", "setup", "key_in"),
            scripts=("panel", "print"),
        ),
        machine=row,
        others=tuple(other for other in brakes if other.code != row.code),
        slots=memory_slots(row, programs),
        free_count=len(held.free),
        findings=check_slots(memory=held, newest_revisions=newest),
        superseded=frozenset(
            program.program
            for program in programs
            if newest.get(program.part_number, program.revision_label) != program.revision_label
        ),
        archived=tuple(archived),
    )
