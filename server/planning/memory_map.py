"""Which bend sequence sits in which program number of a control, and what choosing one overwrites.

The control keeps no history: whatever is keyed over another program is gone there. The map names
what would be lost before it is, and keeps it in the archive, digits and all.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from server.errors import ShopError, say
from server.findings import Finding


@dataclass(frozen=True, slots=True)
class SlotContent:
    """What one program number holds: a part of a bend sequence at a revision.

    `program_of` is (which, of how many) where a long sequence was split. `digits` are the numbers as
    keyed, by step and field, so that an archived program can be keyed again and a slot used twice
    be recognised.
    """

    part_number: str
    revision_label: str
    sequence_label: str
    program_of: tuple[int, int] = (1, 1)
    step_count: int = 0
    keyed_on: date | None = None
    keyed_by: str = ""
    digits: Mapping[tuple[int, str], str] = field(default_factory=dict)

    @property
    def name(self) -> str:
        """What a person calls it."""
        which, many = self.program_of
        split = f", program {which} of {many}" if many > 1 else ""
        return f"{self.part_number} revision {self.revision_label} ({self.sequence_label}{split})"

    def is_of(self, part_number: str, revision_label: str, sequence_label: str) -> bool:
        """Whether it is a program of a bend sequence."""
        return (self.part_number, self.revision_label, self.sequence_label) == (
            part_number,
            revision_label,
            sequence_label,
        )


@dataclass(frozen=True, slots=True)
class ArchivedProgram:
    """A program that was keyed over: what it was, where, and what replaced it."""

    number: int
    content: SlotContent
    replaced_by: str
    on: date


@dataclass(frozen=True, slots=True)
class MemoryMap:
    """The program numbers of one control, 1 to `program_count`."""

    program_count: int
    slots: Mapping[int, SlotContent] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if self.program_count < 1:
            raise ShopError(
                "no_programs",
                "This control keeps no programs.",
                remedy="Enter how many programs it keeps on the brake's page.",
                where="program_count",
            )
        for number in self.slots:
            self.need_number(number)

    @property
    def free(self) -> tuple[int, ...]:
        """Program numbers nothing is kept in, smallest first."""
        return tuple(
            number for number in range(1, self.program_count + 1) if number not in self.slots
        )

    def need_number(self, number: int) -> None:
        """Refuse a program number the control does not have.

        Raises: ShopError `no_such_program`.
        """
        if not 1 <= number <= self.program_count:
            raise ShopError(
                "no_such_program",
                say(
                    "The control has programs 1 to {count}, not {number}.",
                    count=str(self.program_count),
                    number=str(number),
                ),
                remedy="Choose one of them.",
                where="number",
            )

    def numbers_of(
        self, part_number: str, revision_label: str, sequence_label: str
    ) -> tuple[int, ...]:
        """Where the programs of a bend sequence are, in the order they run; empty if nowhere."""
        found = [
            (content.program_of[0], number)
            for number, content in self.slots.items()
            if content.is_of(part_number, revision_label, sequence_label)
        ]
        return tuple(number for _, number in sorted(found))


@dataclass(frozen=True, slots=True)
class Placement:
    """Program numbers chosen for the programs of a sequence, and what they hold now."""

    numbers: tuple[int, ...]
    overwritten: tuple[tuple[int, SlotContent], ...]
    findings: tuple[Finding, ...]


def placement(
    *,
    memory: MemoryMap,
    contents: Sequence[SlotContent],
    chosen: Sequence[int] | None = None,
) -> Placement:
    """Where the programs of one bend sequence go.

    Without `chosen` they stay where they are if all are in the control already, else they take free
    numbers, next to each other where there is such a run. Chosen numbers are taken as they are: what
    each holds of another sequence is named as lost.

    Raises: ShopError `nothing_to_key`, `no_such_program`, `number_chosen_twice`,
        `wrong_count_of_numbers`, `no_free_program`.
    """
    if not contents:
        raise ShopError(
            "nothing_to_key", "There is no program to place.", remedy="Plan the sequence first."
        )
    numbers = _chosen(memory, chosen, len(contents)) if chosen is not None else None
    if numbers is None:
        numbers = _where_it_is(memory, contents) or _free_run(memory, len(contents))
    lost = tuple(
        (number, memory.slots[number])
        for number, content in zip(numbers, contents, strict=True)
        if number in memory.slots and not _same_program(memory.slots[number], content)
    )
    return Placement(numbers, lost, tuple(_named_as_lost(number, old) for number, old in lost))


def placed(
    *,
    memory: MemoryMap,
    place: Placement,
    contents: Sequence[SlotContent],
    on: date,
) -> tuple[MemoryMap, tuple[ArchivedProgram, ...]]:
    """The map after keying, and what it keyed over, for the archive.

    A program of the same sequence that moves elsewhere leaves its old number free.
    """
    first = contents[0]
    slots = {
        number: content
        for number, content in memory.slots.items()
        if not content.is_of(first.part_number, first.revision_label, first.sequence_label)
    }
    archived = tuple(
        ArchivedProgram(number, old, contents[place.numbers.index(number)].name, on)
        for number, old in place.overwritten
    )
    slots.update(zip(place.numbers, contents, strict=True))
    return MemoryMap(memory.program_count, dict(sorted(slots.items()))), archived


def check_slots(*, memory: MemoryMap, newest_revisions: Mapping[str, str]) -> tuple[Finding, ...]:
    """Programs in the control that must not run any more: their revision is superseded."""
    return tuple(
        Finding(
            "stop",
            "program_superseded",
            say(
                "Program {number} holds {name}; the newest revision is {newest}.",
                number=str(number),
                name=content.name,
                newest=newest_revisions[content.part_number],
            ),
            say("Key the newest revision over it, or clear the program."),
            source="a revision is frozen; a new one blocks the old on the floor",
        )
        for number, content in sorted(memory.slots.items())
        if newest_revisions.get(content.part_number, content.revision_label)
        != content.revision_label
    )


def _chosen(memory: MemoryMap, chosen: Sequence[int], count: int) -> tuple[int, ...]:
    for number in chosen:
        memory.need_number(number)
    if len(set(chosen)) != len(chosen):
        raise ShopError(
            "number_chosen_twice",
            "One program number is chosen twice.",
            remedy="Choose another for each program.",
            where="number",
        )
    if len(chosen) != count:
        raise ShopError(
            "wrong_count_of_numbers",
            say(
                "The sequence needs {count} programs; {chosen} numbers are chosen.",
                count=str(count),
                chosen=str(len(chosen)),
            ),
            remedy="Choose one number for each program.",
            where="number",
        )
    return tuple(chosen)


def _where_it_is(memory: MemoryMap, contents: Sequence[SlotContent]) -> tuple[int, ...] | None:
    first = contents[0]
    numbers = memory.numbers_of(first.part_number, first.revision_label, first.sequence_label)
    return numbers if len(numbers) == len(contents) else None


def _free_run(memory: MemoryMap, count: int) -> tuple[int, ...]:
    free = memory.free
    if len(free) < count:
        raise ShopError(
            "no_free_program",
            say(
                "{count} programs are needed; {free} are free.",
                count=str(count),
                free=str(len(free)),
            ),
            remedy="Choose which programs to key over; what they hold is named and archived.",
            where="number",
        )
    for at in range(len(free) - count + 1):
        run = free[at : at + count]
        if run[-1] - run[0] == count - 1:
            return run
    return free[:count]


def _same_program(old: SlotContent, new: SlotContent) -> bool:
    return (
        old.is_of(new.part_number, new.revision_label, new.sequence_label)
        and old.program_of == new.program_of
    )


def _named_as_lost(number: int, old: SlotContent) -> Finding:
    when = f", keyed {old.keyed_on.isoformat()}" if old.keyed_on else ""
    by = f" by {old.keyed_by}" if old.keyed_by else ""
    return Finding(
        "caution",
        "program_overwritten",
        say(
            "Program {number} holds {name}{when}{by}: it is lost in the control.",
            number=str(number),
            name=old.name,
            when=when,
            by=by,
        ),
        say("It goes to the archive and can be keyed again; or choose a free number."),
        source="the control keeps one program to a number",
    )


def programs_named(numbers: Iterable[int]) -> str:
    """Program numbers as people say them: runs together.

    >>> programs_named((3, 4, 5, 9))
    '3-5, 9'
    """
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(str(run[0]) if len(run) == 1 else f"{run[0]}-{run[-1]}" for run in runs)
