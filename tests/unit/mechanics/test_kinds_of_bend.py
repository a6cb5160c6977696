"""Bottoming, hems, offsets, bumps and tall boxes: flange, force, deduction, tools, and findings."""

import math
from dataclasses import replace

import pytest

from server.errors import ShopError
from server.mechanics.air_bend import air_bend
from server.mechanics.bend_force import governing_line_load
from server.mechanics.bottoming import bottomed_bend
from server.mechanics.box_height import check_box_height, tallest_box_side
from server.mechanics.bump_bend import bump_bend, bump_lines, facet_error
from server.mechanics.flat_length import FlatBend, flat_length
from server.mechanics.formed_bend import FormedBend
from server.mechanics.hem import hem, hem_deduction
from server.mechanics.offset_bend import offset_bend, offset_web
from server.mechanics.ram_depth import ram_depth, shoulder_centre
from server.mechanics.tooling import Die, Punch
from tests.unit.mechanics.shop import (
    ACUTE_DIE,
    ACUTE_PUNCH,
    BRAKE,
    STEEL,
    cautions,
    stops,
)

SQUARE_DIE = Die("V16-90", 16.0, 90.0, 1.5, rating_kn_per_m=2000.0)
SQUARE_PUNCH = Punch("P88", 2.0, 88.0, rating_kn_per_m=2000.0)


def bottomed(**changes: object) -> FormedBend:
    wanted = {
        "thickness_mm": 2.0,
        "bend_length_mm": 500.0,
        "bend_angle_deg": 90.0,
        "material": STEEL,
        "die": SQUARE_DIE,
        "punch": SQUARE_PUNCH,
        **changes,
    }
    return bottomed_bend(**wanted)  # type: ignore[arg-type]


def hemmed(**changes: object) -> FormedBend:
    wanted = {
        "thickness_mm": 1.5,
        "bend_length_mm": 500.0,
        "material": STEEL,
        "die": ACUTE_DIE,
        "punch": ACUTE_PUNCH,
        **changes,
    }
    return hem(**wanted)  # type: ignore[arg-type]


def joggled(**changes: object) -> FormedBend:
    wanted = {
        "thickness_mm": 1.5,
        "bend_length_mm": 500.0,
        "outside_offset_mm": 7.5,
        "bend_angle_deg": 60.0,
        "inside_radius_mm": 1.5,
        "material": STEEL,
        "k_factor": 0.42,
        **changes,
    }
    return offset_bend(**wanted)  # type: ignore[arg-type]


def bumped(**changes: object) -> FormedBend:
    wanted = {
        "thickness_mm": 3.0,
        "bend_length_mm": 500.0,
        "bend_angle_deg": 90.0,
        "inside_radius_mm": 100.0,
        "material": STEEL,
        "die": Die("V25", 25.0, 85.0, 2.0, rating_kn_per_m=1000.0),
        "punch": Punch("R5", 5.0, 85.0, rating_kn_per_m=1000.0),
        **changes,
    }
    return bump_bend(**wanted)  # type: ignore[arg-type]


def single(thickness_mm: float, v_mm: float) -> float:
    return governing_line_load(
        tensile_strength_mpa=STEEL.tensile_strength_mpa,
        thickness_mm=thickness_mm,
        v_opening_mm=v_mm,
    )


