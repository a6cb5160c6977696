"""The flat blank: outline, holes, named faces and edges, and bend lines with their numbers.

Lines of bends closing up (toward side A) are dashed, those closing down dash-dotted. A number in a
circle is a face; an edge is called by its face and a letter.
"""

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from shapely.geometry import Polygon

from server.drawings.svg import GAUGE, INK, PAPER, RED, SHEET, SHEET_FILL, SOFT, Point, Sheet
from server.geometry.part import BendLine, FlatPart, flat_size
from server.geometry.part_name import NamedEdge, label_spot, named_edges

LABEL_SHARE = 0.042
LEAST_LABEL_MM = 2.0
PAPER_HOLE = "#fffefb"
LEAST_EDGE_LABELS = 2.2
LETTER_INSIDE, LETTER_RADIUS = 0.62, 0.45
LETTER_SHARES = (0.5, 0.35, 0.65, 0.22, 0.78, 0.12, 0.88)


@dataclass(frozen=True, slots=True)
class FlatMarks:
    """What is marked on a flat: faces and bends in trouble, and the grain along "u" or "v"."""

    faces: frozenset[int] = frozenset()
    bends: frozenset[int] = frozenset()
    grain: str = "any"
    edges: frozenset[str] = field(default_factory=frozenset)


def draw_flat(
    part: FlatPart,
    *,
    title: str,
    length: Callable[[float], str],
    names: bool = False,
    marks: FlatMarks | None = None,
) -> str:
    """A flat part to scale with its size; with `names` faces and edges carry theirs."""
    width_mm, height_mm = flat_size(part)
    size = label_size(part)
    points = [point for face in part.faces for point in face.outline_mm]
    sheet = Sheet.around(points, margin=size * 4.2)
    draw_faces(sheet, part, size, marks=marks or FlatMarks())
    if names:
        draw_names(sheet, part, size)
    if marks is not None and marks.grain != "any":
        grain_mark(sheet, points, size, along_u=marks.grain == "u")
    least_u, least_v = min(p[0] for p in points), min(p[1] for p in points)
    low, right = (least_u, least_v), (least_u + width_mm, least_v)
    top = (least_u, least_v + height_mm)
    away = size * 2.4
    sheet.dimension(right, low, length(width_mm), away=away, size=size, colour=INK)
    sheet.dimension(low, top, length(height_mm), away=away, size=size, colour=INK)
    return sheet.svg(title=title, role="flat")


def draw_small_flat(part: FlatPart, *, title: str) -> str:
    """A flat part as a small picture: outline, holes and bend lines only."""
    points = [point for face in part.faces for point in face.outline_mm]
    width_mm, height_mm = flat_size(part)
    size = 0.09 * max(width_mm, height_mm * 1.6)
    sheet = Sheet.around(points, margin=size * 0.3)
    _fill(sheet, part, size, FlatMarks())
    _outline(sheet, part, size * 0.55)
    for bend in part.bends:
        sheet.polyline(bend.line_mm, line=GAUGE, thick=size * 0.14, dash=dash_of(bend, size * 0.6))
    return sheet.svg(title=title, role="flat")


def label_size(part: FlatPart) -> float:
    """How large words on a flat are [mm]."""
    width_mm, height_mm = flat_size(part)
    return max(LEAST_LABEL_MM, LABEL_SHARE * max(width_mm, height_mm * 1.3))


def draw_faces(sheet: Sheet, part: FlatPart, size: float, *, marks: FlatMarks) -> None:
    """Faces, holes, outline and numbered bend lines."""
    _fill(sheet, part, size, marks)
    _outline(sheet, part, size)
    labelled = labelled_zones(part)
    for index, bend in enumerate(part.bends):
        drawn = part.bend_at(index)
        wrong = drawn in marks.bends
        sheet.polyline(
            bend.line_mm,
            line=RED if wrong else GAUGE,
            thick=size * (0.24 if wrong else 0.12),
            dash=dash_of(bend, size),
        )
        if index in labelled:
            _bend_label(sheet, bend, drawn, size, colour=RED if wrong else GAUGE)


