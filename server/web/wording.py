"""Names and values of stored columns as words, by the unit in the column's name."""

from datetime import datetime
from typing import Any

from server.errors import Amount, Unit
from server.web.display import Display, day

SUFFIXES: tuple[tuple[str, Unit], ...] = (
    ("_kn_per_m", "kn_per_m"),
    ("_mm_per_s", "mm_per_s"),
    ("_m_per_s", "m_per_s"),
    ("_percent", "percent"),
    ("_mpa", "mpa"),
    ("_deg", "deg"),
    ("_mm", "mm"),
    ("_kn", "kn"),
    ("_kg", "kg"),
    ("_s", "s"),
    ("_min", "min"),
    ("_minor", "minor"),
)
PLAIN_SUFFIXES = ("_ratio", "_count", "_code", "_kg_m3")
LONGEST_WORD = 60


def label_of(name: str) -> str:
    """A column's name as words: `rating_kn_per_m` is 'rating'.

    >>> label_of("rating_kn_per_m"), label_of("finger_count"), label_of("segments")
    ('rating', 'finger', 'segments')
    """
    for suffix in (*(suffix for suffix, _ in SUFFIXES), *PLAIN_SUFFIXES, "_at"):
        if name.endswith(suffix):
            return name.removesuffix(suffix).replace("_", " ")
    return name.replace("_", " ")


def word_of(name: str, value: Any, show: Display) -> str:
    """A stored value as the reader sees it; its column's name says its unit."""
    if value is None or value == "":
        return "—"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if name.endswith("_at"):
        return day(datetime.fromisoformat(str(value)))
    if isinstance(value, list):
        if name == "segments":
            return "; ".join(f"{show.typed(length)}x{count}" for length, count in value) or "none"
        return f"{len(value)} points"
    if isinstance(value, int | float):
        unit = next((unit for suffix, unit in SUFFIXES if name.endswith(suffix)), None)
        if unit == "mm":
            return show.short(value)
        return f"{value:g}" if unit is None else show.amount(Amount(value, unit))
    return str(value)[:LONGEST_WORD]
