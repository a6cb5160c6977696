"""Keying a set-up into the control: the sheet, its place in the memory, and reading it back."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from server.actions.history import keep
from server.actions.learning import is_learnt, sheet_of
from server.errors import ShopError
from server.mechanics.control_reading import TouchOffOn
from server.mechanics.thickness_range import thickness_range
from server.planning.key_in import KeyField, KeyInSheet, KeyLayout, StepToKey, key_in_sheet
from server.planning.memory_map import MemoryMap, Placement, SlotContent, placed, placement
from server.planning.read_back import Place, ReadBack, override, read_back
from server.planning.split import split_programs
from server.storage.database import Session
from server.storage.queries.job import get_run
from server.storage.queries.program import (
    find_program_before,
    list_programs,
    list_sequence_programs,
    memory_of,
)
from server.storage.queries.setup import SetupPlace, get_setup_place
from server.storage.tables.bend_sequence import Step
from server.storage.tables.brake import Brake
from server.storage.tables.column import utc_now
from server.storage.tables.program import Program
from server.storage.tables.setup import SetupStep


@dataclass(frozen=True, slots=True)
class KeyedProgram:
    """One program to key: which of how many, its sheet, and the number it has in the control."""

    which: int
    many: int
    sheet: KeyInSheet
    kept: Program | None

    @property
    def digits(self) -> dict[Place, str]:
        """The numbers as they are typed, by step and field."""
        return {
            (line.number, value.name): value.text
            for line in self.sheet.lines
            for value in line.values
        }

    @property
    def changed(self) -> tuple[str, ...]:
        """What differs from what was keyed: the numbers to key again, like 'step 2 Y'."""
        if self.kept is None:
            return ()
        before = dict(self.kept.digits)
        return tuple(
            f"step {step} {name.upper()}"
            for (step, name), text in self.digits.items()
            if before.get(f"{step} {name}") != text
        )


@dataclass(frozen=True, slots=True)
class KeyIn:
    """Everything to key for a run: its programs, the control's memory, where they go."""

    place: SetupPlace
    programs: tuple[KeyedProgram, ...]
    memory: MemoryMap
    placement: Placement | None
    not_keyed: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class _Row:
    """A kept step as splitting sees it."""

    number: int
    tools_changed: bool
    turned_over: bool
    turned_end_for_end: bool


def key_layout(brake: Brake) -> KeyLayout:
    """How a brake's control takes numbers."""
    resolution: dict[KeyField, float] = {"x": brake.x_resolution_mm, "y": brake.y_resolution_mm}
    return KeyLayout("in" if brake.control_unit == "in" else "mm", resolution)


def key_in(session: Session, run_id: int, *, chosen: Sequence[int] | None = None) -> KeyIn:
    """The key-in sheets of a run. Reads only.

    Raises: ShopError `not_found`, `nothing_to_key`, or what is wrong with the numbers chosen.
    """
    run = get_run(session, run_id)
    place = get_setup_place(session, run.setup_id or 0)
    keyed = place.keyed
    if not keyed:
        raise ShopError(
            "nothing_to_key",
            "The tools fix the shape of every bend; nothing is keyed.",
            remedy="Set the stroke by the machine's manual.",
        )
    kept = {row.which: row for row in list_sequence_programs(session, place.sequence.id or 0)}
    parts = split_programs(list(_rows(keyed)), most_steps=place.brake.steps_per_program_count)
    programs = tuple(
        KeyedProgram(
            which,
            len(parts),
            key_in_sheet(
                layout=key_layout(place.brake),
                steps=[
                    _step_to_key(place, step, row)
                    for step, row in keyed
                    if part.first <= step.position <= part.last
                ],
            ),
            kept.get(which),
        )
        for which, part in enumerate(parts, start=1)
    )
    memory = memory_of(place.brake, list_programs(session, place.brake.code))
    contents = [_content(place, program, "", None) for program in programs]
    return KeyIn(
        place,
        programs,
        memory,
        _placed_or_full(memory, contents, chosen),
        tuple(entry.step.position for entry in place.steps if entry.step.depth_mm is None),
    )


