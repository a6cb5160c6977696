"""The key-in sheet of a run: what to type, where it goes in the memory, and reading it back."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from server.actions.key_in import KeyedProgram, KeyIn
from server.errors import Sentence
from server.findings import Finding
from server.planning.key_in import KeyedLine, KeyedValue
from server.planning.memory_map import MemoryMap
from server.planning.read_back import Place, ReadBack, ReadCell
from server.web.pages.page import Frame, Page

if TYPE_CHECKING:
    from server.storage.tables.brake import Brake
    from server.storage.tables.job import Job, Run
    from server.storage.tables.setup import Setup


@dataclass(frozen=True, slots=True)
class ReadView:
    """One number as it was read: its characters, each with whether it is wrong."""

    cell: ReadCell
    characters: tuple[tuple[str, bool], ...]


@dataclass(frozen=True, slots=True)
class ValueView:
    """One number to type, whether it differs from what the program holds, and how it was read."""

    value: KeyedValue
    changed: bool
    read: ReadView | None

    @property
    def field(self) -> str:
        """The axis as the sheet names it."""
        return self.value.name.upper()


@dataclass(frozen=True, slots=True)
class LineView:
    """One step's line."""

    line: KeyedLine
    values: tuple[ValueView, ...]


@dataclass(frozen=True, slots=True)
class ProgramView:
    """One program to key: its lines, its sums, and the number it has."""

    which: int
    many: int
    lines: tuple[LineView, ...]
    sums: tuple[tuple[str, str], ...]
    step_count: int
    good_from_mm: float | None
    good_to_mm: float | None
    findings: tuple[Finding, ...]
    number: int | None
    kept_number: int | None
    kept_by: str
    changed: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SlotView:
    """One program number of a control, and what it holds."""

    number: int
    holds: str
    own: bool


@dataclass(frozen=True)
class KeyInPlace(Page):
    """Which program number, and what is lost by choosing it."""

    template: ClassVar[str] = "key_in/_place.html"
    base: str
    brake: str
    machine: "Brake"
    programs: tuple[ProgramView, ...]
    slots: tuple[SlotView, ...]
    free_count: int
    lost: tuple[Finding, ...]
    full: bool


@dataclass(frozen=True)
class KeyInShow(Page):
    """The key-in sheet."""

    template: ClassVar[str] = "key_in/show.html"
    frame: Frame
    base: str
    run: "Run"
    job: "Job | None"
    setup: "Setup"
    place: KeyInPlace
    unit: str
    programs: tuple[ProgramView, ...]
    not_keyed: tuple[int, ...]
    was_read: bool
    locked: bool
    patterns: tuple[Sentence, ...]
    sums_off: tuple[tuple[str, str], ...]
    step_count_off: int
    wrong_count: int


def key_in_place(told: KeyIn, *, base: str, brake: str) -> KeyInPlace:
    """Where the programs of a run go."""
    programs = _programs(told, ())
    return KeyInPlace(
        base=base,
        brake=brake,
        machine=told.place.brake,
        programs=programs,
        slots=slots_of(
            told.memory, own={program.kept.program for program in told.programs if program.kept}
        ),
        free_count=len(told.memory.free),
        lost=told.placement.findings if told.placement else (),
        full=told.placement is None,
    )


def key_in_show(
    told: KeyIn,
    checks: Sequence[ReadBack],
    *,
    frame: Frame,
    run: "Run",
    job: "Job | None",
    base: str,
) -> KeyInShow:
    """The sheet with what was read back of it."""
    setup = told.place.setup
    overridden = bool(setup.read_back and setup.read_back.get("override"))
    sums = {name: total for check in checks for name, total in check.sums_off.items() if total}
    return KeyInShow(
        frame=frame,
        base=base,
        run=run,
        job=job,
        setup=setup,
        place=key_in_place(told, base=base, brake=frame.brake),
        unit=told.place.brake.control_unit,
        programs=_programs(told, checks),
        not_keyed=told.not_keyed,
        was_read=bool(checks),
        locked=any(check.locked for check in checks) and not overridden,
        patterns=tuple(pattern for check in checks for pattern in check.patterns),
        sums_off=tuple((name.upper(), f"{total:+}") for name, total in sums.items()),
        step_count_off=sum(check.step_count_off for check in checks),
        wrong_count=sum(len(check.wrong) for check in checks),
    )


def slots_of(memory: MemoryMap, *, own: set[int]) -> tuple[SlotView, ...]:
    """Every program number of a control."""
    return tuple(
        SlotView(
            number,
            memory.slots[number].name if number in memory.slots else "",
            number in own,
        )
        for number in range(1, memory.program_count + 1)
    )


def _programs(told: KeyIn, checks: Sequence[ReadBack]) -> tuple[ProgramView, ...]:
    numbers = told.placement.numbers if told.placement else (None,) * len(told.programs)
    cells = {(cell.step, cell.name): cell for check in checks for cell in check.cells}
    return tuple(
        _program(program, number, cells)
        for program, number in zip(told.programs, numbers, strict=True)
    )


def _program(
    program: KeyedProgram, number: int | None, cells: dict[Place, ReadCell]
) -> ProgramView:
    sheet, changed = program.sheet, set(program.changed)
    return ProgramView(
        which=program.which,
        many=program.many,
        lines=tuple(
            LineView(
                line,
                tuple(
                    ValueView(
                        value,
                        f"step {line.number} {value.name.upper()}" in changed,
                        _read(cells.get((line.number, value.name))),
                    )
                    for value in line.values
                ),
            )
            for line in sheet.lines
        ),
        sums=tuple((name.upper(), text) for name, text in sheet.sum_texts.items()),
        step_count=sheet.step_count,
        good_from_mm=sheet.good_from_mm,
        good_to_mm=sheet.good_to_mm,
        findings=sheet.findings,
        number=number,
        kept_number=program.kept.program if program.kept else None,
        kept_by=program.kept.keyed_by if program.kept else "",
        changed=program.changed,
    )


def _read(cell: ReadCell | None) -> ReadView | None:
    if cell is None:
        return None
    return ReadView(cell, tuple(zip(cell.typed, cell.marks, strict=True)))
