"""The memory map of a control."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from server.findings import Finding
from server.web.pages.page import Frame, Page

if TYPE_CHECKING:
    from server.storage.tables.brake import Brake
    from server.storage.tables.program import Program


@dataclass(frozen=True)
class MemoryShow(Page):
    """What each program number holds, and what was keyed over."""

    template: ClassVar[str] = "program/list.html"
    frame: Frame
    machine: "Brake"
    others: "tuple[Brake, ...]"
    slots: "tuple[tuple[int, Program | None], ...]"
    free_count: int
    findings: tuple[Finding, ...]
    superseded: frozenset[int]
    archived: "tuple[Program, ...]"


def memory_slots(
    brake: "Brake", programs: "Sequence[Program]"
) -> "tuple[tuple[int, Program | None], ...]":
    """Every program number with what it holds; numbers beyond the control's, too, if any are kept."""
    held = {program.program: program for program in programs}
    numbers = sorted({*range(1, brake.program_count + 1), *held})
    return tuple((number, held.get(number)) for number in numbers)
