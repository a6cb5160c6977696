"""Test strips: kept, used for new drawings, set aside."""

from dataclasses import replace
from typing import Any

import pytest

from server.actions.coupon import CouponValues, add_coupon, use_coupon
from server.errors import ShopError
from server.mechanics.coupon import Strip
from server.storage.queries.coupon import find_coupon

VALUES = CouponValues(
    material_code="S235JR", lot_code=None, die_code="D25", punch_code="P1-STRAIGHT",
    thickness_mm=3.0, inside_radius_mm=4.0, bend_angle_deg=90.0,
    strips=(Strip(100.0, 53.4, 52.5),),
)  # fmt: skip


def test_story_9_a_strip_is_kept_and_used_until_it_is_set_aside(shop: Any) -> None:
    with shop.writing() as session:
        row = add_coupon(session, VALUES, by="Ann")
        assert row.bend_deduction_mm == pytest.approx(5.90)
        found = find_coupon(session, material_code="S235JR", thickness_mm=3.0, v_opening_mm=25.0)
        assert found is not None
        assert found.id == row.id
        use_coupon(session, row.id or 0, in_use=False, by="Ann")
        after = find_coupon(session, material_code="S235JR", thickness_mm=3.0, v_opening_mm=25.0)
        assert after is None or after.id != row.id


def test_strips_no_metal_can_have_are_not_kept(shop: Any) -> None:
    with shop.writing() as session, pytest.raises(ShopError, match="No metal"):
        add_coupon(session, replace(VALUES, strips=(Strip(100.0, 80.0, 80.0),)), by="Ann")
