"""Tables as CSV: read what spreadsheets really write, show every row's fate, write safely.

Reading streams, so a million rows need no more memory than one. Writing puts an apostrophe before
a cell that a spreadsheet would take for a formula; reading takes it off again.

References: RFC 4180; for formulas in cells: OWASP, CSV Injection; CWE-1236.
"""

import csv
import io
import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import IO, BinaryIO, Literal

from server.errors import Amount, Sentence, ShopError, say

Fate = Literal["add", "change", "same", "refuse"]
Values = Mapping[str, object]

DELIMITERS = ",;\t|"
LONGEST_CELL = 100_000
MOST_COLUMNS = 500
HEAD_BYTES = 65_536
LOST_LETTER = "\ufffd"
_FORMULA_START = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
_PLAIN_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)(?:[eE][+-]?[0-9]+)?")


@dataclass(frozen=True, slots=True)
class Column:
    """A column a table may have: its name, other names for it, and how a cell becomes a value.

    `read` raises ShopError for a cell that is none; an empty cell of a column that is not required
    is `empty`.
    """

    name: str
    required: bool = False
    read: Callable[[str], object] = str
    also: tuple[str, ...] = ()
    empty: object = ""


@dataclass(frozen=True, slots=True)
class Trouble:
    """What is wrong with one row, and in which column."""

    column: str | None
    code: str
    what: Sentence
    remedy: Sentence


@dataclass(frozen=True, slots=True)
class Row:
    """One row of the file: its line, its values, and its troubles where it has any."""

    line: int
    values: Values
    troubles: tuple[Trouble, ...] = ()


@dataclass(frozen=True, slots=True)
class RowFate:
    """What an import would do with one row; `changed` names the columns that differ."""

    row: Row
    fate: Fate
    changed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class DryRun:
    """What an import would do, counted, with the rows that would be refused."""

    counts: Mapping[Fate, int]
    refused: tuple[RowFate, ...]
    refused_left_out_count: int


def read_table(source: BinaryIO, columns: Sequence[Column]) -> Iterator[Row]:
    """Rows of a CSV file, one at a time.

    UTF-8 with or without a byte order mark, UTF-16 with one, else Windows-1252; the delimiter is
    the one that finds most of the columns in the head line. Empty lines are passed over.

    Raises: ShopError before the first row: `empty_file`, `unreadable_file`, `columns_missing`,
        `columns_unknown`, `column_twice`, each naming the columns.
    """
    text = _Reading(source, encoding=_encoding(source), errors="replace", newline="")
    head, head_line = _head_line(text)
    delimiter = _delimiter(head, columns)
    names = _names(next(csv.reader([head], delimiter=delimiter)), columns)
    by_name = {column.name: column for column in columns}
    return _rows(text, delimiter, names, by_name, head_line)


def dry_run(
    rows: Iterable[Row], *, key: str, known: Callable[[object], Values | None]
) -> Iterator[RowFate]:
    """Every row's fate, without changing anything.

    Args:
        rows: rows of `read_table`.
        key: column that names a row's thing.
        known: the values of a thing that is already there, None when it is new.

    Returns: an iterator of fates, in the order of the file; a key that comes twice is refused.
    """
    seen: dict[object, int] = {}
    for row in rows:
        if row.troubles:
            yield RowFate(row, "refuse")
            continue
        name = row.values[key]
        if name in seen:
            yield RowFate(_with_trouble(row, key, name, seen[name]), "refuse")
            continue
        seen[name] = row.line
        there = known(name)
        if there is None:
            yield RowFate(row, "add")
            continue
        changed = tuple(
            column
            for column, value in row.values.items()
            if column in there and there[column] != value
        )
        yield RowFate(row, "change" if changed else "same", changed)


