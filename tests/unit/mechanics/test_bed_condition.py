"""Three strips: tilt, crown or only Y; and the thicknesses a Y is good for."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.errors import ShopError
from server.mechanics.air_bend import Bending, angles_for_depth, bending, depth_for_angle
from server.mechanics.bed_condition import BedCondition, bed_condition
from server.mechanics.control_reading import TouchOffOn
from server.mechanics.material import Material
from server.mechanics.thickness_range import thickness_range
from server.mechanics.tooling import Die, Punch

SLOPE = 0.13


def bed(left: float, centre: float, right: float) -> BedCondition:
    return bed_condition(
        left_deg=left,
        centre_deg=centre,
        right_deg=right,
        wanted_deg=90.0,
        depth_mm_per_deg=SLOPE,
    )


def codes(condition: BedCondition) -> list[str]:
    return [one.code for one in condition.findings]


@pytest.mark.parametrize(
    ("strips", "found"),
    [
        ((90.0, 90.0, 90.0), []),
        ((89.8, 90.1, 90.2), []),
        ((88.5, 90.0, 91.5), ["bed_tilt"]),
        ((91.5, 90.0, 88.5), ["bed_tilt"]),
        ((90.6, 88.8, 90.6), ["bed_crown"]),
        ((89.4, 91.2, 89.4), ["bed_crown"]),
        ((88.0, 88.0, 88.0), ["all_open"]),
        ((92.0, 92.0, 92.0), ["all_closed"]),
        ((86.0, 86.0, 90.0), ["bed_tilt", "bed_crown", "all_open"]),
    ],
)
def test_strips_left_centre_right_tell_tilt_crown_and_depth_apart(
    strips: tuple[float, float, float], found: list[str]
) -> None:
    assert codes(bed(*strips)) == found


def test_the_shim_is_the_angle_error_times_the_sensitivity() -> None:
    crown = bed(90.7, 88.6, 90.7)
    assert crown.crown_shim_mm == pytest.approx(2.1 * SLOPE)
    tilt = bed(88.5, 90.0, 91.5)
    assert tilt.tilt_shim_mm == pytest.approx(3.0 * SLOPE)
    assert "left" in str(tilt.findings[0].what)
    assert "left" in str(tilt.findings[0].frees)
    assert bed(88.0, 88.0, 88.0).y_deeper_mm == pytest.approx(2.0 * SLOPE)


@given(st.floats(80.0, 95.0), st.floats(80.0, 95.0), st.floats(80.0, 95.0))
def test_the_three_parts_put_together_are_the_three_strips_again(
    left: float, centre: float, right: float
) -> None:
    told = bed(left, centre, right)
    mean = 90.0 - told.all_open_deg
    assert mean + told.crown_deg / 3 - told.tilt_deg / 2 == pytest.approx(left)
    assert mean - 2 * told.crown_deg / 3 == pytest.approx(centre)
    assert mean + told.crown_deg / 3 + told.tilt_deg / 2 == pytest.approx(right)


def test_nobody_is_sent_between_the_tools_without_locking_out() -> None:
    for finding in bed(86.0, 86.0, 90.0).findings[:2]:
        assert "lock out" in str(finding.frees)
        assert "manual" in str(finding.frees)
        assert "1910.147" in finding.source


def test_a_strip_that_is_no_angle_is_refused() -> None:
    with pytest.raises(ShopError) as trouble:
        bed(90.0, 190.0, 90.0)
    assert trouble.value.where == "centre_deg"


def sheet_of(thickness_mm: float) -> Bending:
    return bending(
        thickness_mm=thickness_mm,
        material=Material(
            youngs_modulus_mpa=210_000.0, yield_strength_mpa=290.0, tensile_strength_mpa=420.0
        ),
        die=Die("V16", 16.0, 84.0, 1.5),
        punch=Punch("P", 1.0, 84.0),
    )


@pytest.mark.parametrize("on", ["sheet", "die"])
def test_at_the_ends_of_the_range_the_bend_is_just_at_its_tolerance(on: TouchOffOn) -> None:
    sheet = sheet_of(2.0)
    depth_mm = depth_for_angle(sheet, 90.0)
    ends = thickness_range(sheet=sheet, depth_mm=depth_mm, tolerance_deg=1.0, touch_off_on=on)
    for thickness_mm, off_deg in zip(ends, (-1.0, 1.0), strict=True):
        more_mm = thickness_mm - 2.0 if on == "die" else 0.0
        angle_deg = angles_for_depth(sheet_of(thickness_mm), depth_mm + more_mm)[1]
        assert angle_deg - 90.0 == pytest.approx(off_deg, abs=0.01)


def test_touching_off_on_each_sheet_makes_a_y_good_for_more_sheets() -> None:
    sheet = sheet_of(2.0)
    depth_mm = depth_for_angle(sheet, 90.0)
    widths = [
        most - least
        for least, most in (
            thickness_range(sheet=sheet, depth_mm=depth_mm, tolerance_deg=1.0, touch_off_on=on)
            for on in ("sheet", "die")
        )
    ]
    assert widths[0] > 2 * widths[1]


def test_a_bend_expected_off_has_less_room_on_one_side_and_none_when_it_is_out() -> None:
    sheet = sheet_of(2.0)
    depth_mm = depth_for_angle(sheet, 90.0)

    def ends(off_deg: float) -> tuple[float, float]:
        return thickness_range(
            sheet=sheet,
            depth_mm=depth_mm,
            tolerance_deg=1.0,
            touch_off_on="die",
            angle_off_deg=off_deg,
        )

    assert ends(0.5)[1] < ends(0.0)[1]
    assert ends(0.5)[0] < ends(0.0)[0]
    assert ends(1.5) == (2.0, 2.0)
