"""Cross-sections drawn from numbers, against plane geometry worked another way (shapely, by hand)."""

import math
from itertools import pairwise

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, Polygon

from server.errors import ShopError
from server.geometry.outline import signed_area
from server.geometry.tool_outline import (
    checked_bed_outline,
    checked_die_outline,
    checked_holder_outline,
    checked_punch_outline,
    die_mouth,
    goose_neck_punch_outline,
    outline_height,
    straight_punch_outline,
    v_die_outline,
)


def test_a_sharp_square_die_is_drawn_by_hand() -> None:
    """V 20 at 90 degrees is 10 deep: (V/2) / tan 45."""
    assert v_die_outline(
        v_opening_mm=20, angle_deg=90, shoulder_radius_mm=0, height_mm=60, block_width_mm=40
    ) == ((20, 0), (10, 0), (0, -10), (-10, 0), (-20, 0), (-20, -60), (20, -60))


def test_a_dies_shoulder_is_the_arc_the_bending_formula_uses() -> None:
    """x_s = V/2 + Rs tan(w/2) of `mechanics.ram_depth`; every arc point is Rs from its centre."""
    outline = v_die_outline(
        v_opening_mm=16, angle_deg=86, shoulder_radius_mm=1.5, height_mm=60, block_width_mm=40
    )
    centre_x = 8 + 1.5 * math.tan(math.radians(90 - 43) / 2)
    assert die_mouth(outline) == pytest.approx((-centre_x, centre_x), abs=1e-3)
    arc = [p for p in outline if 0 < p[0] < centre_x + 1e-3 and p[1] > -1.5]
    assert len(arc) >= 4
    for point in arc:
        assert math.dist(point, (centre_x, -1.5)) == pytest.approx(1.5, abs=2e-4)


@given(
    v=st.floats(4, 80),
    angle=st.floats(28, 120),
    radius=st.floats(0.2, 4),
    flat=st.booleans(),
)
def test_the_walls_of_any_die_meet_the_top_plane_at_the_v_opening(
    v: float, angle: float, radius: float, flat: bool
) -> None:
    """Shapely produces each wall up to y = 0: the two hits are V apart."""
    deep = v / 2 / math.tan(math.radians(angle / 2))
    assume(radius * (1 - math.cos(math.radians(90 - angle / 2))) < deep * 0.4)
    outline = v_die_outline(
        v_opening_mm=v,
        angle_deg=angle,
        shoulder_radius_mm=radius,
        height_mm=deep + 40,
        block_width_mm=v + 12 * radius + 10,
        v_depth_mm=deep * 0.8 if flat else None,
    )
    assert Polygon(outline).is_valid
    assert signed_area(outline) > 0
    assert checked_die_outline(outline)
    walls = [
        (a, b)
        for a, b in pairwise(outline)
        if a[0] > 0 >= b[0] or (flat and a[0] > 0 and b[0] > 0 and b[1] < -0.5 * deep < a[1])
    ]
    (x1, y1), (x2, y2) = max(walls, key=lambda wall: wall[0][1])
    at_top = x1 + (x1 - x2) / (y1 - y2) * (0 - y1)
    assert at_top == pytest.approx(v / 2, abs=2e-3)


@given(radius=st.floats(0, 8), angle=st.floats(28, 120), width=st.floats(18, 40))
@example(radius=0.0078125, angle=28.0, width=18.0)
def test_a_straight_punch_has_its_nose_circle_inside_and_its_flanks_at_its_angle(
    radius: float, angle: float, width: float
) -> None:
    assume(radius * math.cos(math.radians(angle / 2)) < width / 2 - 0.5)
    outline = straight_punch_outline(
        tip_radius_mm=radius, angle_deg=angle, height_mm=200, body_width_mm=width
    )
    body = Polygon(outline)
    assert body.is_valid
    assert body.bounds == pytest.approx((-width / 2, 0, width / 2, 200), abs=1e-3)
    assert checked_punch_outline(outline)
    nose = Point(0, radius).buffer(radius, quad_segs=64)
    # the chords of the drawn arc cut the circle by under 1 %, and points are kept to 0.0001 mm
    outside = nose.difference(body.buffer(radius * 0.01 + 1e-4))
    assert outside.is_empty
    corner = next(i for i, (x, _) in enumerate(outline) if x >= width / 2 - 1e-3)
    (x1, y1), (x2, y2) = outline[corner - 1], outline[corner]
    assert math.degrees(math.atan2(x2 - x1, y2 - y1)) == pytest.approx(angle / 2, abs=0.05)


def test_a_goose_neck_leaves_the_room_it_was_asked_for() -> None:
    outline = goose_neck_punch_outline(
        tip_radius_mm=1,
        angle_deg=84,
        height_mm=140,
        relief_mm=9,
        neck_mm=25,
        nose_width_mm=12,
        top_width_mm=32,
    )
    body = Polygon(outline)
    assert body.is_valid
    level = LineString([(-100, 70), (100, 70)]).intersection(body)
    assert level.bounds[0] == pytest.approx(9, abs=1e-6)
    assert level.length == pytest.approx(25, abs=1e-6)
    top = LineString([(-100, 135), (100, 135)]).intersection(body)
    assert top.bounds[::2] == pytest.approx((-16, 16))
    assert checked_punch_outline(outline)