def keep_programs(
    session: Session, run_id: int, numbers: Sequence[int], *, by: str
) -> tuple[Program, ...]:
    """Note that a run's programs were keyed under these numbers; what they held is archived.

    Raises: ShopError `no_such_program`, `number_chosen_twice`, `wrong_count_of_numbers`.
    """
    told = key_in(session, run_id, chosen=numbers)
    place, now = told.place, utc_now()
    contents = [_content(place, program, by, now) for program in told.programs]
    chosen = placement(memory=told.memory, contents=contents, chosen=numbers)
    _, archived = placed(memory=told.memory, place=chosen, contents=contents, on=now.date())
    lost = {one.number: one.replaced_by for one in archived}
    own = {row.id for row in list_sequence_programs(session, place.sequence.id or 0)}
    for row in list_programs(session, place.brake.code):
        if row.id in own or row.program in numbers:
            row.ended_at, row.replaced_by = now, lost.get(row.program, contents[0].name)
            session.add(row)
    kept = tuple(
        Program(
            brake_code=place.brake.code,
            program=number,
            bend_sequence_id=place.sequence.id,
            setup_id=place.setup.id,
            part_number=content.part_number,
            revision_label=content.revision_label,
            sequence_label=content.sequence_label,
            which=content.program_of[0],
            many=content.program_of[1],
            steps_count=content.step_count,
            digits={f"{step} {name}": text for (step, name), text in content.digits.items()},
            keyed_by=by,
            keyed_at=now,
        )
        for number, content in zip(numbers, contents, strict=True)
    )
    session.add_all(kept)
    place.setup.changed_at = now
    session.add(place.setup)
    session.flush()
    keep(
        session,
        "keyed in",
        noun="brake",
        key=place.brake.code,
        by=by,
        after={"programs": list(numbers), "what": contents[0].name},
    )
    return kept


def clear_program(session: Session, brake_code: str, number: int, *, by: str) -> None:
    """Note that a program number was cleared in the control; what it held is archived."""
    for row in list_programs(session, brake_code):
        if row.program == number:
            row.ended_at, row.replaced_by = utc_now(), f"cleared by {by}"
            session.add(row)
            keep(
                session,
                "cleared a program",
                noun="brake",
                key=brake_code,
                by=by,
                after={"program": number, "what": row.part_number},
            )


def check_read_back(
    session: Session,
    run_id: int,
    *,
    typed: Mapping[Place, str],
    ticked: frozenset[Place] = frozenset(),
    step_count: int | None = None,
    by: str,
) -> tuple[ReadBack, ...]:
    """Compare what the control shows with the sheet, and keep the answer; a difference locks.

    Raises: ShopError `not_found`, `nothing_to_key`.
    """
    told = key_in(session, run_id)
    checks = tuple(
        read_back(
            sheet=program.sheet,
            typed=typed,
            ticked=ticked,
            step_count=step_count if len(told.programs) == 1 else None,
            held_before=_held_before(session, program),
        )
        for program in told.programs
    )
    setup = told.place.setup
    locked = any(check.locked for check in checks)
    setup.read_back = {
        "locked": locked,
        "by": by,
        "at": utc_now().isoformat(),
        "typed": {f"{step} {name}": text for (step, name), text in typed.items()},
        "ticked": sorted(f"{step} {name}" for step, name in ticked),
        "step_count": step_count,
    }
    if not locked:
        tick = {"by": by, "at": utc_now().isoformat()}
        setup.checks = {**setup.checks, "key_in": tick}
    session.add(setup)
    session.flush()
    keep(
        session,
        "read back",
        noun="run",
        key=str(run_id),
        by=by,
        after={"wrong": sum(len(check.wrong) for check in checks)},
    )
    return checks


def kept_read_back(session: Session, run_id: int) -> tuple[ReadBack, ...]:
    """The last read-back of a run, worked out again against the sheet as it is now. Reads only."""
    told = key_in(session, run_id)
    kept = told.place.setup.read_back
    if not kept:
        return ()
    typed = {_place(name): str(text) for name, text in kept["typed"].items()}
    ticked = frozenset(_place(name) for name in kept["ticked"])
    return tuple(
        read_back(
            sheet=program.sheet,
            typed=typed,
            ticked=ticked,
            step_count=kept["step_count"] if len(told.programs) == 1 else None,
            held_before=_held_before(session, program),
        )
        for program in told.programs
    )


