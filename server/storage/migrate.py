"""Bringing a database to the newest shape, with Alembic."""

from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import create_engine

from server.errors import ShopError, say
from server.settings import house_folder


def alembic_config(database: Path) -> Config:
    """Alembic's settings for one database file, without an ini file."""
    config = Config()
    config.set_main_option("script_location", str(house_folder("migrations")).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    config.attributes["database"] = database
    return config


def migrate(database: Path) -> None:
    """Bring the file to the newest shape; an empty or missing file is made from nothing.

    Raises: ShopError `newer_data` for a file that a later version of the program has changed.
    """
    database.parent.mkdir(parents=True, exist_ok=True)
    known = {step.revision for step in _steps(database).walk_revisions()}
    now = _revision(database) if database.exists() else None
    if now is not None and now not in known:
        raise ShopError(
            "newer_data",
            say("The data in {file} was written by a newer Bendwright.", file=str(database)),
            remedy="Start that version again, or restore a backup made with this one.",
        )
    command.upgrade(alembic_config(database), "head")


def is_newest(database: Path) -> bool:
    """Whether the file already has the newest shape; quick, so that a restart is quick."""
    if not database.exists():
        return False
    return _revision(database) == _steps(database).get_current_head()


def _steps(database: Path) -> ScriptDirectory:
    return ScriptDirectory.from_config(alembic_config(database))


def _revision(database: Path) -> str | None:
    engine = create_engine(f"sqlite:///{database}")
    try:
        with engine.connect() as connection:
            return MigrationContext.configure(connection).get_current_revision()
    finally:
        engine.dispose()
