"""Profiles: flat positions, folded sections, and where they lie in the machine."""

import math

import pytest
from shapely.geometry import Point, Polygon

from server.errors import ShopError
from server.geometry.folding import RolledBend, folded_poses, lifted, moved
from server.geometry.part import flat_area
from server.geometry.profile import (
    Profile,
    ProfileBend,
    SectionPlace,
    flat_part,
    section_outline,
)

T = 2.0
BEND = ProfileBend(90.0, 2.0, 4.4)
CHANNEL = Profile(T, 100.0, (26.0, 42.0, 26.0), (BEND, BEND))
"""Outside 30 x 50 x 30 with setbacks of 4."""


def test_bend_lines_and_flat_length_follow_from_straights_and_allowances() -> None:
    assert CHANNEL.bend_lines_mm == pytest.approx((28.2, 74.6))
    assert CHANNEL.flat_length_mm == pytest.approx(102.8)
    assert flat_area(flat_part(CHANNEL)) == pytest.approx(102.8 * 100.0)


def test_a_folded_channel_has_its_outside_sizes() -> None:
    drawn = section_outline(CHANNEL)
    heading = drawn.legs[1].heading_deg
    assert heading == pytest.approx(90.0)
    xs, ys = zip(*drawn.outline_mm, strict=True)
    assert max(xs) - min(xs) == pytest.approx(30.0)
    assert max(ys) - min(ys) == pytest.approx(50.0)
    assert drawn.bends[0].outside_corner_mm == pytest.approx((30.0, 0.0))


def test_the_outline_encloses_straights_and_quarter_rings() -> None:
    """Area by formula: straights x t + pi/4 ((r + t)^2 - r^2) for each bend."""
    ring = math.pi / 4 * ((2.0 + T) ** 2 - 2.0**2)
    polygon = Polygon(section_outline(CHANNEL).outline_mm)
    assert polygon.is_valid
    assert polygon.area == pytest.approx(94.0 * T + 2 * ring, rel=2e-3)


def test_a_flat_section_is_a_plain_strip() -> None:
    drawn = section_outline(CHANNEL, angles_deg={})
    assert Polygon(drawn.outline_mm).area == pytest.approx(102.8 * T)
    assert drawn.bends[0].outside_corner_mm is None


def test_the_section_agrees_with_the_three_dimensional_folding() -> None:
    angles = {0: 70.0, 1: -35.0}
    profile = Profile(
        T, 100.0, (26.0, 42.0, 26.0), (ProfileBend(70.0, 2.0, 3.6), ProfileBend(-35.0, 1.0, 1.5))
    )
    part = flat_part(profile)
    poses = folded_poses(part, angles)
    drawn = section_outline(profile)
    end = profile.flat_length_mm
    for w_mm in (0.0, T):
        corner = moved(poses[2], lifted([(end, 0.0)], w_mm))[0]
        nearest = min(math.dist((corner[0], corner[2]), point) for point in drawn.outline_mm)
        assert nearest < 1e-9


@pytest.mark.parametrize("side", ["A", "B"])
@pytest.mark.parametrize("rear", ["first", "second"])
def test_before_the_stroke_the_sheet_lies_flat_on_the_die(side: str, rear: str) -> None:
    place = SectionPlace(1, side, rear, T)  # type: ignore[arg-type]
    drawn = section_outline(CHANNEL, angles_deg={0: 90.0}, place=place)
    xs, ys = zip(*drawn.outline_mm, strict=True)
    free_end_mm = CHANNEL.flat_length_mm - CHANNEL.bend_lines_mm[1]
    flange_mm = CHANNEL.bend_lines_mm[1] - CHANNEL.bend_lines_mm[0] - 2.2 + 4.0
    assert (max(xs) if rear == "second" else -min(xs)) == pytest.approx(free_end_mm)
    assert (-min(xs) if rear == "second" else max(xs)) == pytest.approx(flange_mm)
    if side == "A":
        assert (min(ys), max(ys)) == pytest.approx((0.0, 30.0))
    else:
        assert (min(ys), max(ys)) == pytest.approx((T - 30.0, T))


def test_under_load_both_halves_rise_alike_and_the_inside_touches_the_tip() -> None:
    loaded_deg, radius_mm, tip_y_mm = 92.0, 2.4, -4.0
    roll = RolledBend(loaded_deg, radius_mm, -2.3, 4.6, T + radius_mm)
    one = Profile(T, 50.0, (40.0, 40.0), (BEND,))
    place = SectionPlace(0, "A", "second", tip_y_mm)
    drawn = section_outline(one, rolls={0: roll}, place=place)
    headings = [leg.heading_deg for leg in drawn.legs]
    assert headings == pytest.approx([-46.0, 46.0])
    assert Polygon(drawn.outline_mm).distance(Point(0.0, tip_y_mm)) < 0.03
    xs = [x for x, _ in drawn.outline_mm]
    assert max(xs) == pytest.approx(-min(xs))


def test_a_profile_with_a_leg_too_many_is_refused() -> None:
    with pytest.raises(ShopError) as caught:
        Profile(T, 100.0, (26.0, 42.0), (BEND, BEND))
    assert caught.value.code == "wrong_count"
