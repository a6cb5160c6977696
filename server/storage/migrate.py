"""Bringing a database to the newest shape, with Alembic."""

from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import create_engine

from server.settings import house_folder


def alembic_config(database: Path) -> Config:
    """Alembic's settings for one database file, without an ini file."""
    config = Config()
    config.set_main_option("script_location", str(house_folder("migrations")).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    config.attributes["database"] = database
    return config


def migrate(database: Path) -> None:
    """Bring the file to the newest shape; an empty or missing file is made from nothing."""
    database.parent.mkdir(parents=True, exist_ok=True)
    command.upgrade(alembic_config(database), "head")


def is_newest(database: Path) -> bool:
    """Whether the file already has the newest shape; quick, so that a restart is quick."""
    if not database.exists():
        return False
    newest = ScriptDirectory.from_config(alembic_config(database)).get_current_head()
    engine = create_engine(f"sqlite:///{database}")
    try:
        with engine.connect() as connection:
            return MigrationContext.configure(connection).get_current_revision() == newest
    finally:
        engine.dispose()
