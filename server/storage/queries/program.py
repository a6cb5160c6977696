"""Reading the memory map: what each program number of a control holds, and held."""

from sqlmodel import Session, col, select

from server.planning.memory_map import MemoryMap, SlotContent
from server.storage.tables.brake import Brake
from server.storage.tables.program import Program


def list_programs(session: Session, brake_code: str) -> list[Program]:
    """What a control holds now, by program number."""
    query = (
        select(Program)
        .where(col(Program.brake_code) == brake_code, col(Program.ended_at).is_(None))
        .order_by(col(Program.program))
    )
    return list(session.exec(query))


def list_sequence_programs(session: Session, bend_sequence_id: int) -> list[Program]:
    """Where the programs of a bend sequence are now, in the order they run."""
    query = (
        select(Program)
        .where(col(Program.bend_sequence_id) == bend_sequence_id, col(Program.ended_at).is_(None))
        .order_by(col(Program.which))
    )
    return list(session.exec(query))


def list_archived_programs(session: Session, brake_code: str, *, most: int = 60) -> list[Program]:
    """What was keyed over on a control, newest first."""
    query = (
        select(Program)
        .where(col(Program.brake_code) == brake_code, col(Program.ended_at).is_not(None))
        .order_by(col(Program.ended_at).desc(), col(Program.id).desc())
        .limit(most)
    )
    return list(session.exec(query))


def memory_of(brake: Brake, programs: list[Program]) -> MemoryMap:
    """A control's memory as the planning sees it."""
    return MemoryMap(
        brake.program_count,
        {row.program: content_of(row) for row in programs if row.program <= brake.program_count},
    )


def content_of(row: Program) -> SlotContent:
    """One program as the planning sees it."""
    return SlotContent(
        part_number=row.part_number,
        revision_label=row.revision_label,
        sequence_label=row.sequence_label,
        program_of=(row.which, row.many),
        step_count=row.steps_count,
        keyed_on=row.keyed_at.date(),
        keyed_by=row.keyed_by,
        digits={
            (int(place.split()[0]), place.split()[1]): str(text)
            for place, text in row.digits.items()
        },
    )


def find_program_before(session: Session, row: Program) -> Program | None:
    """What the same program number held before, or None."""
    query = (
        select(Program)
        .where(
            col(Program.brake_code) == row.brake_code,
            col(Program.program) == row.program,
            col(Program.id) < (row.id or 0),
        )
        .order_by(col(Program.id).desc())
        .limit(1)
    )
    return session.exec(query).first()
