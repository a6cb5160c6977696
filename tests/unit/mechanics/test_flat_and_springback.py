"""Corners of the flat length, springback tables, guards and arrays that the properties leave out."""

import numpy as np
import pytest

from server.errors import ShopError
from server.mechanics.air_bend import (
    Bending,
    air_bend,
    air_bend_at_depth,
    depth_for_angle,
    depths_for_angles,
    loaded_bend_angle,
)
from server.mechanics.bend_allowance import (
    outside_setback,
    radius_from_allowance,
    straight_stock_bend_allowance,
)
from server.mechanics.elementary import need_above, need_between
from server.mechanics.flat_length import FlatBend, flat_length, use_of_bend
from server.mechanics.k_factor import din6935_correction, groover_k_factor
from server.mechanics.minimum_radius import din6935_minimum_radius
from server.mechanics.springback import (
    HANDBOOK_FACTOR,
    RADIUS_TO_THICKNESS_RATIO,
    handbook_springback_factor,
    released_inside_radius,
)
from tests.unit.mechanics.shop import DIE, PUNCH, STEEL


def test_an_angle_of_nothing_uses_nothing() -> None:
    use = use_of_bend(bend=FlatBend(0.0, 2.0, k_factor=0.4), thickness_mm=2.0)
    assert (use.bend_allowance_mm, use.outside_setback_mm, use.bend_deduction_mm) == (0, 0, 0)


def test_a_full_fold_is_dimensioned_to_the_tangent() -> None:
    use = use_of_bend(bend=FlatBend(180.0, 0.0, k_factor=0.5), thickness_mm=1.0)
    assert use.bend_deduction_mm == pytest.approx(0.4292, abs=1e-4)


@pytest.mark.parametrize("angle", [164.99, 165.0, 179.0])
def test_the_apex_is_given_up_from_165(angle: float) -> None:
    if angle < 165.0:
        assert outside_setback(bend_angle_deg=angle, inside_radius_mm=1.0, thickness_mm=1.0) > 15
        return
    with pytest.raises(ShopError) as caught:
        outside_setback(bend_angle_deg=angle, inside_radius_mm=1.0, thickness_mm=1.0)
    assert caught.value.code == "apex_too_far"


def test_dins_rule_takes_nothing_for_openings_over_165_and_something_at_165() -> None:
    def deduction(angle: float) -> float:
        bend = FlatBend(angle, 10.0, rule="din6935")
        return use_of_bend(bend=bend, thickness_mm=2.0).bend_deduction_mm

    assert deduction(14.9) == 0.0
    assert deduction(15.0) != 0.0


def test_a_leg_may_be_used_up_exactly_by_its_bends() -> None:
    bend = FlatBend(90.0, 2.0, k_factor=0.4)
    flat = flat_length(thickness_mm=2.0, legs_mm=[20.0, 8.0, 20.0], bends=[bend, bend])
    assert flat.straights_mm[1] == 0.0
    with pytest.raises(ShopError) as caught:
        flat_length(thickness_mm=2.0, legs_mm=[20.0, 7.99, 20.0], bends=[bend, bend])
    assert caught.value.where == "legs_mm.1"


@pytest.mark.parametrize(
    ("ratio", "correction"), [(0.0, 0.0), (0.05, 0.0), (1.0, 0.65), (5.0, 0.9995), (5.001, 1.0)]
)
def test_dins_correction_stays_between_nothing_and_one(ratio: float, correction: float) -> None:
    assert din6935_correction(inside_radius_mm=ratio, thickness_mm=1.0) == pytest.approx(
        correction, abs=1e-4
    )


def test_the_textbooks_k_factor_steps_at_two_thicknesses() -> None:
    assert groover_k_factor(inside_radius_mm=1.99, thickness_mm=1.0) == 0.33
    assert groover_k_factor(inside_radius_mm=2.0, thickness_mm=1.0) == 0.50


def test_a_radius_and_its_allowance_are_each_others_inverse() -> None:
    use = use_of_bend(bend=FlatBend(70.0, 3.3, k_factor=0.41), thickness_mm=1.7)
    radius = radius_from_allowance(
        bend_allowance_mm=use.bend_allowance_mm,
        bend_angle_deg=70.0,
        thickness_mm=1.7,
        k_factor=0.41,
    )
    assert radius == pytest.approx(3.3)


def test_an_unknown_class_of_stock_names_the_known_ones() -> None:
    with pytest.raises(ShopError) as caught:
        straight_stock_bend_allowance(
            bend_angle_deg=90.0, inside_radius_mm=1.0, thickness_mm=1.0, stock="cheese"
        )
    assert "brass" in str(caught.value.remedy)


