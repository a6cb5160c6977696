"""The blank as DXF: read back by a general DXF library, it is the blank that was drawn."""

import io
import math

import pytest
from ezdxf.entities.lwpolyline import LWPolyline
from ezdxf.filemanagement import read
from shapely.geometry import Polygon

from server.files.flat_dxf import as_circle, write_flat_dxf
from server.geometry.cutout import Cutout
from server.geometry.generator import Fold, Wall, panel
from server.geometry.part import Face, FlatPart, checked_part, flat_area

HOLES = (
    Cutout("round", (60.0, 50.0), 22.0, 22.0).outline_mm,
    Cutout("slot", (130.0, 50.0), 40.0, 10.0).outline_mm,
)


def part() -> FlatPart:
    made = panel(
        width_mm=200, depth_mm=120, walls=(Wall(30), None, Wall(30), None), thickness_mm=1.5,
        fold=Fold(90.0, 2.0, 4.0),
    )  # fmt: skip
    return checked_part(
        FlatPart(1.5, (Face(made.faces[0].outline_mm, HOLES), *made.faces[1:]), made.bends)
    )


def test_what_is_cut_and_what_is_bent_are_apart_and_in_millimetres() -> None:
    blank = part()
    drawing = read(io.StringIO(write_flat_dxf(blank).decode("utf-8")))
    assert drawing.header["$INSUNITS"] == 4
    space = drawing.modelspace()
    lines = space.query('LINE[layer=="BEND_UP"]')
    assert len(lines) == 2
    assert [line.dxf.start.distance(line.dxf.end) for line in lines] == pytest.approx([200.0] * 2)
    assert len(space.query('LINE[layer=="BEND_DOWN"]')) == 0
    circles = space.query("CIRCLE")
    assert [round(circle.dxf.radius, 6) for circle in circles] == [11.0]
    areas = sorted(
        Polygon([(x, y) for x, y, *_ in loop.get_points()]).area
        for loop in space.query("LWPOLYLINE")
        if isinstance(loop, LWPolyline)
    )
    slot, outline = areas
    # a slot is a stadium: a rectangle and a circle
    assert slot == pytest.approx(30 * 10 + math.pi * 25, rel=0.01)
    left = outline - slot - math.pi * 11**2
    assert left == pytest.approx(flat_area(blank), rel=1e-3)


def test_a_square_is_no_circle() -> None:
    assert as_circle(((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0))) is None
    assert as_circle(HOLES[1]) is None
