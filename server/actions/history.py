"""What people did, kept beside what they did it to."""

import math
from collections.abc import Mapping
from typing import Any

from server.errors import ShopError
from server.storage.database import Session
from server.storage.queries.history import get_event
from server.storage.tables.column import Kept as KeptRow
from server.storage.tables.column import Row, utc_now
from server.storage.tables.event import Event

BORING = frozenset({"version", "created_at", "changed_at"})
SAME_MM = 2e-4
SAME_RATIO = 1e-5
"""What a field that shows five decimals of an inch, or six digits of a force, rounds away."""


def keep(
    session: Session,
    did: str,
    *,
    noun: str,
    key: str,
    by: str,
    before: Mapping[str, Any] | None = None,
    after: Mapping[str, Any] | None = None,
) -> None:
    """Write one event; of `before` and `after` only what differs is kept."""
    old, new = dict(before or {}), dict(after or {})
    if before is not None and after is not None:
        same = {name for name in old if name in new and old[name] == new[name]}
        old = {name: value for name, value in old.items() if name not in same}
        new = {name: value for name, value in new.items() if name not in same}
    session.add(
        Event(
            did=did,
            noun=noun,
            key=key,
            by=by,
            before=old if before is not None else None,
            after=new if after is not None else None,
        )
    )


def picture(row: Row) -> dict[str, Any]:
    """A row as plain JSON values, for the history."""
    return row.model_dump(mode="json", exclude=set(BORING))


def need_same_version(row: Any, version: int) -> None:
    """Refuse a change that was made looking at an older version.

    Raises: ShopError `edit_conflict`.
    """
    if row.version != version:
        raise ShopError(
            "edit_conflict",
            "Somebody changed this while you had it open.",
            remedy="Reload to see it as it is now, then make your change again.",
            where="form",
        )


def settled(old: Any, new: Any) -> Any:
    """A form's value, but the old one where they differ only by what its field rounds away.

    Without this a record opened in inches and saved again would drift.

    >>> settled(13.5, 13.50010), settled(13.5, 13.6), settled([[1.0, 2.0]], [[1.0, 2.00001]])
    (13.5, 13.6, [[1.0, 2.0]])
    """
    if isinstance(old, list | tuple) and isinstance(new, list | tuple) and len(old) == len(new):
        return [settled(first, second) for first, second in zip(old, new, strict=True)]
    if isinstance(old, float | int) and isinstance(new, float):
        close = math.isclose(old, new, rel_tol=SAME_RATIO, abs_tol=SAME_MM)
        return old if close else new
    return new


def change_row(
    session: Session,
    row: KeptRow,
    columns: Mapping[str, Any],
    *,
    noun: str,
    key: str,
    did: str,
    by: str,
) -> None:
    """Put new values into a row and write what changed; nothing changed leaves no event."""
    before = picture(row)
    for name, value in columns.items():
        setattr(row, name, settled(getattr(row, name), value))
    after = picture(row)
    if after != before:
        session.add(row)
        keep(session, did, noun=noun, key=key, by=by, before=before, after=after)


def put_row_back(
    session: Session, row: KeptRow, event_id: int, *, noun: str, key: str, by: str
) -> None:
    """Undo one change of a row.

    Raises: ShopError `not_found`, `edit_conflict` when the same was changed again since.
    """
    columns = before_event(session, event_id, noun=noun, key=key, now=picture(row))
    change_row(session, row, columns, noun=noun, key=key, did="put back", by=by)


def archive_row(
    session: Session, row: KeptRow, *, archived: bool, noun: str, key: str, by: str
) -> None:
    """Take a row off the lists, or put it back on them; what refers to it keeps it."""
    row.archived_at = utc_now() if archived else None
    session.add(row)
    keep(session, "archived" if archived else "restored", noun=noun, key=key, by=by)


def before_event(
    session: Session, event_id: int, *, noun: str, key: str, now: Mapping[str, Any]
) -> dict[str, Any]:
    """What a change replaced, to be put back; only while nobody changed the same again.

    Raises: ShopError `not_found`, `edit_conflict`.
    """
    event = get_event(session, event_id)
    if event.noun != noun or event.key != key or not event.before or event.after is None:
        raise ShopError(
            "not_found", "That entry cannot be put back.", remedy="Reload the page.", where="form"
        )
    if any(now.get(name) != value for name, value in event.after.items()):
        raise ShopError(
            "edit_conflict",
            "The same was changed again since.",
            remedy="Put the later change back first, or type the values you want.",
            where="form",
        )
    return dict(event.before)
