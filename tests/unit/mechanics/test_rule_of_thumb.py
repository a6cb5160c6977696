"""The trade's rules of thumb: bands the program has to lie in, not values it has to hit.

Common practice without a source, or derived by hand from the formulas named in the docstrings of
the functions asked; mild steel with the shop's usual R = 0.16 V and K = 0.42.
"""

import pytest

from server.mechanics.air_bend import Bending, springback_at
from server.mechanics.bend_allowance import bend_allowance, bend_deduction, outside_setback
from server.mechanics.bend_force import (
    GROOVER_V_COEFFICIENT,
    US_CHART_COEFFICIENT,
    governing_line_load,
)
from server.mechanics.box_height import box_clear_height
from server.mechanics.brake_load import brake_line_load_limit, check_brake_load
from server.mechanics.bump_bend import bump_count
from server.mechanics.coupon import Strip, coupon_result
from server.mechanics.edge_distance import (
    clear_of_die_distance,
    hole_to_bend_distance,
    relief_depth,
    relief_width,
)
from server.mechanics.handling import edge_speed, leg_swing_speed
from server.mechanics.hem import hem_deduction
from server.mechanics.inside_radius import SIXTY_KSI_MPA
from server.mechanics.learned_bend import simple_correction
from server.mechanics.offset_bend import offset_tool_depth
from server.mechanics.ram_depth import (
    loaded_angle_from_depth,
    minimum_flange,
    ram_depth,
    ram_depth_per_degree,
    shoulder_centre,
)
from server.mechanics.stroke_setting import stroke_setting
from server.mechanics.tooling import Axis, Brake, Finger
from server.units.imperial import kn_from_short_tons, short_tons_per_foot_from_kn_per_m
from server.units.length import inches_from_mm, mm_from_inches
from server.units.sheet_gauge import gauge_thickness_mm


def deduction_mm(thickness_mm: float, v_opening_mm: float) -> float:
    radius_mm = 0.16 * v_opening_mm
    return bend_deduction(
        outside_setback_mm=outside_setback(
            bend_angle_deg=90.0, inside_radius_mm=radius_mm, thickness_mm=thickness_mm
        ),
        bend_allowance_mm=bend_allowance(
            bend_angle_deg=90.0,
            inside_radius_mm=radius_mm,
            thickness_mm=thickness_mm,
            k_factor=0.42,
        ),
    )


def press(tons: float, bed_ft: float) -> Brake:
    bed_mm = mm_from_inches(12 * bed_ft)
    axis = Axis(0.0, 1000.0, 0.01)
    return Brake(
        "the brake", kn_from_short_tons(tons), bed_mm, 400.0, axis, axis, 1, Finger(0, 50, 60)
    )


@pytest.mark.parametrize(
    ("thickness_mm", "v_opening_mm", "wanted_mm"),
    [
        (1.5, 12.0, 2.83),
        (2.0, 16.0, 3.78),
        (3.0, 25.0, 5.74),
        (4.0, 32.0, 7.56),
        (6.0, 50.0, 11.48),
    ],
)
def test_deductions_of_mild_steel(
    thickness_mm: float, v_opening_mm: float, wanted_mm: float
) -> None:
    assert deduction_mm(thickness_mm, v_opening_mm) == pytest.approx(wanted_mm, abs=0.005)


@pytest.mark.parametrize(
    ("gauge", "v_opening_in", "least_in", "most_in"),
    [(16, 0.5, 0.110, 0.121), (14, 0.625, 0.137, 0.152), (11, 1.0, 0.219, 0.243)],
)
def test_deductions_of_gauge_sheet(
    gauge: int, v_opening_in: float, least_in: float, most_in: float
) -> None:
    thickness_mm = gauge_thickness_mm(family="steel", gauge=gauge)
    found_in = inches_from_mm(deduction_mm(thickness_mm, mm_from_inches(v_opening_in)))
    assert least_in <= found_in <= most_in


def test_deduction_of_quarter_inch_plate_over_two_inches() -> None:
    found_in = inches_from_mm(deduction_mm(mm_from_inches(0.25), mm_from_inches(2.0)))
    assert 0.452 <= found_in <= 0.501


def test_a_blank_for_another_v_is_seventy_thousandths_wrong_in_four_bends() -> None:
    thickness_mm = gauge_thickness_mm(family="steel", gauge=11)
    wrong_mm = 4 * (
        deduction_mm(thickness_mm, mm_from_inches(1.25))
        - deduction_mm(thickness_mm, mm_from_inches(1.0))
    )
    assert inches_from_mm(wrong_mm) == pytest.approx(0.069, abs=0.001)


