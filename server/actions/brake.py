"""Keeping the shop's brakes: what plate and manual say, limits, touch-off."""

from dataclasses import asdict, dataclass
from typing import Any

from server.actions.history import (
    archive_row,
    change_row,
    keep,
    need_same_version,
    picture,
    put_row_back,
)
from server.errors import ShopError, say
from server.storage.database import Session
from server.storage.queries.brake import find_brake, get_brake
from server.storage.queries.tool import find_holder
from server.storage.tables.brake import Brake

Outline = tuple[tuple[float, float], ...]
NOUN = "brake"


@dataclass(frozen=True, slots=True)
class BrakeValues:
    """What a person may say about a brake; `ram_scale` are two (ram above the bed in mm, reading)."""

    name: str
    max_force_kn: float
    bed_length_mm: float
    frame_distance_mm: float
    opening_mm: float
    stroke_mm: float
    throat_mm: float
    max_line_load_kn_per_m: float | None
    off_centre_ratio: float
    bending_speed_mm_per_s: float
    approach_speed_mm_per_s: float
    mute_opening_mm: float | None
    holder_code: str | None
    bed_mm: Outline
    control_unit: str
    x_least_mm: float
    x_most_mm: float
    x_resolution_mm: float
    y_least_mm: float
    y_most_mm: float
    y_resolution_mm: float
    y_sense: int
    program_count: int
    steps_per_program_count: int
    finger_low_mm: float
    finger_high_mm: float
    finger_width_mm: float
    finger_count: int
    touch_off_on: str | None
    touch_off_reading_mm: float | None
    touch_off_tip_mm: float | None
    touch_off_tool_height_mm: float | None
    ram_scale: Outline | None
    note: str


def add_brake(session: Session, code: str, values: BrakeValues, *, by: str) -> Brake:
    """A new brake.

    Raises: ShopError `already_exists`, `not_found` for a holder that is not there.
    """
    if find_brake(session, code) is not None:
        raise ShopError(
            "already_exists",
            say("There is a brake '{code}' already.", code=code),
            remedy="Open that one, or use another code.",
            where="code",
        )
    _need_holder(session, values.holder_code)
    row = Brake(code=code, **_columns(values))
    session.add(row)
    keep(session, "added", noun=NOUN, key=code, by=by, after=picture(row))
    return row


def save_brake(session: Session, code: str, values: BrakeValues, *, version: int, by: str) -> Brake:
    """Changed values of a brake.

    Raises: ShopError `not_found`, `edit_conflict`.
    """
    row = get_brake(session, code)
    need_same_version(row, version)
    _need_holder(session, values.holder_code)
    change_row(session, row, _columns(values), noun=NOUN, key=code, did="changed", by=by)
    return row


def set_brake_archived(session: Session, code: str, *, archived: bool, by: str) -> Brake:
    """Take a brake off the lists, or put it back; its bend sequences are kept.

    Raises: ShopError `not_found`.
    """
    row = get_brake(session, code)
    archive_row(session, row, archived=archived, noun=NOUN, key=code, by=by)
    return row


def put_brake_back(session: Session, code: str, event_id: int, *, by: str) -> Brake:
    """Undo one change of a brake.

    Raises: ShopError `not_found`, `edit_conflict` when the same was changed again since.
    """
    row = get_brake(session, code)
    put_row_back(session, row, event_id, noun=NOUN, key=code, by=by)
    return row


def _columns(values: BrakeValues) -> dict[str, Any]:
    columns = asdict(values)
    columns["bed_mm"] = [list(point) for point in values.bed_mm]
    columns["ram_scale"] = values.ram_scale and [list(point) for point in values.ram_scale]
    return columns


def _need_holder(session: Session, code: str | None) -> None:
    if code and find_holder(session, code) is None:
        raise ShopError(
            "not_found",
            say("There is no holder '{code}'.", code=code),
            remedy="Choose one from the list, or add it under Tools.",
            where="holder_code",
        )
