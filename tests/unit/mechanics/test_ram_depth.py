"""The tangent construction behind the depth, against a general geometry library and itself.

shapely builds the die with its rounded shoulders and the bent sheet with its arcs and straight
flanks, and lowers the sheet until the two touch: nothing of our formula goes into it.
"""

import math
from typing import NamedTuple

import pytest
from shapely import LineString, MultiPoint, Polygon
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from server.errors import ShopError
from server.mechanics.ram_depth import (
    die_room,
    largest_loaded_angle,
    loaded_angle_from_depth,
    minimum_flange,
    ram_depth,
    ram_depth_per_degree,
    shoulder_centre,
    straight_flank,
)

FINE = 512


class Row(NamedTuple):
    v_opening_mm: float
    shoulder_radius_mm: float
    die_angle_deg: float
    thickness_mm: float
    loaded_inside_radius_mm: float
    loaded_bend_angle_deg: float
    depth_mm: float


CHECK_ROWS = [
    Row(16.0, 1.5, 86.0, 2.0, 2.5, 90.0, 6.166937188),
    Row(12.0, 1.0, 88.0, 1.5, 1.9, 45.0, 2.298578920),
    Row(50.0, 3.0, 80.0, 6.0, 8.0, 120.0, 28.724275857),
]
"""Derived twice, by closed form and by a numeric tangent construction; see the design notes."""

MORE_ROWS = [
    Row(8.0, 0.5, 30.0, 1.0, 1.3, 140.0, 0.0),
    Row(25.0, 2.0, 80.0, 3.0, 4.0, 92.0, 0.0),
    Row(100.0, 6.0, 80.0, 12.0, 16.0, 60.0, 0.0),
    Row(6.0, 0.8, 85.0, 1.0, 0.2, 20.0, 0.0),
    Row(40.0, 0.0, 70.0, 3.0, 10.0, 100.0, 0.0),
]


def lengths(row: Row) -> tuple[float, float]:
    centre_mm = shoulder_centre(
        v_opening_mm=row.v_opening_mm,
        die_angle_deg=row.die_angle_deg,
        shoulder_radius_mm=row.shoulder_radius_mm,
    )
    return centre_mm, row.shoulder_radius_mm + row.thickness_mm + row.loaded_inside_radius_mm


def depth_of(row: Row) -> float:
    centre_mm, roll_mm = lengths(row)
    return ram_depth(
        loaded_bend_angle_deg=row.loaded_bend_angle_deg,
        shoulder_centre_mm=centre_mm,
        roll_radius_mm=roll_mm,
    )


def die_polygon(row: Row) -> BaseGeometry:
    """The die with rounded shoulders; only its shoulder arcs where the bend is past its walls."""
    half, wide = row.v_opening_mm / 2, 4 * row.v_opening_mm
    deep = half / math.tan(math.radians(row.die_angle_deg) / 2)
    sharp = Polygon(
        [(-wide, 0), (-half, 0), (0, -deep), (half, 0), (wide, 0), (wide, -wide), (-wide, -wide)]
    )
    radius = row.shoulder_radius_mm
    eroded = sharp.buffer(-radius, join_style="mitre")
    if row.loaded_bend_angle_deg <= 180.0 - row.die_angle_deg:
        return eroded.buffer(radius, quad_segs=FINE)
    top = max(y for _, y in eroded.exterior.coords)
    centre = min(x for x, y in eroded.exterior.coords if y == top and x > 0)
    return MultiPoint([(-centre, top), (centre, top)]).buffer(radius, quad_segs=FINE)


def sheet_polygon(row: Row) -> Polygon:
    """The bent sheet, the centre of its inside arc at the origin."""
    middle = row.loaded_inside_radius_mm + row.thickness_mm / 2
    half = math.radians(row.loaded_bend_angle_deg) / 2
    arc = [
        (middle * math.sin(turn), -middle * math.cos(turn))
        for turn in (half * (step / FINE - 1) for step in range(2 * FINE + 1))
    ]
    long = 3 * row.v_opening_mm
    left, right = arc[0], arc[-1]
    line = [
        (left[0] - long * math.cos(half), left[1] + long * math.sin(half)),
        *arc,
        (right[0] + long * math.cos(half), right[1] + long * math.sin(half)),
    ]
    return LineString(line).buffer(row.thickness_mm / 2, quad_segs=FINE, cap_style="flat")


