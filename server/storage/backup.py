"""One file that holds the whole shop: its database and every file that was attached or taken."""

import re
import sqlite3
import tempfile
import zipfile
from collections.abc import Iterator
from contextlib import closing
from datetime import datetime
from pathlib import Path

from server.errors import ShopError, say
from server.storage.migrate import migrate

DATABASE_FILE = "shop.db"
FOLDERS = ("attachment", "photo")
INSIDE = re.compile(r"(attachment|photo)/([0-9a-f]{2}/)?[0-9a-zA-Z_-]{1,80}(\.[a-z0-9]{1,8})?")
LARGEST_DATABASE_BYTES = 20_000_000_000


def write_backup(data: Path, file: Path) -> int:
    """Write the shop in a data folder into one file, while the server may go on working.

    The database is copied by SQLite's own backup, which sees a whole state between two changes.

    Returns: how many attached files and photos went in.

    Raises: ShopError `no_shop`, `file_exists`.
    """
    database = data / DATABASE_FILE
    if not database.is_file():
        raise ShopError(
            "no_shop",
            say("There is no shop in {folder}.", folder=str(data)),
            remedy="Name the folder the server is started with, by --data.",
        )
    if file.exists():
        raise ShopError(
            "file_exists",
            say("{file} is there already.", file=str(file)),
            remedy="Choose another name; backups are never written over.",
        )
    file.parent.mkdir(parents=True, exist_ok=True)
    half = file.with_name(file.name + ".half")
    count = 0
    with tempfile.TemporaryDirectory(dir=file.parent) as folder:
        copy = Path(folder) / DATABASE_FILE
        _copy_database(database, copy)
        with zipfile.ZipFile(half, "w", zipfile.ZIP_DEFLATED, compresslevel=5) as packed:
            packed.write(copy, DATABASE_FILE)
            for path in _files(data):
                packed.write(path, path.relative_to(data).as_posix(), zipfile.ZIP_STORED)
                count += 1
    half.replace(file)  # a power loss leaves a whole backup or none
    return count


def restore_backup(file: Path, data: Path, *, now: datetime) -> Path | None:
    """Put a backup into a data folder; a shop that is there already is set aside, never lost.

    The server must not be running on that folder.

    Returns: where the shop that was there has gone, None when there was none.

    Raises: ShopError `no_backup`, `backup_damaged`, `shop_in_use`, `newer_data`.
    """
    if not file.is_file() or not zipfile.is_zipfile(file):
        raise ShopError(
            "no_backup",
            say("{file} is not a backup.", file=str(file)),
            remedy="Choose a file that `bendwright backup` wrote.",
        )
    data.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=data.parent) as folder:
        fresh = Path(folder) / "fresh"
        fresh.mkdir()
        _unpack(file, fresh)
        _check_database(fresh / DATABASE_FILE)
        migrate(fresh / DATABASE_FILE)
        aside = _set_aside(data, now) if data.exists() and any(data.iterdir()) else None
        if data.exists() and aside is None:
            data.rmdir()
        fresh.replace(data)
    return aside


def _copy_database(source: Path, target: Path) -> None:
    with (
        closing(sqlite3.connect(source, timeout=30)) as there,
        closing(sqlite3.connect(target)) as here,
    ):
        there.backup(here)
        here.execute("PRAGMA journal_mode=DELETE")


def _files(data: Path) -> Iterator[Path]:
    for name in FOLDERS:
        for path in sorted((data / name).rglob("*")):
            if path.is_file() and path.suffix != ".half":
                yield path


def _unpack(file: Path, folder: Path) -> None:
    with zipfile.ZipFile(file) as packed:
        if packed.testzip() is not None or DATABASE_FILE not in packed.namelist():
            raise _damaged(file)
        for entry in packed.infolist():
            plain = entry.filename == DATABASE_FILE or INSIDE.fullmatch(entry.filename)
            if not plain or entry.file_size > LARGEST_DATABASE_BYTES:
                raise _damaged(file)  # a name we never wrote could lead out of the folder
            packed.extract(entry, folder)


def _check_database(path: Path) -> None:
    try:
        with closing(sqlite3.connect(path)) as connection:
            (word,) = connection.execute("PRAGMA integrity_check").fetchone()
            broken = connection.execute("PRAGMA foreign_key_check").fetchone()
    except sqlite3.DatabaseError:
        raise _damaged(path) from None
    if word != "ok" or broken is not None:
        raise _damaged(path)


def _set_aside(data: Path, now: datetime) -> Path:
    aside = data.with_name(f"{data.name}-before-{now:%Y%m%d-%H%M%S}")
    if (data / f"{DATABASE_FILE}-wal").exists() and _is_open(data / DATABASE_FILE):
        raise ShopError(
            "shop_in_use",
            say("The server is working on {folder}.", folder=str(data)),
            remedy="Stop it first.",
        )
    data.replace(aside)
    return aside


def _is_open(database: Path) -> bool:
    """Whether another program has the database open: only the last one may leave its log mode."""
    try:
        with closing(sqlite3.connect(database, timeout=0.2)) as connection:
            (mode,) = connection.execute("PRAGMA journal_mode=DELETE").fetchone()
            return str(mode) == "wal"
    except sqlite3.OperationalError:
        return True


def _damaged(file: Path) -> ShopError:
    return ShopError(
        "backup_damaged",
        say("{file} is damaged, or is not a backup of this program.", file=file.name),
        remedy="Use another backup; nothing was changed.",
    )
