"""A copy of the shop to practise in: everything looks real, and nothing done there is kept."""

import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

from server.storage.database import Database, Session
from server.storage.queries.setting import find_setting, put_setting

PRACTICE = "practice"


def copy_for_practice(database: Database, folder: Path, *, seed: str) -> Database:
    """A database of its own with everything the shop has now, marked as practice."""
    path = folder / "practice.db"
    with closing(sqlite3.connect(database.path)) as source, closing(sqlite3.connect(path)) as copy:
        source.backup(copy)
    practice = Database(path)
    with practice.writing() as session:
        put_setting(session, PRACTICE, {"seed": seed})
    return practice


def practice_facts(session: Session) -> dict[str, Any] | None:
    """What hides behind a practice, or None in the real shop."""
    found = find_setting(session, PRACTICE)
    return dict(found) if found else None


def keep_practice_facts(session: Session, facts: dict[str, Any]) -> None:
    """Remember what was drawn by chance, so that bending the same again gives the same."""
    put_setting(session, PRACTICE, facts)
