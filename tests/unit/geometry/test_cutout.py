"""Cut-outs: their outlines keep the size that was typed."""

import math

import pytest
from shapely.geometry import Polygon

from server.geometry.cutout import Cutout


def test_a_round_hole_has_the_length_of_a_circle() -> None:
    shape = Polygon(Cutout("round", (5.0, 7.0), 12.0, 12.0).outline_mm)
    assert shape.length == pytest.approx(math.pi * 12.0)  # the circumference of a circle
    assert shape.area == pytest.approx(math.pi * 36.0, rel=0.01)
    assert (shape.centroid.x, shape.centroid.y) == pytest.approx((5.0, 7.0))


def test_a_slot_is_as_long_as_it_says_and_turns_about_its_middle() -> None:
    shape = Polygon(Cutout("slot", (0.0, 0.0), 30.0, 8.0, 90.0).outline_mm)
    low_u, low_v, high_u, high_v = shape.bounds
    assert (high_u - low_u, high_v - low_v) == pytest.approx((8.0, 30.0), abs=0.05)
    # a stadium: rectangle and circle
    assert shape.area == pytest.approx(22.0 * 8.0 + math.pi * 16.0, rel=0.01)


def test_a_turned_rectangle_keeps_its_area() -> None:
    shape = Polygon(Cutout("rectangle", (3.0, -4.0), 20.0, 10.0, 33.0).outline_mm)
    assert shape.area == pytest.approx(200.0)
    assert shape.exterior.is_ccw
