"""What blocks a bend, each just beyond its limit and not just inside it, and what frees it."""

from dataclasses import replace

import pytest

from server.findings import Finding, has_stop
from server.mechanics.bend_limits import check_bend
from server.mechanics.tooling import Axis, Brake, Die, Finger, Punch
from tests.unit.mechanics.shop import BRAKE, DIE, PUNCH, STEEL, case, cautions, rebent, stops


def found(findings: tuple[Finding, ...], code: str) -> Finding:
    return next(finding for finding in findings if finding.code == code)


def test_an_ordinary_bend_is_free() -> None:
    assert stops(check_bend(case())) == set()
    assert not has_stop(check_bend(case(flange_mm=30.0)))


def test_every_stop_names_the_bend_and_what_would_free_it() -> None:
    crowded = case(
        bend_angle_deg=120.0,
        index=3,
        flange_mm=5.0,
        bend_length_mm=3000.0,
        material=replace(STEEL, minimum_radius_ratio=3.0),
        die=replace(DIE, rating_kn_per_m=10.0, v_depth_mm=2.0),
        punch=replace(PUNCH, rating_kn_per_m=None),
        force_ratio=9.0,
        off_centre_mm=900.0,
    )
    findings = check_bend(crowded)
    assert stops(findings) == {
        "angle_tighter_than_die",
        "angle_tighter_than_punch",
        "die_bottom",
        "radius_below_minimum",
        "flange_too_short",
        "no_rating",
        "line_load_over_die",
        "bend_longer_than_bed",
        "force_over_brake",
        "line_load_over_bed",
        "off_centre",
    }
    for finding in findings:
        if finding.level == "stop":
            assert finding.bend == 3
            assert finding.frees is not None
            assert str(finding.frees)
            assert finding.source
        assert "{" not in str(finding.what)


def test_stops_come_before_cautions_and_notes() -> None:
    levels = [finding.level for finding in check_bend(case(flange_mm=1.0, off_centre_mm=500.0))]
    assert levels == sorted(levels, key=["stop", "caution", "note"].index)


def test_a_flange_is_measured_against_the_shoulder_with_the_shops_margin() -> None:
    least = case().bend.minimum_flange_mm * 1.1
    assert "flange_too_short" in stops(check_bend(case(flange_mm=least - 0.01)))
    assert "flange_too_short" not in stops(check_bend(case(flange_mm=least + 0.01)))
    assert "flange_too_short" not in stops(
        check_bend(case(flange_mm=least - 0.01, flange_margin=0.0))
    )


def test_the_v_offered_for_a_short_flange_is_narrow_enough() -> None:
    short = case(flange_mm=9.0)
    offered = found(check_bend(short), "flange_too_short")
    assert offered.frees is not None
    v_mm = offered.frees.amounts["v"].value  # type: ignore[union-attr]
    scaled = Die("narrow", v_mm, DIE.angle_deg, DIE.shoulder_radius_mm * v_mm / DIE.v_opening_mm)
    assert "flange_too_short" not in stops(check_bend(rebent(replace(short, die=scaled))))


@pytest.mark.parametrize(
    ("tool", "code"), [("die", "line_load_over_die"), ("punch", "line_load_over_punch")]
)
def test_a_tools_rating_is_checked_with_the_highest_force_rule(tool: str, code: str) -> None:
    load = case().line_load_kn_per_m
    assert load >= case().bend.force_kn_per_m

    def rated(rating: float) -> set[str]:
        if tool == "die":
            return stops(check_bend(case(die=replace(DIE, rating_kn_per_m=rating))))
        return stops(check_bend(case(punch=replace(PUNCH, rating_kn_per_m=rating))))

    assert code in rated(load * 0.999)
    assert code not in rated(load * 1.001)


def test_a_tool_without_a_rating_stops_a_job_but_not_a_bare_calculation() -> None:
    unrated = replace(DIE, rating_kn_per_m=None)
    assert "no_rating" in stops(check_bend(case(die=unrated)))
    assert "no_rating" not in stops(check_bend(case(die=unrated, brake=None)))


def test_the_strongest_sheet_of_the_standard_is_a_caution() -> None:
    load = case().line_load_kn_per_m
    near = case(die=replace(DIE, rating_kn_per_m=load * 1.1))
    assert "strong_sheet_could_exceed" in cautions(check_bend(near))
    weak = replace(STEEL, tensile_max_mpa=None)
    assert "strong_sheet_could_exceed" not in cautions(check_bend(replace(near, material=weak)))


