"""Reading brakes, and turning them into what the formulas and planner need."""

from dataclasses import replace

from sqlmodel import Session, col, select

from server.errors import ShopError, say
from server.mechanics.brake_load import brake_line_load_limit
from server.mechanics.control_reading import RamScale, TouchOff
from server.mechanics.tooling import Axis, Brake, Finger
from server.storage.queries.tool import outline_of
from server.storage.tables.brake import Brake as BrakeRow
from server.storage.tables.tool import Holder as HolderRow


def list_brakes(session: Session, *, with_archived: bool = False) -> list[BrakeRow]:
    """All brakes by code."""
    query = select(BrakeRow).order_by(col(BrakeRow.code))
    if not with_archived:
        query = query.where(col(BrakeRow.archived_at).is_(None))
    return list(session.exec(query))


def find_brake(session: Session, code: str | None) -> BrakeRow | None:
    """The brake with a code, or None."""
    return session.get(BrakeRow, code) if code else None


def get_brake(session: Session, code: str) -> BrakeRow:
    """The brake with a code.

    Raises: ShopError `not_found`.
    """
    found = find_brake(session, code)
    if found is None:
        raise ShopError(
            "not_found",
            say("There is no brake '{code}'.", code=code),
            remedy="Choose one from the list, or add it.",
            where="brake_code",
        )
    return found


def get_brake_with_holder(session: Session, code: str) -> tuple[BrakeRow, HolderRow | None]:
    """The brake with a code and the holder it carries, in one query.

    Raises: ShopError `not_found`.
    """
    query = (
        select(BrakeRow, HolderRow)
        .join(HolderRow, col(BrakeRow.holder_code) == col(HolderRow.code), isouter=True)
        .where(col(BrakeRow.code) == code)
    )
    found = session.exec(query).first()
    if found is None:
        return get_brake(session, code), None
    return found[0], found[1]


def brake_of(row: BrakeRow, holder: HolderRow | None = None) -> Brake:
    """A brake as the formulas and the planner see it; its name there is its code.

    The holder's outline stands on the punch's top: its y = 0 is the top plane of the punch. A
    holder weaker than the brake limits the line load.
    """
    brake = Brake(
        name=row.code,
        max_force_kn=row.max_force_kn,
        bed_length_mm=row.bed_length_mm,
        opening_mm=row.opening_mm,
        x_axis=Axis(row.x_least_mm, row.x_most_mm, row.x_resolution_mm),
        y_axis=Axis(row.y_least_mm, row.y_most_mm, row.y_resolution_mm),
        y_sense=1 if row.y_sense > 0 else -1,
        finger=Finger(row.finger_low_mm, row.finger_high_mm, row.finger_width_mm),
        frame_distance_mm=row.frame_distance_mm,
        max_line_load_kn_per_m=row.max_line_load_kn_per_m,
        off_centre_share=row.off_centre_ratio,
        speed_mm_per_s=row.bending_speed_mm_per_s,
        holder_mm=outline_of(holder.profile_mm) if holder is not None else (),
        bed_mm=outline_of(row.bed_mm),
    )
    weaker = holder.rating_kn_per_m if holder is not None else None
    if weaker is not None and weaker < brake_line_load_limit(brake):
        return replace(brake, max_line_load_kn_per_m=weaker)
    return brake


def touch_off_of(row: BrakeRow) -> TouchOff | None:
    """The last touch-off recorded on a brake, not checked on the set-up that starts from it."""
    if row.touch_off_reading_mm is None or row.touch_off_tip_mm is None:
        return None
    return TouchOff(
        on="sheet" if row.touch_off_on == "sheet" else "die",
        reading_mm=row.touch_off_reading_mm,
        tip_above_die_top_mm=row.touch_off_tip_mm,
        tool_height_mm=row.touch_off_tool_height_mm or 0.0,
        checked=False,
    )


def ram_scale_of(row: BrakeRow) -> RamScale | None:
    """The brake's own scale of ram height, when two readings of it were recorded."""
    if not row.ram_scale or len(row.ram_scale) != 2:
        return None
    (height_1_mm, reading_1), (height_2_mm, reading_2) = row.ram_scale
    return RamScale(
        height_1_mm=float(height_1_mm),
        reading_1=float(reading_1),
        height_2_mm=float(height_2_mm),
        reading_2=float(reading_2),
    )
