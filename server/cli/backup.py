"""`bendwright backup FILE` and `bendwright restore FILE`."""

from datetime import UTC, datetime
from pathlib import Path

from server.storage.backup import restore_backup, write_backup


def run_backup(file: Path, *, data: Path) -> int:
    """Write the shop into one file; returns the exit status."""
    count = write_backup(data, file)
    size_mb = file.stat().st_size / 1e6
    print(f"{file}: {size_mb:.1f} MB, the database and {count} attached files.")
    return 0


def run_restore(file: Path, *, data: Path) -> int:
    """Put a backup into the data folder; returns the exit status."""
    aside = restore_backup(file, data, now=datetime.now(UTC).astimezone())
    print(f"{data} is as it was in {file}.")
    if aside is not None:
        print(f"What was there before is kept in {aside}.")
    return 0