def labelled_zones(part: FlatPart) -> frozenset[int]:
    """The bend lines that carry a number: of a bend of several zones, the one in its middle."""
    if not part.bend_of_zone:
        return frozenset(range(len(part.bends)))
    zones = [part.zones_at(bend) for bend in dict.fromkeys(part.bend_of_zone)]
    return frozenset(of_bend[(len(of_bend) - 1) // 2] for of_bend in zones)


def draw_names(sheet: Sheet, part: FlatPart, size: float) -> None:
    """The number of each face in a circle, and the letter inside each free edge, clear of it.

    A face too narrow for its circle has its number before its letters, outside its edges.
    """
    taken = [
        (_bend_label_spot(part.bends[zone], size), size * 0.7)
        for zone in sorted(labelled_zones(part))
    ]
    narrow = set()
    for index, face in enumerate(part.faces):
        if index in part.strips:
            continue
        spot = label_spot(Polygon(face.outline_mm, face.holes_mm))
        radius = min(size * 0.95, spot[1] * 0.85)
        if radius < size * 0.45:
            narrow.add(index)
            continue
        sheet.circle(spot[0], radius, fill=PAPER, line=SOFT, thick=size * 0.07)
        sheet.text(spot[0], str(index + 1), size=radius * 1.25, colour=INK, bold=True)
        taken.append((spot[0], radius))
    for edge in named_edges(part):
        if edge.length_mm < size * LEAST_EDGE_LABELS:
            continue
        inside = size * LETTER_INSIDE * (-1 if edge.face in narrow else 1)
        at = _letter_spot(edge, inside, size, taken)
        taken.append((at, size * LETTER_RADIUS))
        words = edge.name if edge.face in narrow else edge.letter
        sheet.text(at, words, size=size * 0.8, colour=INK)


def _letter_spot(
    edge: NamedEdge, inside: float, size: float, taken: Sequence[tuple[Point, float]]
) -> Point:
    """So far inside an edge where nothing else is written, near its middle if it can be."""
    (u0, v0), (u1, v1) = edge.start_mm, edge.end_mm
    u, v = (u1 - u0) / edge.length_mm, (v1 - v0) / edge.length_mm

    def at(share: float) -> Point:
        along = share * edge.length_mm
        return (
            u0 + u * along - v * inside,
            v0 + v * along + u * inside,
        )

    def room(spot: Point) -> float:
        return min((math.dist(spot, other) - radius for other, radius in taken), default=math.inf)

    spots = [at(share) for share in LETTER_SHARES]
    free = (spot for spot in spots if room(spot) >= size * LETTER_RADIUS)
    return next(free, max(spots, key=room))


def dash_of(bend: BendLine, size: float) -> str:
    """Dashes for a bend closing up, dash and dot for one closing down."""
    if bend.bend_angle_deg > 0:
        return f"{size * 0.7:.2f} {size * 0.4:.2f}"
    return f"{size:.2f} {size * 0.35:.2f} {size * 0.15:.2f} {size * 0.35:.2f}"


def _fill(sheet: Sheet, part: FlatPart, size: float, marks: FlatMarks) -> None:
    for face in part.faces:
        sheet.polygon(face.outline_mm, fill=SHEET_FILL, line=SHEET_FILL, thick=size * 0.05)
    for face in part.faces:
        for hole in face.holes_mm:
            sheet.polygon(hole, fill=PAPER_HOLE, line=SHEET, thick=size * 0.08)
    for index in marks.faces:
        if index < len(part.faces):
            outline = part.faces[index].outline_mm
            sheet.hatched(outline, thick=size * 0.1, apart=max(size * 0.8, 1.0))


def _outline(sheet: Sheet, part: FlatPart, size: float) -> None:
    for face in part.faces:
        loop = (*face.outline_mm, face.outline_mm[0])
        for start, end in itertools.pairwise(loop):
            if not any(_on_line(start, end, bend.line_mm) for bend in part.bends):
                sheet.line(start, end, line=SHEET, thick=size * 0.1)


def _bend_label(sheet: Sheet, bend: BendLine, index: int, size: float, *, colour: str) -> None:
    """The bend's number and an arrow for the side that closes, near the end of its line."""
    words = f"{index + 1}{'↑' if bend.bend_angle_deg > 0 else '↓'}"
    at = _bend_label_spot(bend, size)
    sheet.text(at, words, size=size * 0.95, colour=colour, bold=True, halo=True)


def _bend_label_spot(bend: BendLine, size: float) -> Point:
    """Where a bend's number stands: near the right or upper end of its line."""
    start, end = bend.line_mm
    if (end[0], end[1]) < (start[0], start[1]):
        start, end = end, start
    x, y = (end[0] - start[0]) / bend.length_mm, (end[1] - start[1]) / bend.length_mm
    back = min(size * 1.4, bend.length_mm / 2)
    return (end[0] - x * back, end[1] - y * back)


def grain_mark(sheet: Sheet, points: Sequence[Point], size: float, *, along_u: bool) -> None:
    """An arrow both ways along the rolling direction, in the corner above the blank."""
    most_u, most_v = max(p[0] for p in points), max(p[1] for p in points)
    reach = size * 2.6
    if along_u:
        middle = (most_u - reach, most_v + size * 1.6)
        ends = ((middle[0] - reach, middle[1]), (middle[0] + reach, middle[1]))
    else:
        middle = (most_u + size * 1.6, most_v - reach)
        ends = ((middle[0], middle[1] - reach), (middle[0], middle[1] + reach))
    for tip in ends:
        sheet.arrow(middle, tip, line=INK, thick=size * 0.09, head=size * 0.8)
    sheet.text(
        middle,
        "grain",
        size=size * 0.9,
        colour=INK,
        halo=True,
        turn_deg=0.0 if along_u else 90.0,
    )


def _on_line(start: Point, end: Point, line: tuple[Point, Point]) -> bool:
    (u0, v0), (u1, v1) = line
    length = math.dist(*line)
    x, y = (u1 - u0) / length, (v1 - v0) / length
    if any(abs((p[0] - u0) * y - (p[1] - v0) * x) > 0.01 for p in (start, end)):
        return False
    middle = ((start[0] + end[0]) / 2 - u0) * x + ((start[1] + end[1]) / 2 - v0) * y
    return -0.01 <= middle <= length + 0.01