def summed_up(fates: Iterable[RowFate], *, most_refused: int = 200) -> DryRun:
    """Fates counted, with the first refused rows kept to be shown."""
    counts: Counter[Fate] = Counter()
    refused: list[RowFate] = []
    for fate in fates:
        counts[fate.fate] += 1
        if fate.fate == "refuse" and len(refused) < most_refused:
            refused.append(fate)
    return DryRun(dict(counts), tuple(refused), counts["refuse"] - len(refused))


def write_table(
    out: IO[str], columns: Sequence[str], rows: Iterable[Sequence[object]], *, delimiter: str = ","
) -> int:
    """Write a table with a head line; returns the number of rows.

    Open the file with `newline=""` and `encoding="utf-8-sig"`, so that a spreadsheet knows it.
    """
    writer = csv.writer(out, delimiter=delimiter, lineterminator="\r\n")
    writer.writerow([harmless(name) for name in columns])
    count = 0
    for row in rows:
        writer.writerow([harmless(_as_text(cell)) for cell in row])
        count += 1
    return count


def harmless(cell: str) -> str:
    """A cell that no spreadsheet runs: what starts like a formula and is no number is quoted.

    A cell that starts with apostrophes before such a sign gets one more, so that reading takes
    exactly one off.

    >>> harmless("=1+1"), harmless("-12.50"), harmless("'=x"), harmless("plate")
    ("'=1+1", '-12.50', "''=x", 'plate')
    """
    inner = cell.lstrip("'")
    if inner.startswith(_FORMULA_START) and not _PLAIN_NUMBER.fullmatch(cell):
        return "'" + cell
    return cell


def unquoted(cell: str) -> str:
    """The cell that `harmless` was given."""
    if cell.startswith("'") and cell.lstrip("'").startswith(_FORMULA_START):
        return cell[1:]
    return cell


class _Reading(io.TextIOWrapper):
    """Text of a file that stays the caller's to close."""

    def close(self) -> None:
        """Leave the file open."""


def _rows(
    text: IO[str],
    delimiter: str,
    names: list[str | None],
    columns: Mapping[str, Column],
    head_line: int,
) -> Iterator[Row]:
    reader = csv.reader(_bounded(text), delimiter=delimiter)
    while True:
        line = head_line + reader.line_num + 1
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as trouble:
            what = say("The row cannot be read: {why}.", why=str(trouble))
            yield Row(line, {}, (Trouble(None, "unreadable_row", what, say("Check its quotes.")),))
            continue
        if any(cell.strip() for cell in cells):
            yield _row(line, cells, names, columns)


def _row(
    line: int, cells: list[str], names: list[str | None], columns: Mapping[str, Column]
) -> Row:
    values: dict[str, object] = {}
    troubles: list[Trouble] = []
    if len(cells) > len(names) and any(cell.strip() for cell in cells[len(names) :]):
        what = say(
            "The row has {count} cells, the head line {names}.",
            count=Amount(len(cells), "count"),
            names=Amount(len(names), "count"),
        )
        remedy = say("Put a text that contains the delimiter in double quotes.")
        troubles.append(Trouble(None, "too_many_cells", what, remedy))
    given = {name: cell for name, cell in zip(names, cells, strict=False) if name is not None}
    for name, column in columns.items():
        if name not in names:
            continue
        cell = unquoted(given.get(name, "").strip())
        if LOST_LETTER in cell:
            what = say("'{cell}' has a letter that cannot be read.", cell=cell[:40])
            remedy = say("Save the file as CSV (UTF-8), and read it again.")
            troubles.append(Trouble(name, "unreadable_letter", what, remedy))
        elif not cell and column.required:
            what = say("'{column}' is empty.", column=name)
            troubles.append(Trouble(name, "empty_cell", what, say("Fill it in.")))
        elif not cell:
            values[name] = column.empty
        else:
            try:
                values[name] = column.read(cell)
            except ShopError as trouble:
                troubles.append(Trouble(name, trouble.code, trouble.what, trouble.remedy))
    return Row(line, values, tuple(troubles))


