"""Test strips: measured, worked out, and used for every drawing of that metal, thickness and V."""

from dataclasses import asdict, dataclass

from server.actions.history import keep
from server.errors import ShopError
from server.mechanics.coupon import CouponResult, Strip, coupon_result
from server.storage.database import Session
from server.storage.queries.coupon import get_coupon
from server.storage.queries.lot import find_lot
from server.storage.queries.material import get_material
from server.storage.queries.tool import get_die, get_punch
from server.storage.tables.material import Coupon

MOST_STRIPS = 12


@dataclass(frozen=True, slots=True)
class CouponValues:
    """What was bent and measured."""

    material_code: str
    lot_code: str | None
    die_code: str
    punch_code: str
    thickness_mm: float
    inside_radius_mm: float
    bend_angle_deg: float
    strips: tuple[Strip, ...]


def coupon_of(values: CouponValues) -> CouponResult:
    """The deduction and K-factor the strips give.

    Raises: ShopError `no_strips`, `out_of_range`.
    """
    return coupon_result(
        thickness_mm=values.thickness_mm,
        inside_radius_mm=values.inside_radius_mm,
        bend_angle_deg=values.bend_angle_deg,
        strips=values.strips,
    )


def add_coupon(session: Session, values: CouponValues, *, by: str) -> Coupon:
    """Keep measured strips; from now on new drawings take their K-factor.

    Raises: ShopError `not_found` for metal, lot or tools, `no_strips`, `out_of_range`,
        `k_factor_unlikely` for strips no metal can have.
    """
    get_material(session, values.material_code)
    die = get_die(session, values.die_code)
    get_punch(session, values.punch_code)
    lot = find_lot(session, values.lot_code)
    result = coupon_of(values)
    if not -0.5 < result.k_factor < 1.5:
        raise ShopError(
            "k_factor_unlikely",
            "No metal bends like that.",
            remedy="Measure flat, legs, thickness and radius again.",
            where="form",
        )
    row = Coupon(
        material_code=values.material_code,
        lot_code=lot.code if lot else None,
        die_code=die.code,
        punch_code=values.punch_code,
        thickness_mm=values.thickness_mm,
        v_opening_mm=die.v_opening_mm,
        bend_angle_deg=values.bend_angle_deg,
        inside_radius_mm=values.inside_radius_mm,
        strips=[asdict(strip) for strip in values.strips],
        bend_deduction_mm=result.bend_deduction_mm,
        spread_mm=result.spread_mm,
        k_factor=result.k_factor,
        measured_by=by,
    )
    session.add(row)
    session.flush()
    keep(
        session,
        "measured strips",
        noun="coupon",
        key=str(row.id),
        by=by,
        after={
            "material": row.material_code,
            "thickness_mm": row.thickness_mm,
            "v_opening_mm": row.v_opening_mm,
            "bend_deduction_mm": row.bend_deduction_mm,
        },
    )
    return row


def use_coupon(session: Session, coupon_id: int, *, in_use: bool, by: str) -> Coupon:
    """Use measured strips for new drawings, or no longer; released flats never change.

    Raises: ShopError `not_found`.
    """
    row = get_coupon(session, coupon_id)
    row.in_use = in_use
    session.add(row)
    keep(session, "used" if in_use else "set aside", noun="coupon", key=str(coupon_id), by=by)
    return row
