"""Where a form and the record it was to change differ, when somebody else was faster."""

from collections.abc import Mapping
from dataclasses import dataclass

from server.web.forms.form import Form
from server.web.wording import label_of

NOT_SHOWN = frozenset({"version", "over", "typed_in"})
LONGEST_WORD = 80


@dataclass(frozen=True, slots=True)
class Difference:
    """One field: what you typed, and what the record says now."""

    label: str
    yours: str
    theirs: str


@dataclass(frozen=True, slots=True)
class Conflict:
    """A form against the record as it is now; no differences while there is no conflict."""

    version: int = 0
    differences: tuple[Difference, ...] = ()


def conflict_of(form: Form, now: Mapping[str, str], *, version: int) -> Conflict:
    """What differs between a form and the record as the same form would show it now."""
    if not form.in_conflict:
        return Conflict()
    return Conflict(
        version,
        tuple(
            Difference(label_of(name), _short(form.typed[name]), _short(text))
            for name, text in now.items()
            if name in form.typed and name not in NOT_SHOWN and form.typed[name].strip() != text
        ),
    )


def _short(text: str) -> str:
    clean = text.strip() or "—"
    return clean if len(clean) <= LONGEST_WORD else clean[:LONGEST_WORD] + " …"
