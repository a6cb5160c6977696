"""Photos from a tablet's camera: checked, and kept in a folder of the shop's data."""

import hashlib
import re
from pathlib import Path

from server.errors import ShopError, say

LARGEST_BYTES = 12_000_000
LEAST_BYTES = 64
KINDS = {"jpg": "image/jpeg", "png": "image/png", "webp": "image/webp"}
NAME = re.compile(r"[0-9a-f]{32}\.(jpg|png|webp)")


def photo_kind(data: bytes) -> str | None:
    """The kind of picture the bytes begin like: `jpg`, `png`, `webp`, or None.

    >>> photo_kind(bytes.fromhex("ffd8ffe000104a464946")), photo_kind(b"<svg onload=x>")
    ('jpg', None)
    """
    if data[:3] == b"\xff\xd8\xff":
        return "jpg"
    if data[:8] == b"\x89PNG\r\n\x1a\n":
        return "png"
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return "webp"
    return None


def write_photo(folder: Path, data: bytes) -> str:
    """Keep a photo under a name made of its content; the same photo twice is one file.

    Raises: ShopError `too_large`, `not_a_photo`.
    """
    if len(data) > LARGEST_BYTES:
        raise ShopError(
            "too_large",
            say(
                "The photo has {size} MB; at most {most} MB are kept.",
                size=f"{len(data) / 1e6:.0f}",
                most=f"{LARGEST_BYTES / 1e6:.0f}",
            ),
            remedy="Take it again with fewer megapixels.",
            where="photo",
        )
    kind = photo_kind(data)
    if kind is None or len(data) < LEAST_BYTES:
        raise ShopError(
            "not_a_photo",
            "This is not a photo.",
            remedy="Take a picture with the camera, or choose a JPEG, PNG or WebP file.",
            where="photo",
        )
    name = f"{hashlib.sha256(data).hexdigest()[:32]}.{kind}"
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / name
    if not path.exists():
        half = path.with_suffix(".half")
        half.write_bytes(data)
        half.replace(path)  # a power loss leaves a whole photo or none
    return name


def read_photo(folder: Path, name: str) -> tuple[bytes, str]:
    """A kept photo and its media type.

    Raises: ShopError `not_found`.
    """
    path = folder / name
    if not NAME.fullmatch(name) or not path.is_file():
        raise ShopError("not_found", "There is no such photo.", remedy="Reload the page.")
    return path.read_bytes(), KINDS[name.rsplit(".", 1)[1]]
