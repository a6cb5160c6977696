"""The read-back check: what the control shows, digit by digit, against what it should.

Any difference locks the start. Whoever overrides it gives a reason, and that is kept with a name.
The usual slips are recognised, so that the remedy is one key and not a search.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal, InvalidOperation

from server.errors import Sentence, ShopError, say
from server.planning.key_in import KeyedLine, KeyedValue, KeyField, KeyInSheet, likely_slip

Place = tuple[int, KeyField]
LEAST_REASON_LENGTH = 3
LONGEST_TYPED = 12
LARGEST_TYPED = Decimal("1e6")
LEAST_STEPS_FOR_PATTERN = 2


@dataclass(frozen=True, slots=True)
class ReadCell:
    """One number: what it should be, what was read, and which of the digits read are wrong.

    `marks` has one entry for each character of `typed`; `off` is typed less wanted in the control's
    unit, None where nothing usable was typed.
    """

    step: int
    name: KeyField
    wanted: str
    typed: str
    marks: tuple[bool, ...]
    off: Decimal | None
    likely: Sentence | None

    @property
    def right(self) -> bool:
        """Whether the control shows what it should."""
        return self.off == 0


@dataclass(frozen=True, slots=True)
class ReadBack:
    """The whole check. `sums_off` are column sums read less wanted; `patterns` explain many at once."""

    cells: tuple[ReadCell, ...]
    sums_off: Mapping[KeyField, Decimal]
    step_count_off: int
    patterns: tuple[Sentence, ...]

    @property
    def wrong(self) -> tuple[ReadCell, ...]:
        """The cells that differ or were not read."""
        return tuple(cell for cell in self.cells if not cell.right)

    @property
    def locked(self) -> bool:
        """Whether the start stays locked."""
        return bool(self.wrong) or self.step_count_off != 0


@dataclass(frozen=True, slots=True)
class ReadBackOverride:
    """A locked start that somebody let go: who, when, why, and what differed."""

    by: str
    at: datetime
    reason: str
    differed: tuple[str, ...]


def read_back(
    *,
    sheet: KeyInSheet,
    typed: Mapping[Place, str],
    ticked: frozenset[Place] = frozenset(),
    step_count: int | None = None,
    held_before: Mapping[Place, str] | None = None,
) -> ReadBack:
    """What the operator read off the control against the sheet.

    A place in `ticked` was looked at and is as the sheet says; one in neither was not read, and
    keeps the start locked. `held_before` are the digits the program number held before.
    """
    cells = []
    for line in sheet.lines:
        for value in line.values:
            place = (line.number, value.name)
            text = typed.get(place, value.text if place in ticked else "")
            cells.append(_cell(sheet, line, value, text.strip()))
    read = [cell for cell in cells if cell.off is not None]
    sums_off = {
        name: sum((cell.off for cell in read if cell.name == name and cell.off), Decimal(0))
        for name in sheet.layout.fields
    }
    count_off = 0 if step_count is None else step_count - sheet.step_count
    return ReadBack(
        tuple(cells),
        sums_off,
        count_off,
        tuple(_patterns(sheet, cells, held_before or {})),
    )


def override(*, check: ReadBack, by: str, at: datetime, reason: str) -> ReadBackOverride:
    """Let a locked start go, with a name and a reason for the log.

    Raises: ShopError `nothing_to_override`, `reason_missing`, `name_missing`.
    """
    if not check.locked:
        raise ShopError(
            "nothing_to_override", "The read-back is right; nothing is locked.", remedy="Go on."
        )
    if not by.strip():
        raise ShopError(
            "name_missing", "Nobody is signed in.", remedy="Say who overrides.", where="by"
        )
    if len(reason.strip()) < LEAST_REASON_LENGTH:
        raise ShopError(
            "reason_missing",
            "An override needs a reason.",
            remedy="Say in a few words why the program may run as it is.",
            where="reason",
        )
    differed = [
        f"step {cell.step} {cell.name}: {cell.typed or 'not read'} against {cell.wanted}"
        for cell in check.wrong
    ]
    if check.step_count_off:
        differed.append(f"step count off by {check.step_count_off:+d}")
    return ReadBackOverride(by.strip(), at, reason.strip(), tuple(differed))


def _cell(sheet: KeyInSheet, line: KeyedLine, value: KeyedValue, text: str) -> ReadCell:
    number = _number(text)
    off = None if number is None else number - value.number
    marks = (False,) * len(text) if off == 0 else tuple(_marks(value.text, text))
    likely = _likely(sheet, line, value, number) if number is not None and off != 0 else None
    return ReadCell(line.number, value.name, value.text, text, marks, off, likely)


def _number(text: str) -> Decimal | None:
    if not text or len(text) > LONGEST_TYPED:
        return None
    try:
        number = Decimal(text.replace(",", "."))
    except InvalidOperation:
        return None
    return number if number.is_finite() and abs(number) < LARGEST_TYPED else None


def _marks(wanted: str, typed: str) -> Iterator[bool]:
    """Which characters of `typed` are not those of `wanted`, both lined up at the decimal sign."""
    wanted, plain = wanted.replace(",", "."), typed.replace(",", ".")
    shift = _point(wanted) - _point(plain)
    for place, character in enumerate(plain):
        at = place + shift
        same = 0 <= at < len(wanted) and wanted[at] == character
        beyond = at >= len(wanted) and character == "0" and "." in plain[:place]
        yield not (same or beyond)


def _point(text: str) -> int:
    return text.index(".") if "." in text else len(text)


def _likely(
    sheet: KeyInSheet, line: KeyedLine, value: KeyedValue, number: Decimal
) -> Sentence | None:
    """The slip that explains one wrong number, the nearest one first."""
    for other in line.values:
        if other.name != value.name and other.number == number:
            return say(
                "{other} was read in the place of {name}.",
                other=other.name.upper(),
                name=value.name.upper(),
            )
    if _same_digits_exchanged(value.text, sheet.layout.text(value.name, number)):
        return say("Two digits are exchanged.")
    slip = likely_slip(float(number), float(value.number))
    if slip is not None:
        return say("It is {slip}.", slip=slip)
    if number == -value.number:
        return say("The sign is wrong.")
    for there in sheet.lines:
        if there.number != line.number and there.value(value.name).number == number:
            return say("That is step {step}'s number.", step=str(there.number))
    return None


def _same_digits_exchanged(wanted: str, typed: str) -> bool:
    """Whether two digits changed places, the decimal sign apart."""
    first = [one for one in wanted if one.isdigit()]
    second = [one for one in typed if one.isdigit()]
    if len(first) != len(second) or _point(wanted) != _point(typed):
        return False
    differ = [at for at, (one, other) in enumerate(zip(first, second, strict=True)) if one != other]
    return (
        len(differ) == 2
        and first[differ[0]] == second[differ[1]]
        and first[differ[1]] == second[differ[0]]
    )


def _patterns(
    sheet: KeyInSheet, cells: Sequence[ReadCell], held_before: Mapping[Place, str]
) -> Iterator[Sentence]:
    """What explains several wrong numbers at once."""
    wrong = [cell for cell in cells if cell.off not in (None, 0)]
    if len(wrong) < LEAST_STEPS_FOR_PATTERN:
        return
    held = {place: _number(text) for place, text in held_before.items()}
    if all(held.get((cell.step, cell.name)) == _number(cell.typed) for cell in wrong):
        yield say("These are the numbers this program held before: it was not keyed over.")
    for skipped in _skipped(sheet, cells):
        yield say("From step {step} on everything is one step early: was it skipped?", step=skipped)
    for name in sheet.layout.fields:
        offs = [cell.off for cell in cells if cell.name == name and cell.off is not None]
        if len(offs) >= LEAST_STEPS_FOR_PATTERN and len(set(offs)) == 1 and offs[0]:
            yield say(
                "Every {name} is off by {off}: an offset is left over in the control.",
                name=name.upper(),
                off=f"{offs[0]:+}",
            )
    yield from _one_slip_everywhere(wrong)


def _skipped(sheet: KeyInSheet, cells: Sequence[ReadCell]) -> Iterator[str]:
    """The step from which every line read is the next line of the sheet."""
    read = {(cell.step, cell.name): _number(cell.typed) for cell in cells}
    numbers = [line.number for line in sheet.lines]

    def shows(at: int, line: KeyedLine) -> bool:
        return all(read[numbers[at], value.name] == value.number for value in line.values)

    first = next((at for at in range(len(numbers)) if not shows(at, sheet.lines[at])), None)
    if first is None or first + 1 >= len(numbers):
        return
    followers = range(first, len(numbers) - 1)
    if all(shows(at, sheet.lines[at + 1]) for at in followers):
        yield str(numbers[first])


def _one_slip_everywhere(wrong: Sequence[ReadCell]) -> Iterator[Sentence]:
    """One unit or decimal slip in every wrong number."""
    slips = set()
    for cell in wrong:
        number = _number(cell.typed)
        slips.add(
            likely_slip(float(number), float(cell.wanted.replace(",", "."))) if number else None
        )
    if len(slips) == 1 and (slip := slips.pop()):
        yield say("Every one of them is {slip}.", slip=slip)
