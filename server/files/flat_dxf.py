"""A flat blank as DXF for the cutting table: what is cut, and the bend lines apart from it."""

import io
import math

from shapely.geometry import LinearRing, Point, Polygon

from server.geometry.outline import Loop
from server.geometry.part import FlatPart
from server.planning.flat_blank import whole_outline

MILLIMETRES = 4
"""$INSUNITS of the DXF reference (Autodesk, header variables): 4 = millimetres."""
CUT, BEND_UP, BEND_DOWN = "CUT", "BEND_UP", "BEND_DOWN"
LAYERS = ((CUT, 7, "CONTINUOUS"), (BEND_UP, 5, "DASHED"), (BEND_DOWN, 6, "DASHDOT"))
SAME_MM = 1e-3
LEAST_CHORDS = 24


def write_flat_dxf(part: FlatPart) -> bytes:
    """The blank in mm as it lies on side B, seen on side A: outline and holes on the layer CUT, bend
    lines on BEND_UP (closing toward side A) and BEND_DOWN.

    A round hole is a CIRCLE, every other outline a closed LWPOLYLINE.
    """
    from ezdxf.filemanagement import new

    drawing = new("R2010", setup=["linetypes"])
    drawing.header["$INSUNITS"] = MILLIMETRES
    drawing.header["$MEASUREMENT"] = 1
    for name, colour, linetype in LAYERS:
        drawing.layers.add(name, color=colour, linetype=linetype)
    space = drawing.modelspace()
    outline = whole_outline(part)
    for ring in (outline.exterior, *outline.interiors):
        round_one = as_circle(tuple((float(u), float(v)) for u, v in ring.coords[:-1]))
        if round_one is not None:
            centre, radius_mm = round_one
            space.add_circle(centre, radius_mm, dxfattribs={"layer": CUT})
        else:
            corners = list(ring.simplify(SAME_MM).coords)[:-1]
            space.add_lwpolyline(corners, close=True, dxfattribs={"layer": CUT})
    for bend in part.bends:
        layer = BEND_UP if bend.bend_angle_deg > 0 else BEND_DOWN
        space.add_line(*bend.line_mm, dxfattribs={"layer": layer})
    text = io.StringIO()
    drawing.write(text)
    return text.getvalue().encode("utf-8")


def as_circle(loop: Loop) -> tuple[tuple[float, float], float] | None:
    """Centre and radius of an outline of many equal chords; None for any other.

    Chords of a drawn circle are together as long as the circle, so its radius comes back exactly.
    """
    if len(loop) < LEAST_CHORDS:
        return None
    middle = Polygon(loop).centroid
    reaches = [middle.distance(Point(corner)) for corner in loop]
    if max(reaches) - min(reaches) > SAME_MM:
        return None
    return (float(middle.x), float(middle.y)), float(LinearRing(loop).length) / (2 * math.pi)
