"""Test strips: what they say, and how sure they are.

Student's t of the table against scipy, a general-purpose library.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from server.errors import ShopError
from server.mechanics.bend_allowance import bend_allowance, outside_setback
from server.mechanics.coupon import TWO_SIDED_95, Strip, coupon_result


@pytest.mark.parametrize("strips", sorted(TWO_SIDED_95))
def test_the_t_table_is_students(strips: int) -> None:
    assert TWO_SIDED_95[strips] == pytest.approx(float(stats.t.ppf(0.975, strips - 1)), abs=5e-4)


@given(
    thickness=st.floats(0.5, 8.0),
    radius_ratio=st.floats(0.2, 4.0),
    k_factor=st.floats(0.2, 0.5),
    angle=st.floats(20.0, 150.0),
)
def test_a_strip_made_with_a_k_factor_gives_that_k_factor_back(
    thickness: float, radius_ratio: float, k_factor: float, angle: float
) -> None:
    radius = radius_ratio * thickness
    setback = outside_setback(
        bend_angle_deg=angle, inside_radius_mm=radius, thickness_mm=thickness, to_tangent=True
    )
    allowance = bend_allowance(
        bend_angle_deg=angle, inside_radius_mm=radius, thickness_mm=thickness, k_factor=k_factor
    )
    flat = 2 * (100.0 - setback) + allowance
    result = coupon_result(
        thickness_mm=thickness,
        inside_radius_mm=radius,
        bend_angle_deg=angle,
        strips=[Strip(flat, 100.0, 100.0)],
    )
    assert result.k_factor == pytest.approx(k_factor, abs=1e-9)
    assert result.findings == ()


def test_the_interval_of_the_mean_is_students() -> None:
    strips = [Strip(100.0, 53.0 + extra, 52.9) for extra in (0.0, 0.1, 0.05, 0.02)]
    result = coupon_result(
        thickness_mm=3.0, inside_radius_mm=4.0, bend_angle_deg=90.0, strips=strips
    )
    deductions = [strip.bend_deduction_mm for strip in strips]
    low, high = stats.t.interval(0.95, 3, loc=sum(deductions) / 4, scale=stats.sem(deductions))
    assert result.uncertain_by_mm == pytest.approx((high - low) / 2, rel=1e-3)


def test_no_strip_is_refused() -> None:
    with pytest.raises(ShopError) as caught:
        coupon_result(thickness_mm=3.0, inside_radius_mm=4.0, bend_angle_deg=90.0, strips=[])
    assert caught.value.code == "no_strips"