class TestBottoming:
    def test_takes_the_dies_angle_and_the_punchs_radius(self) -> None:
        made = bottomed()
        assert made.inside_radius_mm == 2.0
        assert made.hits[0].loaded_bend_angle_deg == pytest.approx(90.0)
        assert stops(made.findings) == set()

    def test_ends_where_the_sheet_lies_against_both_walls(self) -> None:
        """Tip above the die top = -h + (r + t)/sin(g/2) - r, with h the depth of the sharp V."""
        included = math.radians(90.0)
        apex_mm = 8.0 / math.tan(included / 2)
        tip_mm = -apex_mm + (2.0 + 2.0) / math.sin(included / 2) - 2.0
        assert bottomed().hits[0].depth_mm == pytest.approx(2.0 - tip_mm, abs=1e-9)
        centre = shoulder_centre(v_opening_mm=16.0, die_angle_deg=90.0, shoulder_radius_mm=1.5)
        by_air = ram_depth(
            loaded_bend_angle_deg=90.0, shoulder_centre_mm=centre, roll_radius_mm=1.5 + 4.0
        )
        assert bottomed().hits[0].depth_mm == pytest.approx(by_air)

    @pytest.mark.parametrize(("way", "ratio"), [("bottoming", 4.0), ("coining", 9.0)])
    def test_takes_a_multiple_of_the_air_bends_force_and_says_so(
        self, way: str, ratio: float
    ) -> None:
        made = bottomed(way=way)
        assert made.line_load_kn_per_m == pytest.approx(ratio * single(2.0, 16.0))
        assert made.force_kn == pytest.approx(made.line_load_kn_per_m / 2)
        assert "force_multiple" in cautions(made.findings)

    def test_is_stopped_when_the_tools_cannot_give_the_angle(self) -> None:
        for die_deg, stopped in ((88.0, False), (87.9, True), (90.1, True)):
            made = bottomed(
                die=replace(SQUARE_DIE, angle_deg=die_deg),
                punch=replace(SQUARE_PUNCH, angle_deg=80.0),
            )
            assert ("die_fixes_angle" in stops(made.findings)) is stopped
        wide = bottomed(punch=replace(SQUARE_PUNCH, angle_deg=91.0))
        assert "punch_wider_than_die" in stops(wide.findings)

    def test_is_stopped_by_ratings_an_air_bend_would_pass(self) -> None:
        load = single(2.0, 16.0)
        die = replace(SQUARE_DIE, rating_kn_per_m=2 * load)
        made = bottomed(die=die, brake=replace(BRAKE, max_force_kn=load))
        assert {"line_load_over_die", "force_over_brake"} <= stops(made.findings)

    def test_deduction_is_the_flat_bends_at_the_punch_radius(self) -> None:
        flat = flat_length(
            thickness_mm=2.0,
            legs_mm=[50.0, 50.0],
            bends=[FlatBend(90.0, 2.0, k_factor=0.4)],
        )
        assert bottomed(k_factor=0.4).bend_deduction_mm == pytest.approx(
            flat.bends[0].bend_deduction_mm
        )


