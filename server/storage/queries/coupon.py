"""Reading measured test strips."""

from sqlmodel import Session, col, select

from server.errors import ShopError
from server.storage.tables.material import Coupon

SAME_THICKNESS_MM = 0.15
SAME_V_MM = 0.01


def find_coupon(
    session: Session, *, material_code: str, thickness_mm: float, v_opening_mm: float
) -> Coupon | None:
    """The newest strips in use for a metal, thickness and V, or None."""
    query = (
        select(Coupon)
        .where(
            col(Coupon.material_code) == material_code,
            col(Coupon.in_use).is_(True),
            col(Coupon.thickness_mm).between(
                thickness_mm - SAME_THICKNESS_MM, thickness_mm + SAME_THICKNESS_MM
            ),
            col(Coupon.v_opening_mm).between(v_opening_mm - SAME_V_MM, v_opening_mm + SAME_V_MM),
        )
        .order_by(col(Coupon.measured_at).desc())
        .limit(1)
    )
    return session.exec(query).first()


def get_coupon(session: Session, coupon_id: int) -> Coupon:
    """Measured strips.

    Raises: ShopError `not_found`.
    """
    found = session.get(Coupon, coupon_id)
    if found is None:
        raise ShopError("not_found", "There are no such strips.", remedy="Reload the page.")
    return found


def list_coupons(session: Session, *, most: int = 60) -> list[Coupon]:
    """Measured strips, newest first."""
    query = select(Coupon).order_by(col(Coupon.measured_at).desc(), col(Coupon.id).desc())
    return list(session.exec(query.limit(most)))