def test_a_brake_is_checked_for_force_and_length() -> None:
    force = case().force_kn
    strong = replace(BRAKE, max_force_kn=force * 1.01, max_line_load_kn_per_m=1e4)
    weak = replace(BRAKE, max_force_kn=force * 0.99, max_line_load_kn_per_m=1e4)
    assert "force_over_brake" not in stops(check_bend(case(brake=strong)))
    assert "force_over_brake" in stops(check_bend(case(brake=weak)))
    long = case(bend_length_mm=2600.1)
    assert "bend_longer_than_bed" in stops(check_bend(long))


def test_a_concentrated_load_is_the_makers_figure_or_the_sixty_percent_rule() -> None:
    load = case().line_load_kn_per_m
    by_maker = replace(BRAKE, max_line_load_kn_per_m=load * 0.99)
    assert "line_load_over_bed" in stops(check_bend(case(brake=by_maker)))
    by_rule = Brake(
        "short", load * 0.6 * 1.3 * 0.99, 1300.0, 300.0, Axis(0, 1, 0.1), Axis(0, 1, 0.1), 1,
        Finger(0, 1, 1),
    )  # fmt: skip
    assert "line_load_over_bed" in stops(check_bend(case(brake=by_rule)))


def test_off_centre_is_a_caution_until_half_the_force() -> None:
    force = case().force_kn
    strong = replace(BRAKE, max_force_kn=2.1 * force)
    weak = replace(BRAKE, max_force_kn=1.9 * force)
    away = 0.1 * BRAKE.bed_length_mm
    assert "off_centre" in cautions(check_bend(case(brake=strong, off_centre_mm=away)))
    assert "off_centre" in stops(check_bend(case(brake=weak, off_centre_mm=-away)))
    near = check_bend(case(brake=weak, off_centre_mm=1.0))
    assert "off_centre" not in stops(near) | cautions(near)


def test_the_angle_is_checked_under_load_not_after_release() -> None:
    die = replace(DIE, angle_deg=90.0)
    squeezed = rebent(case(die=die))
    assert squeezed.bend.loaded_bend_angle_deg > 90.0
    assert "angle_tighter_than_die" in stops(check_bend(squeezed))


def test_flanks_that_rolled_up_are_told_apart_from_the_dies_angle() -> None:
    acute = Die("narrow", 8.0, 30.0, 1.0, rating_kn_per_m=1e4)
    sharp = Punch("sharp", 1.0, 30.0, rating_kn_per_m=1e4)
    rolled = rebent(case(thickness_mm=3.0, die=acute, punch=sharp), bend_angle_deg=140.0)
    assert rolled.bend.loaded_bend_angle_deg > rolled.bend.largest_loaded_angle_deg
    assert "flanks_rolled_up" in stops(check_bend(rolled))


def test_a_radius_below_the_materials_is_a_stop_and_below_dins_a_note() -> None:
    radius = case().bend.inside_radius_mm
    brittle = replace(STEEL, minimum_radius_ratio=radius / 2.0 * 1.01)
    tough = replace(STEEL, minimum_radius_ratio=radius / 2.0 * 0.99)
    assert "radius_below_minimum" in stops(check_bend(case(material=brittle)))
    assert "radius_below_minimum" not in stops(check_bend(case(material=tough)))
    notes = {finding.code: finding.level for finding in check_bend(case())}
    assert notes["radius_below_din"] == "note"


@pytest.mark.parametrize(
    ("v_mm", "warned"), [(11.9, True), (12.0, False), (24.0, False), (24.1, True)]
)
def test_a_v_outside_six_to_twelve_thicknesses_is_a_caution(v_mm: float, warned: bool) -> None:
    other = rebent(case(die=replace(DIE, v_opening_mm=v_mm)))
    assert ("v_outside_usual" in cautions(check_bend(other))) is warned


def test_a_sharp_punch_is_a_note() -> None:
    sharp = check_bend(case(punch=replace(PUNCH, tip_radius_mm=1.2)))
    blunt = check_bend(case(punch=replace(PUNCH, tip_radius_mm=1.3)))
    assert "punch_creases" in {finding.code for finding in sharp}
    assert "punch_creases" not in {finding.code for finding in blunt}