def travel_by_geometry(row: Row) -> float:
    die, sheet = die_polygon(row), sheet_polygon(row)
    high = 4 * row.v_opening_mm
    low = high
    while not translate(sheet, yoff=low).intersects(die):
        high, low = low, low - row.v_opening_mm / 50
    while high - low > 1e-9:
        middle = (low + high) / 2
        if translate(sheet, yoff=middle).intersects(die):
            low = middle
        else:
            high = middle
    tip = high - row.loaded_inside_radius_mm
    return row.thickness_mm - tip


@pytest.mark.parametrize("row", CHECK_ROWS)
def test_the_three_check_rows_hold_to_a_hundred_millionth(row: Row) -> None:
    assert depth_of(row) == pytest.approx(row.depth_mm, abs=1e-8)


@pytest.mark.parametrize("row", CHECK_ROWS + MORE_ROWS)
def test_a_general_geometry_library_finds_the_same_travel(row: Row) -> None:
    assert depth_of(row) == pytest.approx(travel_by_geometry(row), abs=2e-5)


@pytest.mark.parametrize("row", CHECK_ROWS + MORE_ROWS)
def test_the_slope_is_the_derivative_of_the_depth(row: Row) -> None:
    step = 1e-4
    above, below = (
        depth_of(row._replace(loaded_bend_angle_deg=row.loaded_bend_angle_deg + change))
        for change in (step, -step)
    )
    centre_mm, roll_mm = lengths(row)
    slope = ram_depth_per_degree(
        loaded_bend_angle_deg=row.loaded_bend_angle_deg,
        shoulder_centre_mm=centre_mm,
        roll_radius_mm=roll_mm,
    )
    assert slope == pytest.approx((above - below) / (2 * step), rel=1e-6)


def test_the_shortest_flange_check_row_is_two_thirds_of_the_v() -> None:
    row = CHECK_ROWS[0]
    least_mm = minimum_flange(
        loaded_bend_angle_deg=90.0,
        shoulder_centre_mm=lengths(row)[0],
        shoulder_radius_mm=row.shoulder_radius_mm,
    )
    assert least_mm == pytest.approx(10.736, abs=5e-4)
    assert least_mm / row.v_opening_mm == pytest.approx(0.67, abs=0.005)


@pytest.mark.parametrize("row", CHECK_ROWS + MORE_ROWS)
def test_the_straight_flank_ends_where_the_sheet_touches_the_shoulder(row: Row) -> None:
    sheet = translate(
        sheet_polygon(row),
        yoff=row.thickness_mm - depth_of(row) + row.loaded_inside_radius_mm,
    )
    touching = sheet.buffer(1e-4).intersection(die_polygon(row))
    assert not touching.is_empty
    half = math.radians(row.loaded_bend_angle_deg) / 2
    centre_mm, roll_mm = lengths(row)
    flank_mm = straight_flank(
        loaded_bend_angle_deg=row.loaded_bend_angle_deg,
        shoulder_centre_mm=centre_mm,
        roll_radius_mm=roll_mm,
    )
    outside_mm = row.loaded_inside_radius_mm + row.thickness_mm
    touch_x = outside_mm * math.sin(half) + flank_mm * math.cos(half)
    right = max(piece[0] for piece in touching.envelope.exterior.coords)
    assert right == pytest.approx(touch_x, abs=0.05)


def test_past_the_roll_up_no_angle_belongs_to_the_travel() -> None:
    with pytest.raises(ShopError) as caught:
        loaded_angle_from_depth(depth_mm=8.0, shoulder_centre_mm=6.0, roll_radius_mm=9.0)
    assert caught.value.code == "too_deep"
    assert caught.value.where == "depth_mm"


def test_the_largest_angle_is_the_dies_or_where_the_flanks_have_rolled_up() -> None:
    def largest(roll_mm: float, die_deg: float) -> float:
        return largest_loaded_angle(
            shoulder_centre_mm=8.0, roll_radius_mm=roll_mm, die_angle_deg=die_deg
        )

    assert largest(6.0, 86.0) == 94.0
    assert largest(16.0, 30.0) == pytest.approx(60.0)
    assert straight_flank(
        loaded_bend_angle_deg=60.0, shoulder_centre_mm=8.0, roll_radius_mm=16.0
    ) == pytest.approx(0.0, abs=1e-9)


def test_a_sharp_v_is_as_deep_as_its_triangle() -> None:
    assert die_room(v_opening_mm=20.0, die_angle_deg=60.0) == pytest.approx(17.3205, abs=1e-4)
