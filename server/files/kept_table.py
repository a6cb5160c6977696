"""A table somebody sent, kept until they have seen what it would do."""

import re
import secrets
import time
from pathlib import Path

from server.errors import ShopError

TOKEN = re.compile(r"[0-9a-f]{32}")
KEPT_S = 24 * 3600.0


def keep_table(folder: Path, content: bytes) -> str:
    """Keep a table; returns the name it is asked for by. Those older than a day are thrown away."""
    folder.mkdir(parents=True, exist_ok=True)
    for old in folder.glob("*.csv"):
        if time.time() - old.stat().st_mtime > KEPT_S:
            old.unlink(missing_ok=True)
    token = secrets.token_hex(16)
    (folder / f"{token}.csv").write_bytes(content)
    return token


def read_kept_table(folder: Path, token: str) -> bytes:
    """The table of a name.

    Raises: ShopError `not_found` when it was thrown away, or never was.
    """
    path = folder / f"{token}.csv"
    if not TOKEN.fullmatch(token) or not path.is_file():
        raise ShopError(
            "not_found",
            "The table is no longer here.",
            remedy="Choose the file again: it is kept for a day.",
            where="file",
        )
    return path.read_bytes()


def forget_table(folder: Path, token: str) -> None:
    """Throw a table away that was taken in."""
    if TOKEN.fullmatch(token):
        (folder / f"{token}.csv").unlink(missing_ok=True)
