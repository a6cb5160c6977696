"""Alembic's entry: migrates with foreign keys off, then checks that every reference still holds."""

from pathlib import Path
from typing import Any, Literal

from alembic import context
from sqlalchemy import create_engine, event
from sqlmodel.sql.sqltypes import AutoString

from server.storage.tables.column import UtcTime
from server.storage.tables.every import METADATA


def plain_type(kind: str, thing: Any, _context: Any) -> str | Literal[False]:
    """Write plain database types, so that an old migration does not depend on today's code."""
    if kind == "type" and isinstance(thing, AutoString):
        return "sa.String()"
    if kind == "type" and isinstance(thing, UtcTime):
        return "sa.DateTime()"
    return False


def run() -> None:
    database: Path = context.config.attributes["database"]
    engine = create_engine(f"sqlite:///{database}")

    @event.listens_for(engine, "connect")
    def _connected(connection: Any, _record: Any) -> None:
        connection.execute("PRAGMA journal_mode=WAL")
        connection.execute("PRAGMA foreign_keys=OFF")

    try:
        with engine.connect() as connection:
            context.configure(
                connection=connection,
                target_metadata=METADATA,
                render_as_batch=True,
                compare_type=True,
                render_item=plain_type,
            )
            with context.begin_transaction():
                context.run_migrations()
                broken = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
                if broken:
                    raise RuntimeError(f"references broken by the migration: {broken[:5]}")
            connection.commit()
    finally:
        engine.dispose()


if not context.is_offline_mode():
    run()
