"""Loading seed_data: reference tables every shop starts from, and the demo shop's own things."""

import csv
from collections.abc import Iterator
from pathlib import Path

from sqlmodel import Session

from server.settings import house_folder
from server.storage.tables.brake import Brake
from server.storage.tables.material import Material
from server.storage.tables.tool import Die, DieSegment, Holder, Punch, PunchSegment

TEXTS = frozenset(
    {
        "code", "name", "family", "standard", "source", "sure", "block_code", "control_unit",
        "holder_code", "touch_off_on", "note", "purpose",
    }
)  # fmt: skip
WHOLE = frozenset({"y_sense", "program_count", "steps_per_program_count", "finger_count"})
Cell = str | float | int | None | list[list[float]]


def load_materials(session: Session) -> int:
    """The reference materials, for every shop; returns how many."""
    rows = [Material.model_validate(values) for values in _rows("material")]
    session.add_all(rows)
    return len(rows)


def load_demo_machine(session: Session) -> None:
    """The demo shop's brake and tools."""
    session.add_all(Holder.model_validate(_without(values, "source")) for values in _rows("holder"))
    session.flush()
    for values in _rows("punch"):
        segments = values.pop("segments_mm")
        session.add(Punch.model_validate(_without(values, "source")))
        session.flush()
        for length, pieces in _segments(segments):
            session.add(
                PunchSegment(punch_code=str(values["code"]), length_mm=length, pieces_count=pieces)
            )
    for values in _rows("die"):
        segments = values.pop("segments_mm")
        session.add(Die.model_validate(_without(values, "source")))
        session.flush()
        for length, pieces in _segments(segments):
            session.add(
                DieSegment(die_code=str(values["code"]), length_mm=length, pieces_count=pieces)
            )
    session.add_all(Brake.model_validate(_without(values, "source")) for values in _rows("brake"))


def seed_rows(noun: str) -> Iterator[dict[str, str]]:
    """The rows of one seed file as they are written, for nouns that are made by their actions."""
    path: Path = house_folder("seed_data") / f"{noun}.csv"
    with path.open(encoding="utf-8", newline="") as source:
        yield from csv.DictReader(source)


def _rows(noun: str) -> Iterator[dict[str, Cell]]:
    for row in seed_rows(noun):
        yield {name: _cell(name, text) for name, text in row.items()}


def _cell(name: str, text: str) -> Cell:
    if name in TEXTS:
        return text or ("" if name not in ("holder_code", "touch_off_on") else None)
    if name in ("profile_mm", "bed_mm"):
        return [[float(part) for part in point.split()] for point in text.split(";")]
    if name == "segments_mm":
        return [
            [float(part) for part in piece.split("x")] for piece in text.split(";") if piece.strip()
        ]
    if not text:
        return None
    return int(text) if name in WHOLE else float(text)


def _segments(cell: Cell) -> Iterator[tuple[float, int]]:
    if not isinstance(cell, list):
        raise TypeError("segments are a list")
    for length, pieces in cell:
        yield length, int(pieces)


def _without(values: dict[str, Cell], name: str) -> dict[str, Cell]:
    return {key: value for key, value in values.items() if key != name}