@pytest.mark.parametrize(
    ("included_deg", "share_of_v"),
    [(135.0, 0.54), (120.0, 0.58), (90.0, 0.71), (60.0, 1.00), (45.0, 1.31), (30.0, 1.93)],
)
def test_shortest_flange_as_a_share_of_the_v(included_deg: float, share_of_v: float) -> None:
    centre_mm = shoulder_centre(
        v_opening_mm=10.0, die_angle_deg=included_deg, shoulder_radius_mm=0.0
    )
    least_mm = minimum_flange(
        loaded_bend_angle_deg=180.0 - included_deg,
        shoulder_centre_mm=centre_mm,
        shoulder_radius_mm=0.0,
    )
    assert least_mm / 10.0 == pytest.approx(share_of_v, abs=0.005)


def test_a_degree_takes_half_a_hundredth_of_the_v_near_a_right_angle() -> None:
    v_mm = 25.0
    slope = ram_depth_per_degree(
        loaded_bend_angle_deg=90.0,
        shoulder_centre_mm=shoulder_centre(
            v_opening_mm=v_mm, die_angle_deg=86.0, shoulder_radius_mm=2.0
        ),
        roll_radius_mm=2.0 + v_mm / 8 + 0.16 * v_mm,
    )
    assert slope == pytest.approx(0.0052 * v_mm, rel=0.10)
    assert slope == pytest.approx(0.13, rel=0.10)


def angle_error_deg(
    thickness_mm: float, v_opening_mm: float, thicker_mm: float, *, position_kept: bool
) -> float:
    """Bend angle under load that a thicker sheet gets from the same stroke, less 90."""
    centre_mm = shoulder_centre(
        v_opening_mm=v_opening_mm, die_angle_deg=86.0, shoulder_radius_mm=v_opening_mm / 16
    )
    roll_mm = v_opening_mm / 16 + thickness_mm + 0.16 * v_opening_mm
    depth_mm = ram_depth(
        loaded_bend_angle_deg=90.0, shoulder_centre_mm=centre_mm, roll_radius_mm=roll_mm
    )
    return (
        loaded_angle_from_depth(
            depth_mm=depth_mm + (thicker_mm if position_kept else 0.0),
            shoulder_centre_mm=centre_mm,
            roll_radius_mm=roll_mm + thicker_mm,
        )
        - 90.0
    )


def test_thickness_is_the_largest_angle_error_at_a_fixed_position() -> None:
    """About 34 degrees x dt/t at V = 8 t: the position reaches deeper into a thicker sheet."""
    found_deg = angle_error_deg(2.0, 16.0, 0.02, position_kept=True)
    assert found_deg == pytest.approx(34.0 * 0.01, rel=0.15)


def test_touching_off_on_the_sheet_itself_leaves_a_quarter_of_that_error() -> None:
    """16 ga hot rolled, 0.006 in thicker over 1/2 in: 3.2 degrees, and 0.9 with the travel kept."""
    thickness_mm = gauge_thickness_mm(family="steel", gauge=16)
    v_mm, thicker_mm = mm_from_inches(0.5), mm_from_inches(0.006)
    fixed = angle_error_deg(thickness_mm, v_mm, thicker_mm, position_kept=True)
    travel = angle_error_deg(thickness_mm, v_mm, thicker_mm, position_kept=False)
    assert fixed == pytest.approx(3.2, abs=0.5)
    assert abs(travel) == pytest.approx(0.9, abs=0.5)
    assert abs(travel) < fixed / 2


def test_the_us_chart_lies_13_to_20_percent_over_the_textbook_forms() -> None:
    over = [US_CHART_COEFFICIENT / other for other in (GROOVER_V_COEFFICIENT, 1.42)]
    assert over == pytest.approx([1.20, 1.13], abs=0.008)


