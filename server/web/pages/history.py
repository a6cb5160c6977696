"""Who did what when, as a part of another page."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any, ClassVar

from server.web.display import Display
from server.web.pages.page import Page
from server.web.wording import label_of, word_of

if TYPE_CHECKING:
    from server.storage.tables.event import Event


@dataclass(frozen=True, slots=True)
class Change:
    """One value that was changed."""

    label: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Deed:
    """One thing a person did."""

    event_id: int
    at: datetime
    by: str
    did: str
    noun: str
    key: str
    changes: tuple[Change, ...]
    may_put_back: bool


@dataclass(frozen=True)
class History(Page):
    """The last things people did; with a path, a change can be put back."""

    template: ClassVar[str] = "history/_list.html"
    deeds: tuple[Deed, ...]
    put_back_path: str
    with_names: bool


def history_of(
    events: "Iterable[Event]", show: Display, *, put_back_path: str = "", with_names: bool = False
) -> History:
    """Events as the reader sees them; `with_names` says what each was done to."""
    deeds = tuple(
        Deed(
            event_id=event.id or 0,
            at=event.at,
            by=event.by,
            did=event.did,
            noun=event.noun,
            key=event.key,
            changes=_changes(event.before, event.after, show),
            may_put_back=bool(put_back_path and event.before and event.after),
        )
        for event in events
    )
    return History(deeds=deeds, put_back_path=put_back_path, with_names=with_names)


def _changes(
    before: Mapping[str, Any] | None, after: Mapping[str, Any] | None, show: Display
) -> tuple[Change, ...]:
    if not before or not after:
        return ()
    return tuple(
        Change(label_of(name), word_of(name, before[name], show), word_of(name, after[name], show))
        for name in before
        if name in after and not _is_bookkeeping(name, before[name], after[name])
    )


def _is_bookkeeping(name: str, *values: Any) -> bool:
    """Whether a value is the program's own: when it was done stands beside it already."""
    return (name.endswith("_at") and name != "due_at") or any(isinstance(v, dict) for v in values)
