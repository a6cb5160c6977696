"""The shop's database: one SQLite file, many readers, one writer at a time.

Readers see a steady snapshot; a writer takes its lock at once (BEGIN IMMEDIATE), because SQLite's
default mode loses updates silently under threads and a deferred writer can fail half way.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, create_engine, event
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm.exc import StaleDataError
from sqlalchemy.pool import QueuePool
from sqlmodel import Session

__all__ = ["Database", "IntegrityError", "Session", "StaleDataError"]
BUSY_TIMEOUT_MS = 10_000
READERS = 8


class Database:
    """Engines for reading and for writing on one file."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.after_commit: list[Callable[[], None]] = []
        self.reader = _engine(path, "BEGIN", "query_only=ON")
        self.writer = _engine(path, "BEGIN IMMEDIATE")

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """A session that only reads; what it read stays readable after it is closed."""
        with Session(self.reader, expire_on_commit=False, autoflush=False) as session:
            yield session

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """A session that holds the write lock; kept when the block ends well, else undone."""
        with Session(self.writer, expire_on_commit=False) as session:
            yield session
            session.commit()
        for told in self.after_commit:
            told()

    def close(self) -> None:
        """Let go of the file."""
        self.reader.dispose()
        self.writer.dispose()


def _engine(path: Path, begin: str, *pragmas: str) -> Engine:
    engine = create_engine(
        f"sqlite:///{path}",
        poolclass=QueuePool,
        pool_size=READERS,
        max_overflow=READERS,
        connect_args={"check_same_thread": False, "timeout": BUSY_TIMEOUT_MS / 1000},
    )

    @event.listens_for(engine, "connect")
    def _connected(connection: Any, _record: Any) -> None:
        connection.isolation_level = None  # the driver shall not begin on its own
        for pragma in (
            "journal_mode=WAL",
            "synchronous=FULL",
            "foreign_keys=ON",
            f"busy_timeout={BUSY_TIMEOUT_MS}",
            "cache_size=-16000",
            *pragmas,
        ):
            connection.execute(f"PRAGMA {pragma}")

    @event.listens_for(engine, "begin")
    def _begun(connection: Any) -> None:
        connection.exec_driver_sql(begin)

    return engine
