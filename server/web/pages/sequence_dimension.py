"""Dimensions of a part as a bend sequence makes them, and the form that marks them."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from server.planning.dimension import Dimension
from server.planning.flat_measure import in_words
from server.storage.plain_outcome import dimensions_kept
from server.web.forms.conflict import Conflict, conflict_of
from server.web.forms.form import Form, Problem
from server.web.forms.tolerance import CLASS_WORDS, pair_name
from server.web.pages.page import Page

if TYPE_CHECKING:
    from server.storage.tables.bend_sequence import BendSequence
    from server.storage.tables.part import Revision


@dataclass(frozen=True)
class DimensionRow:
    """One dimension of the part: what it is, and how it stands in the form."""

    name: str
    words: str
    dimension: Dimension
    problem: Problem | None

    @property
    def added(self) -> bool:
        """Whether somebody added it, so that it can be forgotten."""
        first = self.dimension.first
        return first.startswith("f") if isinstance(first, str) else first != self.dimension.last


@dataclass(frozen=True)
class SequenceDimensions(Page):
    """Dimensions of the part as this sequence makes them, and what the drawing allows."""

    template: ClassVar[str] = "bend_sequence/_dimensions.html"
    sequence_id: int
    form: Form
    rows: tuple[DimensionRow, ...]
    classes: tuple[tuple[str, str], ...]
    ends: tuple[tuple[str, str], ...]
    at_risk_count: int
    conflict: Conflict
    like: str


def dimensions_page(
    sequence: "BendSequence",
    revision: "Revision",
    form: Form,
    allowed: Mapping[str, str],
    version: int,
) -> SequenceDimensions:
    """The dimensions of a sequence and the form that marks them; `allowed` is what is saved now."""
    is_profile = revision.kind == "profile"
    ends_count = len(revision.faces["faces"])
    found = dimensions_kept(sequence.dimensions)
    rows = tuple(
        DimensionRow(name, _dimension_words(one), one, form.problems.get(f"own_{name}"))
        for one in found
        for name in (pair_name(one.first, one.last),)
    )
    return SequenceDimensions(
        sequence_id=sequence.id or 0,
        form=form,
        rows=rows,
        classes=tuple((word, told) for word, told in CLASS_WORDS.items()),
        ends=tuple(
            (str(number), f"leg {number}") if is_profile else (f"f{number}", f"face {number}")
            for number in range(1, ends_count + 1)
        ),
        at_risk_count=sum(one.critical and one.protected is False for one in found),
        conflict=conflict_of(form, allowed, version=version),
        like=f"/office/planning/new?like={sequence.id}",
    )


def _dimension_words(one: Dimension) -> str:
    if isinstance(one.first, str):
        return in_words((one.first, str(one.last)))
    if one.first == one.last:
        return f"Leg {one.first + 1}"
    return f"Leg {one.first + 1} to leg {int(one.last) + 1}, outer faces"