def test_quarter_inch_by_ten_feet_does_not_go_over_two_inches_with_150_tons() -> None:
    def load(v_opening_in: float) -> float:
        return governing_line_load(
            tensile_strength_mpa=SIXTY_KSI_MPA,
            thickness_mm=mm_from_inches(0.25),
            v_opening_mm=mm_from_inches(v_opening_in),
        )

    assert 10 * short_tons_per_foot_from_kn_per_m(load(2.0)) == pytest.approx(180, abs=1)
    assert 10 * short_tons_per_foot_from_kn_per_m(load(2.5)) == pytest.approx(0.96 * 150, abs=1)
    brake, ten_feet_mm = press(150.0, 12.0), mm_from_inches(120.0)
    codes = [
        {
            finding.code
            for finding in check_brake_load(
                line_load_kn_per_m=load(v_in), bend_length_mm=ten_feet_mm, brake=brake
            )
        }
        for v_in in (2.0, 2.5)
    ]
    assert codes == [{"force_over_brake"}, set()]


def test_a_short_tool_bears_only_its_share_of_a_long_brake() -> None:
    """150 tons over 10 ft: at most 25 tons on any foot, so 30 tons on 12 in is stopped."""
    brake = press(150.0, 10.0)
    limit = brake_line_load_limit(brake)
    assert short_tons_per_foot_from_kn_per_m(limit) == pytest.approx(25.0)
    (finding,) = check_brake_load(
        line_load_kn_per_m=limit * 30 / 25, bend_length_mm=mm_from_inches(12.0), brake=brake
    )
    assert (finding.level, finding.code) == ("stop", "line_load_over_bed")


def test_speed_change_follows_thickness_and_tool_height_exactly() -> None:
    thin = stroke_setting(thickness_mm=1.5, tool_height_mm=200.0)
    thick = stroke_setting(thickness_mm=3.0, tool_height_mm=212.0)
    assert (thin.speed_change_mm, thick.speed_change_mm) == (5.5, 7.0)
    assert thick.speed_change_ram_mm - thin.speed_change_ram_mm == pytest.approx(1.5 + 12.0)


def test_a_long_leg_whips_up() -> None:
    bending_deg_per_s = leg_swing_speed(depth_mm_per_deg=0.13, ram_speed_mm_per_s=10.0)
    assert bending_deg_per_s == pytest.approx(38, abs=1)
    assert edge_speed(swing_deg_per_s=bending_deg_per_s, leg_mm=600.0) == pytest.approx(
        0.4, abs=0.01
    )
    fast = leg_swing_speed(depth_mm_per_deg=0.13, ram_speed_mm_per_s=40.0)
    assert edge_speed(swing_deg_per_s=fast, leg_mm=600.0) == pytest.approx(1.6, abs=0.05)


def test_a_strip_of_100_that_measures_53_40_and_52_50_loses_5_90() -> None:
    result = coupon_result(
        thickness_mm=3.0,
        inside_radius_mm=4.0,
        bend_angle_deg=90.0,
        strips=[Strip(100.0, 53.40, 52.50)],
    )
    assert result.bend_deduction_mm == pytest.approx(5.90)


def test_the_first_correction_takes_four_fifths_of_the_error() -> None:
    correction_mm = simple_correction(
        wanted_deg=90.0, measured_deg=87.0, depth_mm_per_deg=0.13, share_ratio=0.8
    )
    assert correction_mm == pytest.approx(3 * 0.13 * 0.8)


def test_springback_of_mild_steel_over_eight_thicknesses_is_between_one_and_two_and_a_half() -> (
    None
):
    sheet = Bending(2.0, 8.6522, 6.06, 2.56, 0.0023)
    assert 1.0 < springback_at(sheet, 91.5) < 2.5


def test_holes_reliefs_hems_offsets_bumps_and_boxes() -> None:
    assert hole_to_bend_distance(thickness_mm=2.0, inside_radius_mm=2.5) == 7.5
    assert hole_to_bend_distance(
        thickness_mm=2.0, inside_radius_mm=2.5, thickness_ratio=3.0
    ) == pytest.approx(8.5)
    assert clear_of_die_distance(v_opening_mm=25.0, thickness_mm=3.0) == 15.5
    assert relief_width(thickness_mm=3.0) == 3.0
    assert relief_depth(inside_radius_mm=4.0, thickness_mm=3.0) == 7.0
    assert hem_deduction(thickness_mm=2.0) == pytest.approx(0.43 * 2.0, abs=0.002)
    assert offset_tool_depth(outside_offset_mm=6.0, thickness_mm=2.0) == 4.0
    assert bump_count(bend_angle_deg=90.0, step_deg=2.0) == 45
    assert bump_count(bend_angle_deg=90.0, step_deg=6.0) == 15
    assert round(box_clear_height(side_height_mm=100.0)) == 141
