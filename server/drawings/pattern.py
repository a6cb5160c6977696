"""A flat part on the drawing board: what is drawn, with the points a hand can pull.

A pattern is shown as it is drawn, whether it can be folded or not; a part made by dimensions as its
blank. Handles say in data attributes what they pull: a corner, a bend line, a cut-out.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from shapely.geometry import Polygon

from server.drawings.flat import (
    LABEL_SHARE,
    LEAST_LABEL_MM,
    FlatMarks,
    dash_of,
    draw_faces,
    draw_names,
    grain_mark,
    label_size,
)
from server.drawings.svg import GAUGE, INK, PAPER, RED, SHEET, SHEET_FILL, SOFT, Point, Sheet
from server.geometry.cutout import Cutout
from server.geometry.flat_pattern import SplitPattern
from server.geometry.part import BendLine, FlatPart, flat_size
from server.geometry.part_name import label_spot
from server.planning.drawn_flat import Pattern

Length = Callable[[float], str]


@dataclass(frozen=True, slots=True)
class PatternMarks:
    """What is wrong on a drawing, by place: faces of the split pattern, lines, cut-outs."""

    faces: frozenset[int] = frozenset()
    lines: frozenset[int] = frozenset()
    cutouts: frozenset[int] = frozenset()
    outline: bool = False
    grain: str = "any"


def draw_pattern(
    pattern: Pattern,
    cutouts: Sequence[Cutout],
    split: SplitPattern | None,
    *,
    title: str,
    length: Length,
    marks: PatternMarks,
) -> str:
    """A pattern as it is drawn; `split` numbers its faces when they are known."""
    us, vs = zip(*pattern.outline_mm, strict=True)
    width_mm, height_mm = max(us) - min(us), max(vs) - min(vs)
    size = max(LEAST_LABEL_MM, LABEL_SHARE * max(width_mm, height_mm * 1.3))
    corners = [*pattern.outline_mm, *(p for one in cutouts for p in one.outline_mm)]
    sheet = Sheet.around(corners, margin=size * 4.2)
    sheet.polygon(pattern.outline_mm, fill=SHEET_FILL, line=SHEET, thick=size * 0.1)
    if marks.outline:
        sheet.hatched(pattern.outline_mm, thick=size * 0.12, apart=size)
    for index, cutout in enumerate(cutouts):
        wrong = index in marks.cutouts
        colour = RED if wrong else SHEET
        sheet.polygon(
            cutout.outline_mm, fill=PAPER, line=colour, thick=size * (0.24 if wrong else 0.1)
        )
    for face, shape in enumerate(split.faces if split else ()):
        if face in marks.faces:
            sheet.hatched(shape.outline_mm, thick=size * 0.1, apart=size * 0.8)
        spot, around_mm = label_spot(Polygon(shape.outline_mm, shape.holes_mm))
        radius = min(size * 0.95, around_mm * 0.85)
        sheet.circle(spot, radius, fill=PAPER, line=SOFT, thick=size * 0.07)
        sheet.text(spot, str(face + 1), size=radius * 1.25, colour=INK, bold=True)
    for index, line in enumerate(pattern.lines):
        _line(
            sheet, line.line_mm, line.bend.bend_angle_deg, index, size, wrong=index in marks.lines
        )
    _cutout_handles(sheet, cutouts, size)
    _corner_handles(sheet, pattern.outline_mm, size)
    if marks.grain != "any":
        grain_mark(sheet, corners, size, along_u=marks.grain == "u")
    low = (min(us), min(vs))
    sheet.dimension(
        (max(us), min(vs)), low, length(width_mm), away=size * 2.4, size=size, colour=INK
    )
    sheet.dimension(
        low, (min(us), max(vs)), length(height_mm), away=size * 2.4, size=size, colour=INK
    )
    return sheet.svg(title=title, role="pattern")


def draw_made_flat(
    part: FlatPart,
    cutouts: Sequence[Cutout],
    corner: Point,
    *,
    title: str,
    length: Length,
    marks: PatternMarks,
) -> str:
    """A part made by dimensions as its blank; its cut-outs can be pulled."""
    size = label_size(part)
    points = [point for face in part.faces for point in face.outline_mm]
    sheet = Sheet.around(points, margin=size * 4.2)
    draw_faces(sheet, part, size, marks=FlatMarks(faces=marks.faces, bends=marks.lines))
    draw_names(sheet, part, size)
    placed = [_moved(cutout, corner) for cutout in cutouts]
    for index, cutout in enumerate(placed):
        if index in marks.cutouts:
            sheet.polygon(cutout.outline_mm, line=RED, thick=size * 0.24)
    _cutout_handles(sheet, placed, size)
    if marks.grain != "any":
        grain_mark(sheet, points, size, along_u=marks.grain == "u")
    width_mm, height_mm = flat_size(part)
    low = (min(p[0] for p in points), min(p[1] for p in points))
    right, top = (low[0] + width_mm, low[1]), (low[0], low[1] + height_mm)
    sheet.dimension(right, low, length(width_mm), away=size * 2.4, size=size, colour=INK)
    sheet.dimension(low, top, length(height_mm), away=size * 2.4, size=size, colour=INK)
    return sheet.svg(title=title, role="pattern")


def _moved(cutout: Cutout, corner: Point) -> Cutout:
    at_mm = (cutout.at_mm[0] + corner[0], cutout.at_mm[1] + corner[1])
    return Cutout(cutout.kind, at_mm, cutout.length_mm, cutout.width_mm, cutout.turn_deg)


def _line(
    sheet: Sheet,
    line_mm: tuple[Point, Point],
    angle_deg: float,
    index: int,
    size: float,
    *,
    wrong: bool,
) -> None:
    colour = RED if wrong else GAUGE
    if line_mm[0] == line_mm[1]:
        sheet.circle(line_mm[0], size * 0.5, line=colour, thick=size * 0.2)
        return
    start, end = sorted(line_mm)
    bend = BendLine((start, end), (0, 1), angle_deg)
    sheet.polyline(
        line_mm, line=colour, thick=size * (0.26 if wrong else 0.13), dash=dash_of(bend, size)
    )
    (u0, v0), (x, y) = start, bend.along
    words = f"{index + 1}{'↑' if angle_deg > 0 else '↓'}"
    back = min(size * 1.5, bend.length_mm / 2)
    sheet.text(
        (end[0] - x * back, end[1] - y * back),
        words,
        size=size * 0.95,
        colour=colour,
        bold=True,
        halo=True,
    )
    middle = (u0 + x * bend.length_mm * 0.3, v0 + y * bend.length_mm * 0.3)
    sheet.parts.append(
        f'<circle class="pull-line" data-line="{index + 1}" data-x="{-y:.6f}" data-y="{x:.6f}" '
        f'cx="{middle[0]:.3f}" cy="{-middle[1]:.3f}" r="{size * 0.6:.3f}" fill="{GAUGE}" '
        f'fill-opacity="0.25" stroke="{GAUGE}" stroke-width="{size * 0.12:.3f}">'
        f"<title>Pull bend line {index + 1}</title></circle>"
    )


def _corner_handles(sheet: Sheet, outline: Sequence[Point], size: float) -> None:
    for index, (u, v) in enumerate(outline):
        sheet.parts.append(
            f'<circle class="pull-point" data-point="{index + 1}" cx="{u:.3f}" cy="{-v:.3f}" '
            f'r="{size * 0.6:.3f}" fill="{PAPER}" fill-opacity="0.8" stroke="{GAUGE}" '
            f'stroke-width="{size * 0.14:.3f}"><title>Pull corner {index + 1}</title></circle>'
        )


def _cutout_handles(sheet: Sheet, cutouts: Sequence[Cutout], size: float) -> None:
    for index, cutout in enumerate(cutouts):
        (u, v) = cutout.at_mm
        sheet.parts.append(
            f'<circle class="pull-cut" data-cut="{index + 1}" cx="{u:.3f}" cy="{-v:.3f}" '
            f'r="{size * 0.6:.3f}" fill="{GAUGE}" fill-opacity="0.15" stroke="{GAUGE}" '
            f'stroke-width="{size * 0.12:.3f}"><title>Pull cut-out {index + 1}</title></circle>'
        )
