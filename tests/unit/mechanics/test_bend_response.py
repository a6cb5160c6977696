"""Slopes of the bend angle, against differences of the formulas and against the trade's numbers."""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from server.errors import ShopError
from server.mechanics.air_bend import Bending, angles_for_depth, bending, depth_for_angle
from server.mechanics.bend_response import bend_response, stacked
from server.mechanics.material import Material
from server.mechanics.tooling import Die, Punch

STEEL = Material(youngs_modulus_mpa=210_000.0, yield_strength_mpa=290.0, tensile_strength_mpa=420.0)


def sheet_of(thickness_mm: float, v_mm: float) -> Bending:
    return bending(
        thickness_mm=thickness_mm,
        material=STEEL,
        die=Die("V", v_mm, 80.0, 0.05 * v_mm),
        punch=Punch("P", 0.5, 80.0),
    )


def angle_deg(sheet: Bending, depth_mm: float, p: float, q: float, dt: float) -> float:
    """The bend angle by the formulas themselves, with everything moved a little."""
    radius_mm = sheet.loaded_inside_radius_mm * math.exp(p)
    thickness_mm = sheet.thickness_mm + dt
    moved = Bending(
        thickness_mm,
        sheet.shoulder_centre_mm,
        sheet.roll_radius_mm + radius_mm - sheet.loaded_inside_radius_mm + dt,
        radius_mm,
        sheet.unloading_curvature_per_mm * math.exp(q) * sheet.thickness_mm / thickness_mm,
    )
    return angles_for_depth(moved, depth_mm)[1]


@given(
    st.floats(0.8, 6.0),
    st.floats(6.0, 12.0),
    st.floats(15.0, 95.0),
    st.floats(-0.3, 0.3),
    st.floats(-0.5, 0.5),
    st.floats(-0.05, 0.05),
)
def test_every_slope_is_the_difference_of_the_formula(
    thickness_mm: float, ratio: float, wanted_deg: float, p: float, q: float, share: float
) -> None:
    sheet = sheet_of(thickness_mm, ratio * thickness_mm)
    dt = share * thickness_mm
    depth_mm = depth_for_angle(sheet, wanted_deg)
    step = 1e-5
    try:
        middle = angle_deg(sheet, depth_mm, p, q, dt)
        beyond = angle_deg(sheet, 1.05 * depth_mm, p, q, dt)
    except ShopError:  # a travel this moved sheet does not have
        assume(False)
    assume(middle > 5.0 and beyond < 140.0)
    answer = bend_response(
        sheets=stacked([sheet]),
        depth_mm=np.array([depth_mm]),
        log_radius_factor=p,
        log_springback_factor=q,
        thickness_off_mm=dt,
    )
    assert answer.bend_angle_deg[0] == pytest.approx(middle, abs=1e-9)

    def slope(*moved: float) -> float:
        high = angle_deg(sheet, depth_mm + moved[0], p + moved[1], q + moved[2], dt + moved[3])
        low = angle_deg(sheet, depth_mm - moved[0], p - moved[1], q - moved[2], dt - moved[3])
        return (high - low) / (2 * step)

    def close(expected: float) -> object:
        return pytest.approx(expected, rel=1e-4, abs=1e-4)

    assert answer.per_travel[0] == close(slope(step, 0, 0, 0))
    assert answer.per_radius[0] == close(slope(0, step, 0, 0))
    assert answer.per_springback[0] == close(slope(0, 0, step, 0))
    assert answer.per_thickness[0] == close(slope(0, 0, 0, step))


def test_many_bends_at_once_are_each_its_own() -> None:
    sheets = [sheet_of(1.0, 8.0), sheet_of(2.0, 16.0), sheet_of(3.0, 25.0)]
    depths_mm = [
        depth_for_angle(sheet, angle) for sheet, angle in zip(sheets, (90, 45, 60), strict=True)
    ]
    together = bend_response(sheets=stacked(sheets), depth_mm=np.array(depths_mm))
    for index, (sheet, depth_mm) in enumerate(zip(sheets, depths_mm, strict=True)):
        alone = bend_response(sheets=stacked([sheet]), depth_mm=np.array([depth_mm]))
        for many, one in zip(together, alone, strict=True):
            assert many[index] == one[0]


def test_a_travel_no_bend_has_still_gives_finite_numbers() -> None:
    for depth_mm in (-3.0, 0.0, 60.0, 1e5):
        answer = bend_response(
            sheets=stacked([sheet_of(6.0, 24.0)]),
            depth_mm=np.array([depth_mm]),
            log_radius_factor=0.6,
        )
        assert all(np.isfinite(column).all() for column in answer)


@pytest.mark.parametrize("thickness_mm", [1.0, 2.0, 3.0, 6.0])
def test_thickness_at_a_fixed_y_costs_about_34_degrees_times_its_share(thickness_mm: float) -> None:
    """The trade: at a fixed Y about 34 deg x dt/t at V = 8 t; keeping the travel leaves 28 % of it."""
    sheet = sheet_of(thickness_mm, 8 * thickness_mm)
    answer = bend_response(
        sheets=stacked([sheet]), depth_mm=np.array([depth_for_angle(sheet, 90.0)])
    )
    at_fixed_y = (answer.per_thickness[0] + answer.per_travel[0]) * thickness_mm
    with_travel_kept = answer.per_thickness[0] * thickness_mm
    assert at_fixed_y == pytest.approx(34.0, abs=4.0)
    assert with_travel_kept / at_fixed_y == pytest.approx(0.9 / 3.2, abs=0.06)


@pytest.mark.parametrize("v_mm", [8.0, 16.0, 25.0, 50.0])
def test_a_degree_near_90_takes_about_half_a_percent_of_v(v_mm: float) -> None:
    """The trade: near 90 deg at V = 8 t about 0.0052 V per degree (V25: 0.13 mm)."""
    sheet = sheet_of(v_mm / 8, v_mm)
    answer = bend_response(
        sheets=stacked([sheet]), depth_mm=np.array([depth_for_angle(sheet, 90.0)])
    )
    assert 1 / answer.per_travel[0] / v_mm == pytest.approx(0.0052, abs=0.0005)
