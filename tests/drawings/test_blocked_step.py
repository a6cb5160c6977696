"""A blocked step drawn: both outlines, the overlap hatched, readable without colour."""

import re

import pytest
from shapely.geometry import LineString, Polygon

from server.drawings.step import draw_blocked
from server.drawings.svg import slanting_lines
from server.planning.order_check import ChosenStep, OrderChecker
from tests.unit.planning.shop import profile_task

L_SHAPE = ((0.0, 0.0), (30.0, 0.0), (30.0, 10.0), (10.0, 10.0), (10.0, 30.0), (0.0, 30.0))


def drawn() -> tuple[str, str]:
    task = profile_task([50.0, 40.0, 50.0], [90.0, 90.0])
    checked = OrderChecker(task).check([ChosenStep(0), ChosenStep(1)])
    shown = checked.steps[1].picture
    assert shown is not None
    return draw_blocked(shown.picture, shown.overlap_mm, side_up="A", title="Step 2 blocked")


def test_the_overlap_is_hatched_in_both_pictures_and_ringed_in_the_whole_one() -> None:
    whole, close = drawn()
    for picture in (whole, close):
        assert len(re.findall(r'stroke="#93101f"', picture)) > 5
        assert "style=" not in picture
    assert "<circle" in whole
    assert "the overlap close by" in close


def test_nothing_close_by_where_nothing_overlaps() -> None:
    task = profile_task([40.0, 60.0], [90.0], width_mm=20.0)
    shown = OrderChecker(task).check([ChosenStep(0)]).steps[0].picture
    assert shown is not None
    assert draw_blocked(shown.picture, (), side_up="A", title="Step 1 blocked")[1] == ""


@pytest.mark.parametrize("apart", [0.7, 2.0, 5.0])
def test_slanting_lines_fill_an_outline_and_stay_inside(apart: float) -> None:
    """Oracle: shapely; lines `apart` in x stand apart / sqrt 2 from each other."""
    shape = Polygon(L_SHAPE)
    lines = [LineString(line) for line in slanting_lines(L_SHAPE, apart)]
    assert all(line.within(shape.buffer(1e-6)) for line in lines)
    length = sum(line.length for line in lines)
    assert length * apart / 2**0.5 == pytest.approx(shape.area, rel=0.25 if apart > 3 else 0.1)
