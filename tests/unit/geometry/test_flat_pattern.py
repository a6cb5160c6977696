"""A sheet with bend lines drawn on it becomes faces and bends; what cannot is told by its place."""

import math

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import rotate
from shapely.geometry import Polygon

from server.errors import ShopError
from server.geometry.cutout import Cutout
from server.geometry.flat_pattern import SplitPattern, sheet_of, split_pattern

PLATE = ((0.0, 0.0), (160.0, 0.0), (160.0, 120.0), (0.0, 120.0))


def area_of(split: SplitPattern) -> float:
    return math.fsum(Polygon(face.outline_mm, face.holes_mm).area for face in split.faces)


def test_a_line_across_a_plate_makes_two_faces_the_largest_first() -> None:
    split = split_pattern(sheet_of(PLATE, ()), [((0.0, 30.0), (160.0, 30.0))])
    assert [Polygon(face.outline_mm).area for face in split.faces] == [160 * 90, 160 * 30]
    assert [(bend.line, bend.faces) for bend in split.bends] == [(0, (0, 1))]


def test_a_line_drawn_across_a_gap_is_one_bend_on_each_side_of_it() -> None:
    notch = Cutout("rectangle", (80.0, 0.0), 40.0, 80.0).outline_mm
    split = split_pattern(sheet_of(PLATE, [notch]), [((-10.0, 30.0), (170.0, 30.0))])
    assert [bend.line for bend in split.bends] == [0, 0]
    assert [math.dist(*bend.line_mm) for bend in split.bends] == pytest.approx(
        [60.0, 60.0], abs=0.3
    )
    assert len(split.faces) == 3


@settings(max_examples=60)
@given(
    st.lists(st.floats(5.0, 155.0), min_size=1, max_size=5, unique_by=round),
    st.floats(-170.0, 170.0),
)
def test_splitting_loses_no_sheet_whichever_way_it_lies(
    places: list[float], turn_deg: float
) -> None:
    lines = [shapely.LineString([(at, -3.0), (at, 123.0)]) for at in places]
    origin = (0.0, 0.0)
    plate = list(rotate(Polygon(PLATE), turn_deg, origin=origin).exterior.coords)[:-1]
    turned = [tuple(rotate(line, turn_deg, origin=origin).coords) for line in lines]
    split = split_pattern(sheet_of(plate, ()), turned)
    assert area_of(split) == pytest.approx(160 * 120, rel=1e-6)
    assert len(split.faces) == len(places) + 1
    assert sorted(bend.line for bend in split.bends) == list(range(len(places)))


@pytest.mark.parametrize(
    ("cutouts", "lines", "code", "where"),
    [
        ((), [((0.0, 30.0), (80.0, 30.0))], "bend_line_ends_inside", "lines.0"),
        ((), [((0.0, 200.0), (160.0, 200.0))], "bend_line_off_the_sheet", "lines.0"),
        ((), [((0.0, 0.0), (160.0, 0.0))], "bend_line_parts_nothing", "lines.0"),
        ((), [((5.0, 5.0), (5.0, 5.0))], "bend_line_without_length", "lines.0"),
        ((), [((math.nan, 5.0), (5.0, 5.0))], "bend_line_without_length", "lines.0"),
        ((), [((0.0, 1.0), (160.0, 1.0))] * 500, "too_many_bends", "lines"),
        ([Cutout("round", (400.0, 0.0), 9.0, 9.0)], [], "cutout_misses", "cutouts.0"),
        ([Cutout("rectangle", (80.0, 60.0), 300.0, 300.0)], [], "nothing_left", "cutouts"),
        ([Cutout("rectangle", (80.0, 60.0), 10.0, 300.0)], [], "sheet_in_pieces", "cutouts"),
    ],
)
def test_a_drawing_that_cannot_be_a_part_says_where(
    cutouts: list[Cutout], lines: list[tuple[tuple[float, float], ...]], code: str, where: str
) -> None:
    with pytest.raises(ShopError) as trouble:
        split_pattern(sheet_of(PLATE, [one.outline_mm for one in cutouts]), lines)  # type: ignore[arg-type]
    assert (trouble.value.code, trouble.value.where) == (code, where)
