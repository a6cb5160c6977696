"""Gauge contacts: the farthest point in the window, finger places, limits of X."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon, box

from server.geometry.outline import convex_hull
from server.mechanics.tooling import Finger
from server.planning.gauging import (
    Contact,
    check_x,
    farthest_in_window,
    finger_places,
    nearest_finger_x,
)
from tests.unit.planning.shop import BRAKE

POINT = st.tuples(st.integers(-50, 50), st.integers(-30, 30))


@given(st.lists(POINT, min_size=4, max_size=9), st.integers(-20, 10), st.integers(1, 25))
@settings(derandomize=True, deadline=None, max_examples=200)
def test_the_farthest_point_agrees_with_a_geometry_library(
    points: list[tuple[int, int]], low: int, height: int
) -> None:
    hull = convex_hull([(float(x), float(y)) for x, y in points])
    if len(hull) < 3:
        return
    seen = Polygon(hull).intersection(box(-100, low, 100, low + height))
    found = farthest_in_window(hull, low, low + height)
    if found is None:
        assert seen.is_empty
    else:
        assert found[0] == pytest.approx(seen.bounds[2])


def test_of_equal_points_the_highest_is_named() -> None:
    square = ((0.0, 0.0), (10.0, 0.0), (10.0, 2.0), (0.0, 2.0))
    assert farthest_in_window(square, 0.0, 15.0) == (10.0, 2.0)


def test_two_fingers_stand_as_far_apart_as_the_edge_allows() -> None:
    assert finger_places([(0.0, 200.0)], 30.0) == ((15.0, 185.0), 200.0)


def test_a_short_edge_takes_one_finger_and_a_shorter_none() -> None:
    assert finger_places([(0.0, 50.0)], 30.0) == ((25.0,), 50.0)
    assert finger_places([(0.0, 29.0)], 30.0) == ((), 0.0)


def test_fingers_may_stand_on_two_pieces_of_one_contact() -> None:
    places, stance = finger_places([(0.0, 40.0), (60.0, 70.0), (160.0, 200.0)], 30.0)
    assert places == (15.0, 185.0)
    assert stance == 200.0


def test_two_fingers_rank_before_an_edge_and_an_edge_before_a_flange() -> None:
    two_on_flange = Contact("flange", 40.0, 0, (40.0, 5.0), (15.0, 185.0), 200.0)
    one_on_edge = Contact("edge", 40.0, 0, (40.0, 2.0), (25.0,), 50.0)
    two_on_edge = Contact("edge", 90.0, 0, (90.0, 2.0), (15.0, 100.0), 115.0)
    ranked = sorted((two_on_flange, one_on_edge, two_on_edge), key=lambda one: one.rank)
    assert ranked == [two_on_edge, two_on_flange, one_on_edge]


def test_a_finger_that_reaches_below_the_die_top_keeps_clear_of_the_die() -> None:
    block = [((-20.0, -60.0), (20.0, -60.0), (20.0, 0.0), (-20.0, 0.0))]
    assert nearest_finger_x(Finger(-10.0, 15.0, 30.0), block) == 20.0
    assert nearest_finger_x(Finger(0.0, 15.0, 30.0), block) == float("-inf")


@pytest.mark.parametrize(
    ("x_mm", "nearest", "code"),
    [
        (3.0, 0.0, "x_out_of_travel"),
        (800.0, 0.0, "x_out_of_travel"),
        (15.0, 20.0, "finger_meets_die"),
    ],
)
def test_x_out_of_reach_says_by_how_much(x_mm: float, nearest: float, code: str) -> None:
    (finding,) = check_x(x_mm=x_mm, brake=BRAKE, nearest_x_mm=nearest, bend=0, die_name="V16")
    assert finding.code == code
    assert finding.amount is not None
    assert finding.amount.value > 0.0
    assert finding.frees


def test_x_within_reach_is_not_remarked_on() -> None:
    assert check_x(x_mm=50.0, brake=BRAKE, nearest_x_mm=20.0, bend=0, die_name="V16") == ()
