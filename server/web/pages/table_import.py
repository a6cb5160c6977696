"""Pages that take tables in and give them out."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import ClassVar

from server.files.table_csv import RowFate
from server.web.forms.form import Form
from server.web.forms.table_import import ImportKind
from server.web.pages.page import Frame, Page
from server.web.wording import label_of

MOST_SHOWN = 300
FATES = (("add", "new"), ("change", "changed"), ("same", "the same"), ("refuse", "refused"))


@dataclass(frozen=True)
class TableEdit(Page):
    """Choose a file to take in, or a list to give out."""

    template: ClassVar[str] = "table_import/edit.html"
    frame: Frame
    form: Form
    kinds: tuple[ImportKind, ...]
    exports: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class FateLine:
    """One row's fate in words."""

    line: int
    code: str
    fate: str
    told: str
    troubles: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True)
class TableShow(Page):
    """What a table would do, row by row, before anything is done."""

    template: ClassVar[str] = "table_import/show.html"
    frame: Frame
    kind: ImportKind
    token: str
    counts: tuple[tuple[str, str, int], ...]
    lines: tuple[FateLine, ...]
    more: int
    takes: int


def fate_counts(fates: Sequence[RowFate]) -> tuple[tuple[str, str, int], ...]:
    """How many rows of each fate."""
    counted = Counter(fate.fate for fate in fates)
    return tuple((name, words, counted[name]) for name, words in FATES)  # type: ignore[index]


def fate_lines(fates: Sequence[RowFate], kind: ImportKind) -> Iterator[FateLine]:
    """Every row's fate, those that are refused first."""
    words = dict(FATES)
    for fate in sorted(fates, key=lambda one: one.fate != "refuse"):
        changed = ", ".join(label_of(name) for name in fate.changed)
        yield FateLine(
            line=fate.row.line,
            code=str(fate.row.values.get(kind.key, "")),
            fate=fate.fate,
            told=f"{words[fate.fate]}: {changed}" if changed else words[fate.fate],
            troubles=tuple(
                (one.column or "", str(one.what), str(one.remedy)) for one in fate.row.troubles
            ),
        )