def override_read_back(session: Session, run_id: int, *, reason: str, by: str) -> None:
    """Let a start go that the read-back locked: with a name, a reason and what differed, logged.

    Raises: ShopError `nothing_to_override`, `reason_missing`, `name_missing`.
    """
    run = get_run(session, run_id)
    checks = kept_read_back(session, run_id)
    locked = next((check for check in checks if check.locked), None)
    if locked is None:
        raise ShopError(
            "nothing_to_override", "The read-back is right; nothing is locked.", remedy="Go on."
        )
    made = override(check=locked, by=by, at=utc_now(), reason=reason)
    setup = get_setup_place(session, run.setup_id or 0).setup
    plain = {
        "by": made.by,
        "at": made.at.isoformat(),
        "reason": made.reason,
        "differed": list(made.differed),
    }
    setup.read_back = {**(setup.read_back or {}), "override": plain}
    tick = {"by": made.by, "at": made.at.isoformat()}
    setup.checks = {**setup.checks, "key_in": tick}
    session.add(setup)
    keep(session, "overrode the read-back", noun="run", key=str(run_id), by=by, after=plain)


def _rows(keyed: Sequence[tuple[Step, SetupStep]]) -> Iterator[_Row]:
    earlier: Step | None = None
    for step, _ in keyed:
        tools = (step.punch_code, step.die_code)
        changed = earlier is not None and (earlier.punch_code, earlier.die_code) != tools
        yield _Row(step.position, changed, step.turned_over, step.turned_end_for_end)
        earlier = step


def _step_to_key(place: SetupPlace, step: Step, keyed: SetupStep) -> StepToKey:
    low_mm, high_mm = _good_for(place, step, keyed)
    return StepToKey(
        number=step.position,
        values_mm={"x": keyed.x_mm, "y": keyed.y_mm},
        bend_angle_deg=step.bend_angle_deg,
        tools=f"{step.punch_code} / {step.die_code}",
        gauge_kind=step.gauge_kind,
        side_up=step.side_up,
        expected_mm={"x": step.x_exact_mm},
        good_from_mm=low_mm,
        good_to_mm=high_mm,
    )


def _good_for(place: SetupPlace, step: Step, keyed: SetupStep) -> tuple[float | None, float | None]:
    """The thicknesses a step's Y is good for, where its angle follows from its depth."""
    if not is_learnt(step):
        return None, None
    touch_off_on: TouchOffOn = "die" if place.setup.touch_off_on == "die" else "sheet"
    off_deg = 0.0
    if keyed.predicted_deg is not None:
        off_deg = keyed.predicted_deg - step.bend_angle_deg
    return thickness_range(
        sheet=sheet_of(place, step),
        depth_mm=keyed.depth_mm,
        tolerance_deg=step.angle_tolerance_deg,
        touch_off_on=touch_off_on,
        angle_off_deg=off_deg,
    )


def _content(place: SetupPlace, program: KeyedProgram, by: str, at: datetime | None) -> SlotContent:
    return SlotContent(
        part_number=place.sequence.part_number,
        revision_label=place.sequence.revision_label,
        sequence_label=place.sequence.label,
        program_of=(program.which, program.many),
        step_count=program.sheet.step_count,
        keyed_on=at.date() if at else None,
        keyed_by=by,
        digits={(step, name): text for (step, name), text in program.digits.items()},
    )


def _placed_or_full(
    memory: MemoryMap, contents: Sequence[SlotContent], chosen: Sequence[int] | None
) -> Placement | None:
    """Where the programs go by themselves; None when the memory is full and one has to choose."""
    if chosen is None and len(memory.free) < len(contents):
        first = contents[0]
        where = memory.numbers_of(first.part_number, first.revision_label, first.sequence_label)
        if len(where) != len(contents):
            return None
    return placement(memory=memory, contents=contents, chosen=chosen)


def _held_before(session: Session, program: KeyedProgram) -> dict[Place, str]:
    if program.kept is None:
        return {}
    before = find_program_before(session, program.kept)
    return {_place(name): str(text) for name, text in before.digits.items()} if before else {}


def _place(name: str) -> Place:
    step, field = name.split()
    return int(step), "x" if field == "x" else "r" if field == "r" else "y"
