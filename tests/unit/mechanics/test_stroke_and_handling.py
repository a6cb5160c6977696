"""Stroke heights, whip-up and distances: the numbers beside which a caution stands."""

import pytest

from server.errors import ShopError
from server.mechanics.edge_distance import check_hole_to_bend, check_relief
from server.mechanics.general_tolerance import check_angle_tolerance
from server.mechanics.handling import WHIP_SPEED_M_PER_S, check_handling
from server.mechanics.safe_distance import (
    check_hand_distance,
    depth_penetration,
    iso13855_distance,
)
from server.mechanics.stroke_setting import (
    check_stroke_setting,
    seconds_lost_by_high_speed_change,
    stroke_setting,
)


def test_the_top_of_the_stroke_clears_the_tallest_flange() -> None:
    flat = stroke_setting(thickness_mm=2.0, tool_height_mm=200.0)
    tall = stroke_setting(thickness_mm=2.0, tool_height_mm=200.0, tallest_standing_flange_mm=80.0)
    assert flat.top_opening_mm == 22.0
    assert tall.top_opening_mm == 102.0
    assert tall.top_ram_mm == 302.0
    assert tall.speed_change_mm == flat.speed_change_mm


def test_a_brake_that_cannot_open_far_enough_is_stopped_just_there() -> None:
    setting = stroke_setting(
        thickness_mm=2.0, tool_height_mm=200.0, tallest_standing_flange_mm=80.0
    )
    for opening_mm, stopped in ((302.0, False), (301.9, True)):
        findings = check_stroke_setting(
            setting=setting, brake_opening_mm=opening_mm, tool_height_mm=200.0
        )
        assert [finding.level for finding in findings] == (["stop"] if stopped else [])


def test_ten_millimetres_too_high_cost_a_second_a_stroke() -> None:
    lost = seconds_lost_by_high_speed_change(
        above_sheet_mm=14.0, advised_mm=4.0, bending_speed_mm_per_s=10.0
    )
    assert lost == 1.0
    low = seconds_lost_by_high_speed_change(
        above_sheet_mm=2.0, advised_mm=4.0, bending_speed_mm_per_s=10.0
    )
    assert low == 0.0


@pytest.mark.parametrize(("leg_mm", "warned"), [(300.0, False), (600.0, True)])
def test_a_whipping_edge_is_a_caution_with_its_speed(leg_mm: float, warned: bool) -> None:
    findings = check_handling(
        mass_kg=5.0, longest_leg_mm=leg_mm, depth_mm_per_deg=0.13, ram_speed_mm_per_s=10.0
    )
    assert [finding.code for finding in findings] == (["whip_up"] if warned else [])
    if warned:
        assert findings[0].amount is not None
        assert findings[0].amount.value > WHIP_SPEED_M_PER_S


def test_a_hole_is_cautioned_just_inside_its_distance() -> None:
    def near(distance_mm: float) -> bool:
        return bool(
            check_hole_to_bend(distance_mm=distance_mm, thickness_mm=2.0, inside_radius_mm=2.5)
        )

    assert [near(7.4), near(7.5), near(-3.0)] == [True, False, True]


def test_a_relief_has_to_be_a_thickness_wide_and_deeper_than_radius_and_thickness() -> None:
    def codes(width_mm: float, depth_mm: float) -> list[str]:
        found = check_relief(
            width_mm=width_mm, depth_mm=depth_mm, thickness_mm=2.0, inside_radius_mm=2.5
        )
        return [finding.code for finding in found]

    assert codes(2.0, 4.6) == []
    assert codes(1.9, 4.5) == ["relief_not_wide_enough", "relief_not_deep_enough"]


def test_half_a_degree_is_tighter_than_an_ordinary_brake_holds() -> None:
    assert [f.code for f in check_angle_tolerance(tolerance_deg=0.5)] == ["angle_tolerance_tight"]
    assert check_angle_tolerance(tolerance_deg=1.0) == ()


def test_a_light_curtain_reaches_zero_penetration_for_a_finger() -> None:
    assert depth_penetration(object_sensitivity_mm=5.0) == 0.0
    with pytest.raises(ShopError):
        depth_penetration(object_sensitivity_mm=70.0)


def test_the_european_distance_changes_speed_beyond_half_a_metre() -> None:
    assert iso13855_distance(stopping_time_s=0.01, detection_mm=14.0) == 100.0
    assert iso13855_distance(stopping_time_s=0.25, detection_mm=14.0) == 500.0
    assert iso13855_distance(stopping_time_s=0.26, detection_mm=14.0) == 500.0
    assert iso13855_distance(stopping_time_s=0.40, detection_mm=14.0) == pytest.approx(640.0)


def test_no_caution_ever_advises_to_take_a_guard_away() -> None:
    (finding,) = check_hand_distance(hand_distance_mm=20.0)
    words = f"{finding.what} {finding.frees}".lower()
    for never in ("remove", "bypass", "defeat", "disable", "mute"):
        assert never not in words
    assert "manual" in words