@pytest.mark.parametrize("material", sorted(HANDBOOK_FACTOR))
def test_the_springback_table_falls_with_the_radius_and_is_read_between_its_columns(
    material: str,
) -> None:
    printed = [
        (ratio, factor)
        for ratio, factor in zip(RADIUS_TO_THICKNESS_RATIO, HANDBOOK_FACTOR[material], strict=True)
        if factor is not None
    ]
    factors = [factor for _, factor in printed]
    assert factors == sorted(factors, reverse=True)
    (low, first), (high, second) = printed[-2:]
    between = handbook_springback_factor(
        material=material, radius_to_thickness_ratio=(low * high) ** 0.5
    )
    assert between == pytest.approx((first + second) / 2)


@pytest.mark.parametrize(
    ("material", "ratio", "code"),
    [
        ("DC01", 0.9, "out_of_table"),
        ("DC01", 101.0, "out_of_table"),
        ("X12CrNi18-8", 63.0, "out_of_table"),
        ("CuNi18Zn20", 1.0, "out_of_table"),
        ("butter", 10.0, "unknown_material"),
    ],
)
def test_where_the_springback_table_is_empty_it_says_so(
    material: str, ratio: float, code: str
) -> None:
    with pytest.raises(ShopError) as caught:
        handbook_springback_factor(material=material, radius_to_thickness_ratio=ratio)
    assert caught.value.code == code


def test_a_stronger_or_thicker_steel_than_dins_table_is_out_of_it() -> None:
    for strength, thickness in ((641.0, 2.0), (360.0, 20.1)):
        with pytest.raises(ShopError) as caught:
            din6935_minimum_radius(tensile_strength_mpa=strength, thickness_mm=thickness)
        assert caught.value.code == "out_of_table"
    with pytest.raises(ShopError):
        din6935_minimum_radius(tensile_strength_mpa=360.0, thickness_mm=20.0, bend_line="along")


def test_a_radius_that_springs_back_flat_is_refused_for_one_and_for_many() -> None:
    for radius, thickness, lost in (
        (1000.0, 1.0, 0.002),
        (np.array([1.0, 1000.0]), np.array([1.0, 1.0]), np.array([0.002, 0.002])),
    ):
        with pytest.raises(ShopError) as caught:
            released_inside_radius(
                loaded_inside_radius_mm=radius,  # type: ignore[type-var]
                thickness_mm=thickness,
                lost_curvature_per_mm=lost,
            )
        assert caught.value.code == "all_springs_back"


@pytest.mark.parametrize("value", [0.0, -1.0, float("nan"), float("inf"), 1e10])
def test_a_guard_refuses_one_bad_number_alone_or_among_good_ones(value: float) -> None:
    for given in (value, np.array([1.0, value, 2.0])):
        with pytest.raises(ShopError) as caught:
            need_above("part.thickness_mm", given, 0.0, "mm")
        assert caught.value.where == "part.thickness_mm"
        assert "thickness" in str(caught.value.what)
        assert "mm" in str(caught.value.remedy)
    with pytest.raises(ShopError):
        need_between("angle_deg", np.array([5.0, value - 1000.0]), 0.0, 180.0, "deg")
    need_between("angle_deg", np.array([0.0, 180.0]), 0.0, 180.0, "deg")


def test_a_sheet_that_springs_back_by_almost_all_it_was_bent_still_settles() -> None:
    """Radius 200 times the thickness, rolled up on the shoulders: nine tenths come back."""
    springy = Bending(1.0, 8.0, 203.0, 200.0, 0.9 / 200.5)
    loaded = loaded_bend_angle(springy, 5.0)
    assert loaded == pytest.approx(50.0, abs=1e-9)
    assert depths_for_angles(springy, np.array([5.0]))[0] == pytest.approx(
        depth_for_angle(springy, 5.0)
    )
    hopeless = springy._replace(unloading_curvature_per_mm=1.1 / 200.5)
    with pytest.raises(ShopError):
        loaded_bend_angle(hopeless, 5.0)
    with pytest.raises(ShopError):
        depths_for_angles(hopeless, np.array([0.0, 5.0]))


def test_a_bend_by_depth_is_the_bend_by_angle() -> None:
    wanted = air_bend(
        thickness_mm=2.0,
        bend_length_mm=300.0,
        bend_angle_deg=77.0,
        material=STEEL,
        die=DIE,
        punch=PUNCH,
    )
    found = air_bend_at_depth(
        thickness_mm=2.0,
        bend_length_mm=300.0,
        depth_mm=wanted.depth_mm,
        material=STEEL,
        die=DIE,
        punch=PUNCH,
    )
    assert found.bend_angle_deg == pytest.approx(77.0, abs=1e-9)
    assert found.inside_radius_mm == pytest.approx(wanted.inside_radius_mm)
    assert found.force_n == wanted.force_n
