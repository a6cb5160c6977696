"""Reading punches, dies and holders, and turning them into what the formulas and planner need."""

from collections.abc import Iterable, Sequence
from typing import Any

from sqlmodel import Session, col, select

from server.errors import ShopError, say
from server.mechanics.tooling import Die, Outline, Punch
from server.planning.plan_task import ToolPair
from server.storage.tables.tool import Die as DieRow
from server.storage.tables.tool import DieSegment, PunchSegment
from server.storage.tables.tool import Holder as HolderRow
from server.storage.tables.tool import Punch as PunchRow


def list_punches(
    session: Session, *, with_archived: bool = False, purpose: str | None = None
) -> list[PunchRow]:
    """All punches by code, or those for one purpose."""
    query = select(PunchRow).order_by(col(PunchRow.code))
    if purpose is not None:
        query = query.where(PunchRow.purpose == purpose)
    if not with_archived:
        query = query.where(col(PunchRow.archived_at).is_(None))
    return list(session.exec(query))


def list_dies(
    session: Session, *, with_archived: bool = False, purpose: str | None = None
) -> list[DieRow]:
    """All dies, the narrowest V first, or those for one purpose."""
    query = select(DieRow).order_by(col(DieRow.v_opening_mm), col(DieRow.code))
    if purpose is not None:
        query = query.where(DieRow.purpose == purpose)
    if not with_archived:
        query = query.where(col(DieRow.archived_at).is_(None))
    return list(session.exec(query))


def list_holders(session: Session, *, with_archived: bool = False) -> list[HolderRow]:
    """All holders by code."""
    query = select(HolderRow).order_by(col(HolderRow.code))
    if not with_archived:
        query = query.where(col(HolderRow.archived_at).is_(None))
    return list(session.exec(query))


def find_punch(session: Session, code: str | None) -> PunchRow | None:
    """The punch with a code, or None."""
    return session.get(PunchRow, code) if code else None


def find_die(session: Session, code: str | None) -> DieRow | None:
    """The die with a code, or None."""
    return session.get(DieRow, code) if code else None


def find_holder(session: Session, code: str | None) -> HolderRow | None:
    """The holder with a code, or None."""
    return session.get(HolderRow, code) if code else None


def get_punch(session: Session, code: str) -> PunchRow:
    """The punch with a code.

    Raises: ShopError `not_found`.
    """
    found = find_punch(session, code)
    if found is None:
        raise _not_found("punch", code)
    return found


def get_die(session: Session, code: str) -> DieRow:
    """The die with a code.

    Raises: ShopError `not_found`.
    """
    found = find_die(session, code)
    if found is None:
        raise _not_found("die", code)
    return found


def get_holder(session: Session, code: str) -> HolderRow:
    """The holder with a code.

    Raises: ShopError `not_found`.
    """
    found = find_holder(session, code)
    if found is None:
        raise _not_found("holder", code)
    return found


def list_punch_segments(session: Session, punch_code: str) -> list[PunchSegment]:
    """The pieces the shop owns of a punch, longest first."""
    query = (
        select(PunchSegment)
        .where(col(PunchSegment.punch_code) == punch_code)
        .order_by(col(PunchSegment.length_mm).desc())
    )
    return list(session.exec(query))


def list_die_segments(session: Session, die_code: str) -> list[DieSegment]:
    """The pieces the shop owns of a die, longest first."""
    query = (
        select(DieSegment)
        .where(col(DieSegment.die_code) == die_code)
        .order_by(col(DieSegment.length_mm).desc())
    )
    return list(session.exec(query))


def list_punches_with_segments(
    session: Session, *, with_archived: bool = False, purpose: str | None = None
) -> list[tuple[PunchRow, list[PunchSegment]]]:
    """Every punch with its pieces, longest first; two queries whatever the shop owns."""
    pieces: dict[str, list[PunchSegment]] = {}
    for segment in session.exec(select(PunchSegment).order_by(col(PunchSegment.length_mm).desc())):
        pieces.setdefault(segment.punch_code, []).append(segment)
    return [
        (row, pieces.get(row.code, []))
        for row in list_punches(session, with_archived=with_archived, purpose=purpose)
    ]


def list_dies_with_segments(
    session: Session, *, with_archived: bool = False, purpose: str | None = None
) -> list[tuple[DieRow, list[DieSegment]]]:
    """Every die with its pieces, longest first; two queries whatever the shop owns."""
    pieces: dict[str, list[DieSegment]] = {}
    for segment in session.exec(select(DieSegment).order_by(col(DieSegment.length_mm).desc())):
        pieces.setdefault(segment.die_code, []).append(segment)
    return [
        (row, pieces.get(row.code, []))
        for row in list_dies(session, with_archived=with_archived, purpose=purpose)
    ]


def list_pairs(session: Session, purpose: str) -> list[ToolPair]:
    """The pairs of tools made for one purpose: each die with the punch its block is named after,
    else with the first there is.
    """
    punches = {
        row.code: punch_of(row, segments)
        for row, segments in list_punches_with_segments(session, purpose=purpose)
    }
    if not punches:
        return []
    first = next(iter(punches.values()))
    return [
        ToolPair(punches.get(row.block_code, first), die_of(row, segments))
        for row, segments in list_dies_with_segments(session, purpose=purpose)
    ]


def punch_of(row: PunchRow, segments: Iterable[PunchSegment] = ()) -> Punch:
    """A punch as the formulas and the planner see it; its name there is its code."""
    return Punch(
        name=row.code,
        tip_radius_mm=row.tip_radius_mm,
        angle_deg=row.angle_deg,
        height_mm=row.height_mm,
        rating_kn_per_m=row.rating_kn_per_m,
        profile_mm=outline_of(row.profile_mm),
        segments_mm=piece_lengths(segments),
    )


def die_of(row: DieRow, segments: Iterable[DieSegment] = ()) -> Die:
    """A die as the formulas and the planner see it; its name there is its code."""
    return Die(
        name=row.code,
        v_opening_mm=row.v_opening_mm,
        angle_deg=row.angle_deg,
        shoulder_radius_mm=row.shoulder_radius_mm,
        height_mm=row.height_mm,
        rating_kn_per_m=row.rating_kn_per_m,
        v_depth_mm=row.v_depth_mm,
        profile_mm=outline_of(row.profile_mm),
        segments_mm=piece_lengths(segments),
    )


def piece_lengths(segments: Iterable[PunchSegment | DieSegment]) -> tuple[float, ...]:
    """One length for each piece owned, longest first."""
    lengths = [part.length_mm for part in segments for _ in range(part.pieces_count)]
    return tuple(sorted(lengths, reverse=True))


def outline_of(profile_mm: Sequence[Any]) -> Outline:
    """A stored outline as points."""
    return tuple((float(x), float(y)) for x, y in profile_mm)


def _not_found(noun: str, code: str) -> ShopError:
    return ShopError(
        "not_found",
        say("There is no {noun} '{code}'.", noun=noun, code=code),
        remedy="Choose one from the list, or add it.",
        where=f"{noun}_code",
    )