class TestHem:
    def test_is_an_acute_hit_and_then_flattened(self) -> None:
        acute, flatten = hemmed().hits
        assert acute.loaded_bend_angle_deg == pytest.approx(150.0)
        assert acute.bend_angle_deg < acute.loaded_bend_angle_deg
        assert (flatten.what, flatten.bend_angle_deg, flatten.depth_mm) == ("flatten", 180.0, None)
        assert flatten.line_load_kn_per_m == pytest.approx(5 * acute.line_load_kn_per_m)

    def test_always_cautions_of_side_thrust(self) -> None:
        assert "side_thrust" in cautions(hemmed().findings)

    def test_deduction_is_0_43_t_closed_and_shrinks_with_a_gap(self) -> None:
        assert hemmed().bend_deduction_mm == pytest.approx((2 - math.pi / 2) * 1.5)
        opened = [hem_deduction(thickness_mm=1.5, gap_mm=gap) for gap in (0.0, 0.5, 1.0, 3.0)]
        assert opened == sorted(opened, reverse=True)

    def test_needs_acute_tools(self) -> None:
        blunt = hemmed(
            die=replace(ACUTE_DIE, angle_deg=60.0), punch=replace(ACUTE_PUNCH, angle_deg=60.0)
        )
        assert "not_acute_enough" in stops(blunt.findings)
        assert "not_acute_enough" not in stops(hemmed().findings)

    def test_flange_has_to_reach_the_shoulder_in_the_acute_hit(self) -> None:
        least = hemmed().minimum_flange_mm * 1.1
        assert "flange_too_short" in stops(hemmed(flange_mm=least - 0.01).findings)
        assert "flange_too_short" not in stops(hemmed(flange_mm=least + 0.01).findings)
        by_apex = air_bend(
            thickness_mm=1.5,
            bend_length_mm=500.0,
            bend_angle_deg=hemmed().hits[0].bend_angle_deg,
            material=STEEL,
            die=ACUTE_DIE,
            punch=ACUTE_PUNCH,
        ).minimum_flange_mm
        assert by_apex / 12.0 == pytest.approx(1.93, abs=0.1)
        assert hemmed().minimum_flange_mm < by_apex

    def test_flattening_is_checked_against_the_brake(self) -> None:
        load = hemmed().hits[1].line_load_kn_per_m
        weak = replace(BRAKE, max_force_kn=load * 0.5 * 0.99, max_line_load_kn_per_m=1e4)
        strong = replace(BRAKE, max_force_kn=load * 0.5 * 1.01, max_line_load_kn_per_m=1e4)
        assert "force_over_brake" in stops(hemmed(brake=weak).findings)
        assert "force_over_brake" not in stops(hemmed(brake=strong).findings)

    def test_a_metal_that_springs_back_flat_is_refused(self) -> None:
        rubber = replace(STEEL, youngs_modulus_mpa=200.0)
        with pytest.raises(ShopError) as caught:
            hemmed(material=rubber)
        assert caught.value.code == "too_springy"


class TestOffset:
    def test_web_and_arcs_span_the_step(self) -> None:
        web = offset_web(step_mm=6.0, bend_angle_deg=60.0, inside_radius_mm=1.5, thickness_mm=1.5)
        rise = (2 * 1.5 + 1.5) * (1 - math.cos(math.radians(60))) + web * math.sin(math.radians(60))
        assert rise == pytest.approx(6.0)

    def test_flat_agrees_with_two_ordinary_bends_the_opposite_way(self) -> None:
        """The Z with 90 degree bends: legs a, h, b outside, flat by the ordinary deductions."""
        made = joggled(bend_angle_deg=90.0, outside_offset_mm=9.5)
        a, b = 40.0, 30.0
        z_part = flat_length(
            thickness_mm=1.5,
            legs_mm=[a, 9.5, b],
            bends=[FlatBend(90.0, 1.5, k_factor=0.42), FlatBend(-90.0, 1.5, k_factor=0.42)],
        )
        straight = (a - 3.0) + (b - 3.0)
        run = (2 * 1.5 + 1.5) * 1.0
        assert straight + run - made.bend_deduction_mm == pytest.approx(z_part.flat_length_mm)

    @pytest.mark.parametrize(("way", "ratio"), [("air", 2.5), ("bottomed", 10.0)])
    def test_takes_a_multiple_of_one_air_bends_force(self, way: str, ratio: float) -> None:
        made = joggled(way=way, v_opening_mm=10.0)
        assert made.line_load_kn_per_m == pytest.approx(ratio * single(1.5, 10.0))

    def test_tools_of_another_step_or_strength_are_stopped(self) -> None:
        right = joggled(tool_depth_mm=6.0, tool_rating_kn_per_m=1e4)
        assert stops(right.findings) == set()
        assert "offset_tool_depth" in stops(
            joggled(tool_depth_mm=5.8, tool_rating_kn_per_m=1e4).findings
        )
        assert "no_rating" in stops(joggled(tool_depth_mm=6.0).findings)
        assert "line_load_over_tools" in stops(
            joggled(tool_depth_mm=6.0, tool_rating_kn_per_m=1.0).findings
        )

    def test_a_step_with_no_room_for_two_arcs_is_refused(self) -> None:
        with pytest.raises(ShopError) as caught:
            joggled(bend_angle_deg=90.0, outside_offset_mm=4.0, inside_radius_mm=3.0)
        assert caught.value.code == "offset_too_small"
        with pytest.raises(ShopError):
            joggled(outside_offset_mm=1.5)

    def test_the_brake_is_checked(self) -> None:
        weak = replace(BRAKE, max_force_kn=1.0)
        assert "force_over_brake" in stops(joggled(brake=weak).findings)


