"""Reading and keeping the shop's own choices."""

from typing import Any

from sqlmodel import Session

from server.storage.tables.column import utc_now
from server.storage.tables.event import Setting


def find_setting(session: Session, key: str) -> Any:
    """The value kept under a key, or None."""
    row = session.get(Setting, key)
    return None if row is None else row.value


def put_setting(session: Session, key: str, value: Any) -> None:
    """Keep a value under a key."""
    row = session.get(Setting, key) or Setting(key=key)
    row.value = value
    row.changed_at = utc_now()
    session.add(row)
