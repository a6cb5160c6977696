"""Outlines: convex parts cover exactly, hulls and widths, refused drawings."""

import math

import pytest
from shapely.geometry import MultiPoint, Polygon
from shapely.ops import unary_union

from server.errors import ShopError
from server.geometry.outline import (
    checked_outline,
    convex_hull,
    convex_parts,
    is_convex,
    least_width,
    mirrored,
    padded,
    signed_area,
)

GOOSE_NECK = (
    (0.0, 0.0), (6.0, 6.0), (6.0, 20.0), (30.0, 45.0), (30.0, 100.0), (0.0, 100.0), (0.0, 60.0),
    (8.0, 45.0), (-3.0, 25.0), (-3.0, 4.0),
)  # fmt: skip


@pytest.mark.parametrize(
    "shape",
    [
        Polygon(GOOSE_NECK),
        Polygon([(0, 0), (10, 0), (10, 10), (0, 10)]),
        Polygon(
            [(0, 0), (40, 0), (40, 30), (0, 30)],
            [[(10, 10), (20, 10), (20, 20)], [(25, 5), (35, 5), (35, 25), (25, 25)]],
        ),
    ],
)
def test_convex_parts_cover_the_shape_without_overlap(shape: Polygon) -> None:
    parts = convex_parts(shape)
    assert all(is_convex(part) and signed_area(part) > 0 for part in parts)
    assert sum(signed_area(part) for part in parts) == pytest.approx(shape.area)
    assert unary_union([Polygon(part) for part in parts]).symmetric_difference(
        shape
    ).area == pytest.approx(0.0, abs=1e-9)


def test_a_convex_shape_stays_in_one_part() -> None:
    assert len(convex_parts(Polygon([(0, 0), (10, 0), (12, 8), (3, 9)]))) == 1


def test_few_parts_are_used() -> None:
    assert len(convex_parts(Polygon(GOOSE_NECK))) <= 5


def test_the_hull_agrees_with_a_geometry_library() -> None:
    points = [(float((7 * i) % 31), float((11 * i) % 23)) for i in range(40)]
    ours = Polygon(convex_hull(points))
    assert ours.equals(MultiPoint(points).convex_hull)


def test_width_of_a_tilted_strip() -> None:
    strip = Polygon([(0, 0), (30, 40), (28.4, 41.2), (-1.6, 1.2)])
    assert least_width(strip) == pytest.approx(2.0)


def test_mirroring_keeps_the_sense() -> None:
    assert signed_area(mirrored(GOOSE_NECK)) == pytest.approx(signed_area(GOOSE_NECK))


def test_padding_repeats_the_last_corner() -> None:
    array = padded([[(0, 0), (1, 0), (0, 1)], [(0, 0), (1, 0), (1, 1), (0, 1)]])
    assert array.shape == (2, 4, 2)
    assert tuple(array[0, 3]) == (0.0, 1.0)


@pytest.mark.parametrize(
    ("points", "code"),
    [
        ([(0, 0), (10, 10), (10, 0), (0, 10)], "outline_crosses_itself"),
        ([(0, 0), (10, 0)], "too_few_points"),
        ([(0, 0), (10, 0), (10, 0), (0, 0)], "too_few_points"),
        ([(0, 0), (10, 0), (20, 0)], "outline_crosses_itself"),
        ([(0, 0), (50, 0), (50, 0.01), (0, 0.01)], "zero_width"),
        ([(0, 0), (1e7, 0), (0, 10)], "point_too_far"),
        ([(0, 0), (float("nan"), 0), (0, 10)], "point_too_far"),
        ([(float(i % 700), float(i)) for i in range(6000)], "too_many_points"),
    ],
)
def test_bad_drawings_are_refused(points: list[tuple[float, float]], code: str) -> None:
    with pytest.raises(ShopError) as caught:
        checked_outline(points, where="punch.profile_mm", name="the punch")
    assert caught.value.code == code
    assert caught.value.where == "punch.profile_mm"


def test_convex_pieces_cover_a_shape_whose_corners_are_doubled_by_rounding() -> None:
    """Two corners one rounding apart: neither may take the other one with it."""
    x, y = 193.05431073605124, 1.9432679136411035
    doubled = [(0, 0), (x, 0), (x, y), (x, math.nextafter(y, 9)), (x + 4, 60), (0, 60)]
    shape = Polygon(doubled, [[(108.9, 15.9), (157.4, 31.3), (107.1, 37.3)]])
    pieces = convex_parts(shape)
    assert sum(signed_area(piece) for piece in pieces) == pytest.approx(shape.area)
    assert all(is_convex(piece) for piece in pieces)