@pytest.mark.parametrize(
    ("numbers", "where"),
    [
        ({"body_width_mm": 300.0}, "body_width_mm"),
        ({"body_width_mm": 0.5}, "body_width_mm"),
        ({"angle_deg": 5.0}, "angle_deg"),
        ({"angle_deg": math.nan}, "angle_deg"),
        ({"height_mm": 0.0}, "height_mm"),
        ({"tip_radius_mm": -1.0}, "tip_radius_mm"),
        ({"tip_radius_mm": math.inf}, "tip_radius_mm"),
    ],
)
def test_a_punch_that_cannot_be_names_the_number(numbers: dict[str, float], where: str) -> None:
    good = {"tip_radius_mm": 1.0, "angle_deg": 86.0, "height_mm": 100.0, "body_width_mm": 26.0}
    with pytest.raises(ShopError) as told:
        straight_punch_outline(**{**good, **numbers})
    assert told.value.where == where
    assert str(told.value.remedy)


@pytest.mark.parametrize(
    ("numbers", "where"),
    [
        ({"block_width_mm": 17.0}, "block_width_mm"),
        ({"height_mm": 5.0}, "height_mm"),
        ({"shoulder_radius_mm": 60.0, "block_width_mm": 400.0}, "shoulder_radius_mm"),
        ({"v_opening_mm": 0.0}, "v_opening_mm"),
        ({"angle_deg": 175.0}, "angle_deg"),
    ],
)
def test_a_die_that_cannot_be_names_the_number(numbers: dict[str, float], where: str) -> None:
    good = {
        "v_opening_mm": 16.0,
        "angle_deg": 86.0,
        "shoulder_radius_mm": 1.5,
        "height_mm": 60.0,
        "block_width_mm": 40.0,
    }
    with pytest.raises(ShopError) as told:
        v_die_outline(**{**good, **numbers})
    assert told.value.where == where


@pytest.mark.parametrize(
    ("numbers", "where"),
    [
        ({"relief_mm": 60.0}, "relief_mm"),
        ({"nose_width_mm": 1.0}, "nose_width_mm"),
        ({"neck_mm": 0.0}, "neck_mm"),
        ({"top_width_mm": 0.0}, "top_width_mm"),
    ],
)
def test_a_goose_neck_that_cannot_be_names_the_number(
    numbers: dict[str, float], where: str
) -> None:
    good = {
        "tip_radius_mm": 1.0,
        "angle_deg": 84.0,
        "height_mm": 140.0,
        "relief_mm": 9.0,
        "neck_mm": 25.0,
        "nose_width_mm": 12.0,
        "top_width_mm": 32.0,
    }
    with pytest.raises(ShopError) as told:
        goose_neck_punch_outline(**{**good, **numbers})
    assert told.value.where == where


def test_each_kind_of_tool_has_its_own_zero() -> None:
    block = ((-10.0, 0.0), (10.0, 0.0), (10.0, 40.0), (-10.0, 40.0))
    lifted = tuple((x, y + 3) for x, y in block)
    assert checked_holder_outline(block)
    assert checked_bed_outline(tuple((x, y - 40) for x, y in block))
    for check, points, code in (
        (checked_holder_outline, lifted, "foot_not_at_zero"),
        (checked_bed_outline, lifted, "top_not_at_zero"),
        (checked_punch_outline, block, "tip_not_at_origin"),
        (checked_die_outline, lifted, "top_not_at_zero"),
        (checked_die_outline, tuple((x, y - 40) for x, y in block), "no_v_at_centre"),
        (checked_punch_outline, ((0, 0), (5, 5), (0, 5), (5, 1)), "outline_crosses_itself"),
        (checked_punch_outline, ((0, 0), (5, 5)), "too_few_points"),
        (checked_punch_outline, ((0, 0), (5, 5), (10, 10)), "outline_crosses_itself"),
        (checked_punch_outline, ((0, 0), (math.nan, 5), (1, 10)), "point_too_far"),
    ):
        with pytest.raises(ShopError) as told:
            check(points)
        assert told.value.code in (code, "zero_width"), points


def test_the_mouth_ends_at_the_flat_and_not_on_the_arc() -> None:
    """A fine arc starts almost level: its first points are not part of the top plane."""
    outline = v_die_outline(
        v_opening_mm=6, angle_deg=86, shoulder_radius_mm=0.6, height_mm=60, block_width_mm=28
    )
    assert die_mouth(outline)[1] == pytest.approx(3.2609, abs=1e-4)


def test_the_mouth_is_found_whichever_way_the_outline_runs() -> None:
    outline = v_die_outline(
        v_opening_mm=20, angle_deg=90, shoulder_radius_mm=0, height_mm=60, block_width_mm=40
    )
    assert die_mouth(outline) == (-10, 10)
    assert die_mouth(tuple(reversed(outline))) == (-10, 10)
    assert outline_height(outline) == 60
