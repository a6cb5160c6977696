"""Attached files: kept once by the hash of their content, in a folder beside the database."""

import hashlib
import re
from pathlib import Path, PurePosixPath, PureWindowsPath

from server.errors import ShopError, say

LARGEST_BYTES = 15_000_000
FOLDER = "attachment"
HASH = re.compile(r"[0-9a-f]{64}")
TYPES = {
    ".pdf": "application/pdf",
    ".png": "image/png",
    ".jpg": "image/jpeg",
    ".jpeg": "image/jpeg",
    ".webp": "image/webp",
    ".txt": "text/plain",
    ".csv": "text/csv",
    ".dxf": "image/vnd.dxf",
    ".step": "model/step",
    ".stp": "model/step",
    ".zip": "application/zip",
}
SHOWN = frozenset({"application/pdf", "image/png", "image/jpeg", "image/webp"})
"""What a browser may open in place; all else is only ever downloaded."""


def attachment_folder(database: Path) -> Path:
    """The folder of attached files that belongs to a database."""
    return database.parent / FOLDER


def plain_name(name: str) -> str:
    r"""A file's own name, without folders and signs that a disk or a header could misread.

    >>> plain_name("C:\\Users\\me\\cert 4711.pdf"), plain_name("../../etc/passwd")
    ('cert 4711.pdf', 'passwd')
    """
    last = PureWindowsPath(PurePosixPath(name).name).name
    clean = " ".join(re.sub(r'[\x00-\x1f\x7f"\\/:*?<>|;]', " ", last).split()).strip(". ")
    return clean[:120] or "file"


def media_type_of(name: str) -> str:
    """The media type of a file by the end of its name; a plain download for all others."""
    return TYPES.get(Path(name).suffix.lower(), "application/octet-stream")


def write_attachment(folder: Path, data: bytes) -> str:
    """Keep a file; returns the hash of its content, under which it lies.

    Raises: ShopError `no_file`, `too_large`.
    """
    if not data:
        raise ShopError(
            "no_file", "No file was chosen, or it is empty.", remedy="Choose one.", where="file"
        )
    if len(data) > LARGEST_BYTES:
        raise ShopError(
            "too_large",
            say("The file is larger than {most} MB.", most=f"{LARGEST_BYTES / 1e6:.0f}"),
            remedy="Save it smaller, or keep it where it is and note the place.",
            where="file",
        )
    content = hashlib.sha256(data).hexdigest()
    path = folder / content[:2] / content
    if not path.exists():
        path.parent.mkdir(parents=True, exist_ok=True)
        half = path.with_suffix(".half")
        half.write_bytes(data)
        half.replace(path)  # a power loss leaves a whole file or none
    return content


def read_attachment(folder: Path, content_sha256: str) -> bytes:
    """The content of a kept file.

    Raises: ShopError `not_found`, `file_damaged` when it is not what was kept.
    """
    path = folder / content_sha256[:2] / content_sha256
    if not HASH.fullmatch(content_sha256) or not path.is_file():
        raise ShopError(
            "not_found",
            "The file is not in the shop's data folder.",
            remedy="Restore it from a backup, or attach it again.",
        )
    data = path.read_bytes()
    if hashlib.sha256(data).hexdigest() != content_sha256:
        raise ShopError(
            "file_damaged",
            "The file on the disk is not what was attached.",
            remedy="Restore it from a backup.",
        )
    return data
