"""What people did, kept beside what they did it to."""

from collections.abc import Mapping
from typing import Any

from server.errors import ShopError
from server.storage.database import Session
from server.storage.tables.column import Row
from server.storage.tables.event import Event

BORING = frozenset({"version", "created_at", "changed_at"})


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
