"""Corrections at the brake: story 2, the flanges, and how large a correction may be."""

from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.errors import ShopError
from server.mechanics.air_bend import air_bend, angles_for_depth, bending, depth_for_angle
from server.mechanics.correction import (
    Try,
    check_correction,
    flange_change_per_degree,
    flange_correction,
    simple_next_depth,
)
from server.mechanics.material import Material
from server.mechanics.simulated_brake import (
    TrueLot,
    TrueMaterial,
    TruePiece,
    TrueSetup,
    simulated_bend,
)
from server.mechanics.tooling import Die, Punch
from server.units.length import mm_from_inches
from server.units.sheet_gauge import gauge_thickness_mm

ELEVEN_GAUGE_MM = gauge_thickness_mm(family="steel", gauge=11)
STEEL = Material(youngs_modulus_mpa=200_000.0, yield_strength_mpa=260.0, tensile_strength_mpa=380.0)
V1 = Die("V1", mm_from_inches(1.0), 85.0, mm_from_inches(0.08))
PUNCH = Punch("P", mm_from_inches(0.04), 85.0)
SHEET = bending(thickness_mm=ELEVEN_GAUGE_MM, material=STEEL, die=V1, punch=PUNCH)
SLOPE = air_bend(
    thickness_mm=ELEVEN_GAUGE_MM,
    bend_length_mm=500.0,
    bend_angle_deg=90.0,
    material=STEEL,
    die=V1,
    punch=PUNCH,
).depth_mm_per_deg


def test_story_2_a_first_piece_of_93_goes_deeper_by_80_percent_of_three_degrees() -> None:
    """93.0 included is 87 bent: 3 x sensitivity x 0.8."""
    tried = Try(depth_mm=8.0, bend_angle_deg=180.0 - 93.0)
    told = simple_next_depth(tries=[tried], wanted_deg=90.0, depth_mm_per_deg=SLOPE)
    assert told.change_mm == pytest.approx(3 * SLOPE * 0.8)
    assert told.depth_mm == pytest.approx(8.0 + 3 * SLOPE * 0.8)
    assert told.rule == "first step"


def test_story_2_then_the_slope_is_learned_from_the_two_tries() -> None:
    tries = [Try(8.0, 87.0), Try(8.0 + 3 * SLOPE * 0.8, 89.0)]
    told = simple_next_depth(tries=tries, wanted_deg=90.0, depth_mm_per_deg=SLOPE)
    assert told.change_mm == pytest.approx(3 * SLOPE * 0.8 / 2)
    assert told.rule == "secant"


def test_story_2_a_piece_of_88_5_makes_the_next_one_shallower() -> None:
    told = simple_next_depth(
        tries=[Try(8.0, 180.0 - 88.5)], wanted_deg=90.0, depth_mm_per_deg=SLOPE
    )
    assert told.change_mm == pytest.approx(-1.5 * SLOPE * 0.8)


@given(st.floats(84.0, 96.0), st.floats(-0.3, 0.3))
def test_the_simple_rule_comes_to_the_angle_in_a_few_parts(start_deg: float, off_mm: float) -> None:
    tries: list[Try] = []
    depth_mm = depth_for_angle(SHEET, min(start_deg, 92.0))
    for _ in range(5):
        tries.append(Try(depth_mm, angles_for_depth(SHEET, depth_mm + off_mm)[1]))
        told = simple_next_depth(tries=tries, wanted_deg=90.0, depth_mm_per_deg=SLOPE)
        depth_mm = told.depth_mm
    assert angles_for_depth(SHEET, depth_mm + off_mm)[1] == pytest.approx(90.0, abs=0.05)


def test_two_tries_that_contradict_the_geometry_do_not_run_the_punch_away() -> None:
    """A deeper stroke that read less: protractor noise; the computed slope takes over."""
    for tries in (
        [Try(8.0, 89.0), Try(8.1, 88.8)],
        [Try(8.0, 89.0), Try(8.1, 89.01)],
        [Try(8.0, 89.0), Try(8.0, 89.5)],
    ):
        told = simple_next_depth(tries=tries, wanted_deg=90.0, depth_mm_per_deg=SLOPE)
        assert told.rule == "computed slope"
        assert abs(told.change_mm) <= SLOPE * 0.8 * 1.2 + 1e-9


def test_no_try_or_an_impossible_angle_is_refused() -> None:
    with pytest.raises(ShopError):
        simple_next_depth(tries=[], wanted_deg=90.0, depth_mm_per_deg=SLOPE)
    with pytest.raises(ShopError):
        simple_next_depth(tries=[Try(8.0, 87.0)], wanted_deg=190.0, depth_mm_per_deg=SLOPE)


@given(
    st.floats(-0.8, 0.8),
    st.floats(-1.5, 1.5),
    st.floats(0.36, 0.48),
    st.integers(0, 10_000),
)
def test_x_and_blank_corrected_together_give_both_flanges_at_once(
    gauge_off_mm: float, blank_off_mm: float, k_factor: float, seed: int
) -> None:
    """Bent on the simulated brake: wrong gauge, wrong blank, wrong K; one correction, both right."""
    chance = Random(seed)
    metal = TrueMaterial(STEEL, 1.0 + chance.uniform(-0.1, 0.1), 1.0, k_factor)
    lot = TrueLot(metal, ELEVEN_GAUGE_MM, 0.0, metal.radius_factor, 1.0)
    setup = TrueSetup(0.0, gauge_off_mm, ELEVEN_GAUGE_MM)

    def legs(x_mm: float, blank_mm: float) -> tuple[float, float]:
        bent = simulated_bend(
            piece=TruePiece(ELEVEN_GAUGE_MM, 1.0),
            lot=lot,
            setup=setup,
            die=V1,
            punch=PUNCH,
            tip_travel_mm=depth_for_angle(SHEET, 88.0),
            x_mm=x_mm,
            blank_mm=blank_mm,
        )
        return bent.gauged_leg_mm, bent.other_leg_mm

    x_mm, blank_mm = 47.0, 94.0 + blank_off_mm
    gauged_mm, other_mm = legs(x_mm, blank_mm)
    told = flange_correction(gauged_error_mm=gauged_mm - 50.0, other_error_mm=other_mm - 50.0)
    gauged_mm, other_mm = legs(x_mm + told.x_change_mm, blank_mm + told.blank_change_mm)
    assert gauged_mm == pytest.approx(50.0, abs=1e-9)
    assert other_mm == pytest.approx(50.0, abs=1e-9)


@pytest.mark.parametrize("thickness_mm", [1.0, 2.0, 3.0, 6.0])
def test_a_degree_changes_a_flange_by_about_a_fortieth_of_the_thickness(
    thickness_mm: float,
) -> None:
    """The trade: about 0.025 t, so Y and X may be corrected together (R = 0.16 V, V = 8 t)."""
    change_mm = flange_change_per_degree(
        bend_angle_deg=90.0,
        inside_radius_mm=0.16 * 8 * thickness_mm,
        thickness_mm=thickness_mm,
        k_factor=0.42,
    )
    assert change_mm / thickness_mm == pytest.approx(0.025, abs=0.001)


@pytest.mark.parametrize(
    ("degrees", "levels"), [(9.9, []), (10.1, ["caution"]), (29.9, ["caution"]), (30.1, ["stop"])]
)
def test_a_correction_larger_than_any_should_be_is_questioned(
    degrees: float, levels: list[str]
) -> None:
    found = check_correction(change_mm=-degrees * SLOPE, depth_mm_per_deg=SLOPE, bend=2)
    assert [one.level for one in found] == levels