def _bounded(text: IO[str]) -> Iterator[str]:
    """Lines of a file, none endless: a quote that is never closed must not eat the memory."""
    while line := text.readline(LONGEST_CELL):
        yield line


def _encoding(source: BinaryIO) -> str:
    head = source.read(HEAD_BYTES)
    source.seek(0)
    if head.startswith(b"\xef\xbb\xbf"):
        return "utf-8-sig"
    if head.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    if b"\x00" in head:
        raise ShopError(
            "unreadable_file",
            "The file is not a text file.",
            remedy="Save the sheet as CSV (UTF-8), not as a workbook.",
        )
    try:
        head.decode("utf-8")
    except UnicodeDecodeError as trouble:
        if trouble.start < len(head) - 4:
            return "cp1252"
    return "utf-8"


def _head_line(text: IO[str]) -> tuple[str, int]:
    for number in range(1, 101):
        line = text.readline(LONGEST_CELL)
        if not line:
            break
        if line.strip():
            return line.rstrip("\r\n"), number
    raise ShopError("empty_file", "The file is empty.", remedy="The first line names the columns.")


def _delimiter(head: str, columns: Sequence[Column]) -> str:
    def found(delimiter: str) -> tuple[int, int]:
        cells = next(csv.reader([head], delimiter=delimiter))
        known = {_plain(name) for column in columns for name in (column.name, *column.also)}
        return sum(_plain(cell) in known for cell in cells), len(cells)

    return max(DELIMITERS, key=lambda delimiter: (found(delimiter), -DELIMITERS.index(delimiter)))


def _names(cells: list[str], columns: Sequence[Column]) -> list[str | None]:
    """The column of every cell of the head line; a cell without a name is passed over."""
    by_name = {_plain(name): c.name for c in columns for name in (c.name, *c.also)}
    names: list[str | None] = []
    unknown = []
    for cell in cells[:MOST_COLUMNS]:
        name = by_name.get(_plain(cell))
        if name is None and cell.strip():
            unknown.append(cell.strip())
        if name is not None and name in names:
            raise ShopError(
                "column_twice",
                say("The column '{name}' is there twice.", name=name),
                remedy="Take one out.",
                where=name,
            )
        names.append(name)
    missing = [column.name for column in columns if column.required and column.name not in names]
    if missing:
        raise ShopError(
            "columns_missing",
            say("These columns are missing: {names}.", names=", ".join(missing)),
            remedy=_column_remedy(unknown, columns),
            where=missing[0],
        )
    if unknown:
        raise ShopError(
            "columns_unknown",
            say("These columns are not known: {names}.", names=", ".join(unknown)),
            remedy=_column_remedy(unknown, columns),
            where=unknown[0],
        )
    return names


def _column_remedy(unknown: Sequence[str], columns: Sequence[Column]) -> Sentence:
    by_name = {_plain(name): c.name for c in columns for name in (c.name, *c.also)}
    meant = []
    for name in unknown:
        near = get_close_matches(_plain(name), by_name, n=1, cutoff=0.6)
        if near:
            meant.append(f"'{name}' may be '{by_name[near[0]]}'")
    if meant:
        return say("{meant}.", meant="; ".join(meant))
    return say(
        "The columns are: {names}.",
        names=", ".join(c.name + (" (required)" if c.required else "") for c in columns),
    )


def _plain(name: str) -> str:
    return re.sub(r"[\s_-]+", "_", name.strip().strip("\ufeff'").lower())


def _with_trouble(row: Row, key: str, name: object, first_line: int) -> Row:
    what = say(
        "'{name}' is already in line {line} of the file.",
        name=str(name),
        line=str(first_line),
    )
    trouble = Trouble(key, "twice_in_file", what, say("Keep one of the two."))
    return Row(row.line, row.values, (trouble,))


def _as_text(cell: object) -> str:
    if cell is None:
        return ""
    return repr(cell) if isinstance(cell, float) else str(cell)
