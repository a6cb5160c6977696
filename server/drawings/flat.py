"""The flat blank: outline, holes, and bend lines with their numbers."""

import itertools
from collections.abc import Callable

from server.drawings.svg import GAUGE, INK, SHEET, SHEET_FILL, Sheet
from server.geometry.part import FlatPart, flat_size

LABEL_SHARE = 0.045


def draw_flat(part: FlatPart, *, title: str, length: Callable[[float], str]) -> str:
    """A flat part to scale; lines of bends closing up are dashed, closing down dash-dotted."""
    width_mm, height_mm = flat_size(part)
    size = max(2.0, LABEL_SHARE * max(width_mm, height_mm))
    points = [point for face in part.faces for point in face.outline_mm]
    sheet = Sheet.around(points, margin=size * 4.2)
    for face in part.faces:
        sheet.polygon(face.outline_mm, fill=SHEET_FILL, line=SHEET_FILL, thick=size * 0.05)
    for face in part.faces:
        for hole in face.holes_mm:
            sheet.polygon(hole, fill="#fffefb", line=SHEET, thick=size * 0.08)
    _outline(sheet, part, size)
    for index, bend in enumerate(part.bends):
        up = bend.bend_angle_deg > 0
        dash = f"{size * 0.7:.2f} {size * 0.4:.2f}" if up else _dash_dot(size)
        sheet.polyline(bend.line_mm, line=GAUGE, thick=size * 0.1, dash=dash)
        (u0, v0), (u1, v1) = bend.line_mm
        top = (u1, v1) if v1 >= v0 else (u0, v0)
        words = f"{index + 1}{'↑' if up else '↓'}"
        sheet.text((top[0], top[1] + size * 0.9), words, size=size, colour=GAUGE, bold=True)
    least_u, least_v = min(p[0] for p in points), min(p[1] for p in points)
    sheet.dimension(
        (least_u + width_mm, least_v),
        (least_u, least_v),
        length(width_mm),
        away=size * 2.2,
        size=size,
        colour=INK,
    )
    sheet.dimension(
        (least_u, least_v),
        (least_u, least_v + height_mm),
        length(height_mm),
        away=size * 2.2,
        size=size,
        colour=INK,
    )
    return sheet.svg(title=title, role="flat")


def _outline(sheet: Sheet, part: FlatPart, size: float) -> None:
    for face in part.faces:
        loop = (*face.outline_mm, face.outline_mm[0])
        for start, end in itertools.pairwise(loop):
            if not any(_on_line(start, end, bend.line_mm) for bend in part.bends):
                sheet.line(start, end, line=SHEET, thick=size * 0.1)


def _on_line(
    start: tuple[float, float],
    end: tuple[float, float],
    line: tuple[tuple[float, float], tuple[float, float]],
) -> bool:
    (u0, v0), (u1, v1) = line
    length = ((u1 - u0) ** 2 + (v1 - v0) ** 2) ** 0.5
    away = (
        abs((u1 - u0) * (point[1] - v0) - (v1 - v0) * (point[0] - u0)) / length
        for point in (start, end)
    )
    return all(distance < 0.01 for distance in away)


def _dash_dot(size: float) -> str:
    return f"{size:.2f} {size * 0.35:.2f} {size * 0.15:.2f} {size * 0.35:.2f}"