class TestBump:
    @pytest.mark.parametrize(("step", "hits"), [(2.0, 45), (6.0, 15), (7.0, 13)])
    def test_takes_equal_hits_that_add_up(self, step: float, hits: int) -> None:
        made = bumped(step_deg=step)
        assert len(made.hits) == hits
        assert sum(hit.bend_angle_deg for hit in made.hits) == pytest.approx(90.0)

    def test_uses_the_sheet_of_the_whole_radius(self) -> None:
        whole = flat_length(
            thickness_mm=3.0,
            legs_mm=[200.0, 200.0],
            bends=[FlatBend(90.0, 100.0, k_factor=0.5)],
        ).bends[0]
        assert bumped().bend_allowance_mm == pytest.approx(whole.bend_allowance_mm)
        assert bumped().bend_deduction_mm == pytest.approx(whole.bend_deduction_mm)

    def test_each_hit_is_an_air_bend_of_the_step_with_its_springback(self) -> None:
        hit = bumped().hits[0]
        alone = air_bend(
            thickness_mm=3.0,
            bend_length_mm=500.0,
            bend_angle_deg=2.0,
            material=STEEL,
            die=Die("V25", 25.0, 85.0, 2.0),
            punch=Punch("R5", 5.0, 85.0),
        )
        assert hit.depth_mm == alone.depth_mm
        assert hit.loaded_bend_angle_deg > 2.0

    def test_lines_stand_in_the_middle_of_their_shares(self) -> None:
        lines = bump_lines(hit_count=45, pitch_mm=3.5, start_mm=60.0)
        assert lines[0] == pytest.approx(61.75)
        assert lines[-1] == pytest.approx(60.0 + 45 * 3.5 - 1.75)

    def test_coarse_steps_show_facets_and_fine_ones_do_not(self) -> None:
        assert "facets_show" in {finding.code for finding in bumped(step_deg=6.0).findings}
        assert "facets_show" not in {finding.code for finding in bumped().findings}
        assert facet_error(step_deg=6.0, inside_radius_mm=100.0) == pytest.approx(
            9 * facet_error(step_deg=2.0, inside_radius_mm=100.0), rel=1e-3
        )

    def test_is_refused_where_one_bend_already_has_the_radius(self) -> None:
        assert "bump_not_needed" in stops(bumped(inside_radius_mm=4.9).findings)
        assert "bump_not_needed" not in stops(bumped(inside_radius_mm=5.1).findings)

    def test_close_hits_caution_that_the_sheet_lies_on_earlier_ones(self) -> None:
        assert "rests_on_earlier_hits" in cautions(bumped().findings)
        assert "rests_on_earlier_hits" not in cautions(bumped(step_deg=10.0).findings)

    def test_a_short_flange_beside_the_curve_is_stopped(self) -> None:
        assert "flange_too_short" in stops(bumped(flange_mm=5.0).findings)


class TestBox:
    def test_the_sides_swing_up_to_the_diagonal(self) -> None:
        assert check_box_height(side_height_mm=100.0, clear_height_mm=141.5) == ()
        (finding,) = check_box_height(
            side_height_mm=100.0, clear_height_mm=141.5, holder_width_mm=40.0
        )
        assert finding.code == "box_too_tall"
        assert finding.amount is not None
        assert finding.amount.value == pytest.approx(math.sqrt(2) * 100 + 20 - 141.5)

    def test_no_box_goes_under_a_holder_wider_than_the_room(self) -> None:
        assert tallest_box_side(clear_height_mm=10.0, holder_width_mm=40.0) == 0.0
