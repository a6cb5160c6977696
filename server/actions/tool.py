"""Keeping the shop's punches, dies and holders."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Literal

from server.actions.history import before_event, keep, need_same_version, picture, settled
from server.errors import ShopError, say
from server.storage.database import Session
from server.storage.queries.tool import (
    find_die,
    find_holder,
    find_punch,
    get_die,
    get_holder,
    get_punch,
    list_die_segments,
    list_punch_segments,
)
from server.storage.tables.column import utc_now
from server.storage.tables.tool import Die, DieSegment, Holder, Punch, PunchSegment

ToolKind = Literal["punch", "die", "holder"]
KINDS: tuple[ToolKind, ...] = ("punch", "die", "holder")
Tool = Punch | Die | Holder
Outline = tuple[tuple[float, float], ...]
Pieces = tuple[tuple[float, int], ...]


@dataclass(frozen=True, slots=True)
class PunchValues:
    """What a person may say about a punch; `segments` are (length in mm, pieces owned)."""

    name: str
    tip_radius_mm: float
    angle_deg: float
    height_mm: float
    rating_kn_per_m: float | None
    profile_mm: Outline
    segments: Pieces
    note: str
    purpose: str = "bend"


@dataclass(frozen=True, slots=True)
class DieValues:
    """What a person may say about a die; `segments` are (length in mm, pieces owned)."""

    name: str
    block_code: str
    v_opening_mm: float
    angle_deg: float
    shoulder_radius_mm: float
    height_mm: float
    rating_kn_per_m: float | None
    v_depth_mm: float | None
    profile_mm: Outline
    segments: Pieces
    note: str
    purpose: str = "bend"


@dataclass(frozen=True, slots=True)
class HolderValues:
    """What a person may say about a holder."""

    name: str
    height_mm: float
    rating_kn_per_m: float | None
    profile_mm: Outline


ToolValues = PunchValues | DieValues | HolderValues


def get_tool(session: Session, kind: ToolKind, code: str) -> Tool:
    """A tool of one kind.

    Raises: ShopError `not_found`.
    """
    match kind:
        case "punch":
            return get_punch(session, code)
        case "die":
            return get_die(session, code)
        case "holder":
            return get_holder(session, code)


def list_pieces(session: Session, kind: ToolKind, code: str) -> Pieces:
    """The pieces the shop owns of a tool: (length in mm, how many), longest first."""
    if kind == "holder":
        return ()
    read = list_punch_segments if kind == "punch" else list_die_segments
    return tuple((piece.length_mm, piece.pieces_count) for piece in read(session, code))


def add_tool(session: Session, kind: ToolKind, code: str, values: ToolValues, *, by: str) -> Tool:
    """A new tool with its pieces.

    Raises: ShopError `already_exists`.
    """
    find = {"punch": find_punch, "die": find_die, "holder": find_holder}[kind]
    if find(session, code) is not None:
        raise ShopError(
            "already_exists",
            say("There is a {kind} '{code}' already.", kind=kind, code=code),
            remedy="Open that one, or use another code.",
            where="code",
        )
    columns, pieces = _columns(values)
    row: Tool
    match kind:
        case "punch":
            row = Punch(code=code, **columns)
        case "die":
            row = Die(code=code, **columns)
        case "holder":
            row = Holder(code=code, **columns)
    session.add(row)
    session.flush()
    _put_pieces(session, kind, code, pieces)
    keep(session, "added", noun=kind, key=code, by=by, after=_picture(row, pieces))
    return row


def save_tool(
    session: Session, kind: ToolKind, code: str, values: ToolValues, *, version: int, by: str
) -> Tool:
    """Changed values of a tool.

    Raises: ShopError `not_found`, `edit_conflict`.
    """
    row = get_tool(session, kind, code)
    need_same_version(row, version)
    columns, pieces = _columns(values)
    _change(session, kind, row, columns, pieces, did="changed", by=by)
    return row


def set_tool_archived(
    session: Session, kind: ToolKind, code: str, *, archived: bool, by: str
) -> Tool:
    """Take a tool off the lists, or put it back; bend sequences that use it keep it.

    Raises: ShopError `not_found`.
    """
    row = get_tool(session, kind, code)
    row.archived_at = utc_now() if archived else None
    session.add(row)
    keep(session, "archived" if archived else "restored", noun=kind, key=code, by=by)
    return row


def put_tool_back(session: Session, kind: ToolKind, code: str, event_id: int, *, by: str) -> Tool:
    """Undo one change of a tool.

    Raises: ShopError `not_found`, `edit_conflict` when the same was changed again since.
    """
    row = get_tool(session, kind, code)
    pieces = list_pieces(session, kind, code)
    columns = before_event(session, event_id, noun=kind, key=code, now=_picture(row, pieces))
    if "segments" in columns:
        pieces = tuple((float(length), int(count)) for length, count in columns.pop("segments"))
    _change(session, kind, row, columns, pieces, did="put back", by=by)
    return row


def _change(
    session: Session,
    kind: ToolKind,
    row: Tool,
    columns: Mapping[str, Any],
    pieces: Pieces,
    *,
    did: str,
    by: str,
) -> None:
    owned = list_pieces(session, kind, row.code)
    before = _picture(row, owned)
    for name, value in columns.items():
        setattr(row, name, settled(getattr(row, name), value))
    pieces = tuple((float(length), count) for length, count in settled(owned, pieces))
    after = _picture(row, pieces)
    if after == before:
        return
    if pieces != owned:
        _put_pieces(session, kind, row.code, pieces)
    row.changed_at = utc_now()  # a change of the pieces alone is a new version too
    session.add(row)
    keep(session, did, noun=kind, key=row.code, by=by, before=before, after=after)


def _put_pieces(session: Session, kind: ToolKind, code: str, pieces: Pieces) -> None:
    if kind == "holder":
        return
    for old in (list_punch_segments if kind == "punch" else list_die_segments)(session, code):
        session.delete(old)
    session.flush()
    for length_mm, count in pieces:
        if kind == "punch":
            session.add(PunchSegment(punch_code=code, length_mm=length_mm, pieces_count=count))
        else:
            session.add(DieSegment(die_code=code, length_mm=length_mm, pieces_count=count))
    session.flush()


def _columns(values: ToolValues) -> tuple[dict[str, Any], Pieces]:
    columns = asdict(values)
    pieces = tuple(columns.pop("segments", ()))
    columns["profile_mm"] = [list(point) for point in values.profile_mm]
    return columns, pieces


def _picture(row: Tool, pieces: Pieces) -> dict[str, Any]:
    shown = picture(row)
    if not isinstance(row, Holder):
        shown["segments"] = [list(piece) for piece in pieces]
    return shown
