"""A flat part in the brake before a stroke: seen by the operator, from the left and above.

The part lies on the die as far as it is bent by then, pushed against the fingers behind; the dashed
line is where the punch comes down. Letters and numbers are those of the flat pattern.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from shapely.geometry import Polygon, box

from server.drawings.solid_view import (
    STEEL_LOOK,
    Look,
    Plate,
    Points,
    bounds,
    looking,
    paint,
    plates_of,
    turned,
)
from server.drawings.svg import GAUGE, GAUGE_FILL, INK, PAPER, SHEET, Sheet
from server.drawings.svg import Point as Flat
from server.geometry.folding import Motion, folded_poses, moved
from server.geometry.outline import convex_hull, polygons_of, signed_area
from server.geometry.part import FlatPart, flat_regions
from server.geometry.part_name import NamedEdge, label_spot, named_edges

SEEN_FROM_DEG = (-30.0, -60.0)
DIE_SHOWN_MM = 30.0
DIE_OVER_MM = 10.0
FINGER_WIDE_MM = 30.0
FINGER_SHOWN_MM = 45.0
AT_GAUGE_MM = 0.6
LEVEL, LEVEL_MM = 1e-6, 1e-3
LINE_SHARE = 0.0045
LETTER_SHARE = 0.042
FINGER_LOOK: Look = (GAUGE_FILL, GAUGE_FILL, "#a9c0e6", GAUGE)


@dataclass(frozen=True, slots=True)
class Placed:
    """One stroke as it is set up: its bends, how the part lies, and what stops it at the rear.

    `rear` is the half of the first bend behind the die; `fingers_mm` are the middles of the fingers
    along the bed, from the start of the first bend; outlines are seen along the bed.
    """

    bends: tuple[int, ...]
    side_up: str
    rear: str
    gauge_kind: str
    gauge_face: int
    fingers_mm: tuple[float, ...]
    finger_mm: tuple[Flat, ...]
    die_mm: tuple[Flat, ...]


def draw_in_brake(
    part: FlatPart, angles_deg: Mapping[int, float], placed: Placed, *, title: str
) -> str:
    """The part in the brake; `angles_deg` are those of the bends made by then."""
    lying = Lying(part, angles_deg, placed)
    own = turned(plates_of(part, angles_deg, root=lying.root), lying.place)
    seen = looking(yaw_deg=SEEN_FROM_DEG[0], pitch_deg=SEEN_FROM_DEG[1])
    plates = turned([*own, *_die(lying), *_fingers(lying)], seen)
    arrow = [seen @ point for point in lying.push()]
    around = [*bounds(plates), *((float(p[0]), float(p[1])) for p in arrow)]
    sheet = Sheet.around(around)
    size = max(sheet.width, sheet.height * 1.3)
    sheet = Sheet.around(around, margin=size * 0.03)
    paint(sheet, plates, size * LINE_SHARE)
    _marks(sheet, lying, seen, size)
    tail, tip = ((float(p[0]), float(p[1])) for p in arrow)
    sheet.arrow(tail, tip, line=GAUGE, thick=size * 0.012, head=size * 0.035)
    return sheet.svg(title=title, role="step in-brake")


def edges_at_gauge(
    part: FlatPart, angles_deg: Mapping[int, float], placed: Placed
) -> tuple[str, ...]:
    """The names of the edges the fingers touch; none where a formed flange does."""
    return tuple(edge.name for edge in Lying(part, angles_deg, placed).edges)


class Lying:
    """Where a part lies in the brake: right along the bed, away from the operator, up."""

    def __init__(self, part: FlatPart, angles_deg: Mapping[int, float], placed: Placed) -> None:
        self.part, self.placed = part, placed
        lead = part.bends[placed.bends[0]]
        which = 0 if placed.rear == "first" else 1
        self.root = lead.faces[which]
        self.poses = folded_poses(part, angles_deg, self.root)
        across = part.across[placed.bends[0]]
        out = across if which == 1 else (-across[0], -across[1])
        (u0, v0), (p, q) = lead.line_mm[0], lead.along
        up = 1.0 if placed.side_up == "A" else -1.0
        self.sense = up * (p * out[1] - q * out[0])
        right = (p * self.sense, q * self.sense)
        self.place: Motion = np.array(
            [
                [right[0], right[1], 0.0, -(right[0] * u0 + right[1] * v0)],
                [out[0], out[1], 0.0, -(out[0] * u0 + out[1] * v0)],
                [0.0, 0.0, up, 0.0 if up > 0 else part.thickness_mm],
                [0.0, 0.0, 0.0, 1.0],
            ]
        )
        self.top_w_mm = part.thickness_mm if up > 0 else 0.0
        ends = [self.at_line(end)[0] for bend in placed.bends for end in part.bends[bend].line_mm]
        self.span = (min(ends), max(ends))
        self.edges = self._edges()

    def at_line(self, point: Flat) -> Points:
        """A point of the sheet beside the bend line, on its upper side."""
        return self._put(np.eye(4), point)

    def on_face(self, face: int, point: Flat) -> Points:
        """A point of a face, on the side that was up when the sheet was flat."""
        return self._put(self.poses[face], point)

    def push(self) -> tuple[Points, Points]:
        """Where an arrow toward the fingers begins and ends, in front of the part."""
        front = min(
            float(self.on_face(face, point)[1])
            for face, regions in enumerate(flat_regions(self.part))
            for region in regions
            for point in region.outline_mm
        )
        middle = sum(self.span) / 2
        long = max(40.0, 0.16 * (self.span[1] - self.span[0]))
        height = self.part.thickness_mm / 2
        return (
            np.array([middle, front - long - 6.0, height]),
            np.array([middle, front - 6.0, height]),
        )

    def level_face(self) -> int:
        """The largest face that still lies flat on the die's level."""
        level = [
            face
            for face, pose in enumerate(self.poses)
            if abs(pose[2, 2] - 1.0) < LEVEL and abs(pose[2, 3]) < LEVEL_MM
        ]
        return max(level, key=lambda face: abs(signed_area(self.part.faces[face].outline_mm)))

    def _put(self, pose: Motion, point: Flat) -> Points:
        flat = np.array([[point[0], point[1], self.top_w_mm]])
        put: Points = moved(self.place, moved(pose, flat))[0]
        return put

    def _edges(self) -> tuple[NamedEdge, ...]:
        """The free edges the fingers touch: several, where faces end in one line."""
        outline = self.placed.finger_mm
        if self.placed.gauge_kind != "edge" or not outline:
            return ()
        gauge_mm = min(x for x, _ in outline)
        low_mm = min(y for _, y in outline) - AT_GAUGE_MM
        high_mm = max(y for _, y in outline) + self.part.thickness_mm
        spans: list[tuple[float, float, NamedEdge]] = []
        for edge in named_edges(self.part):
            start, end = (self.on_face(edge.face, p) for p in (edge.start_mm, edge.end_mm))
            beside = all(abs(float(p[1]) - gauge_mm) <= AT_GAUGE_MM for p in (start, end))
            if beside and low_mm <= float(start[2] + end[2]) / 2 <= high_mm:
                low, high = sorted((float(start[0]), float(end[0])))
                spans.append((low, high, edge))
        found: list[NamedEdge] = []
        for place in self.placed.fingers_mm:
            at = place * self.sense
            near = min(spans, key=lambda one: max(one[0] - at, at - one[1], 0.0), default=None)
            if near is not None and near[2] not in found:
                found.append(near[2])
        return tuple(found)


def _die(lying: Lying) -> Iterator[Plate]:
    low, high = lying.span
    if len(lying.placed.die_mm) < 3:
        return
    body = Polygon(convex_hull(lying.placed.die_mm)).intersection(box(-500, -DIE_SHOWN_MM, 500, 0))
    for piece in polygons_of(body):
        yield _along_bed(piece, low - DIE_OVER_MM, high + DIE_OVER_MM, STEEL_LOOK)


def _fingers(lying: Lying) -> Iterator[Plate]:
    if len(lying.placed.finger_mm) < 3:
        return
    outline = Polygon(convex_hull(lying.placed.finger_mm))
    low_x, low_y, _, high_y = outline.bounds
    shown = outline.intersection(box(low_x, low_y, low_x + FINGER_SHOWN_MM, high_y))
    for place in lying.placed.fingers_mm:
        middle = place * lying.sense
        for piece in polygons_of(shown):
            half = FINGER_WIDE_MM / 2
            yield _along_bed(piece, middle - half, middle + half, FINGER_LOOK)


def _along_bed(outline: Polygon, low: float, high: float, look: Look) -> Plate:
    """A section (away, up) drawn out along the bed."""
    ring = convex_hull((float(x), float(y)) for x, y in outline.exterior.coords)
    ends = [np.array([(z, x, y) for x, y in ring], dtype=np.float64) for z in (low, high)]
    return Plate(ends[0], ends[1], (1,) * len(ring), look)


def _marks(sheet: Sheet, lying: Lying, seen: Points, size: float) -> None:
    """The bend line, the side that faces up, and the names of the edges at the gauge."""

    def flat(point: Points) -> Flat:
        x, y, _ = seen @ point
        return float(x), float(y)

    letter = size * LETTER_SHARE
    dash = f"{size * 0.02:.2f} {size * 0.012:.2f}"
    for bend in lying.placed.bends:
        start, end = (flat(lying.at_line(p)) for p in lying.part.bends[bend].line_mm)
        sheet.line(start, end, line=GAUGE, thick=size * 0.007, dash=dash)
    touched = [
        (edge, lying.on_face(edge.face, edge.start_mm), lying.on_face(edge.face, edge.end_mm))
        for edge in lying.edges
    ]
    for _, first, last in touched:
        sheet.line(flat(first), flat(last), line=GAUGE, thick=size * 0.011)
    for edge, first, last in touched:
        _tag(sheet, flat((first + last) / 2), edge.name, letter, GAUGE)
    if lying.placed.gauge_kind == "flange":
        face = lying.placed.gauge_face
        spot = flat(lying.on_face(face, _spot(lying.part, face)))
        _tag(sheet, spot, str(face + 1), letter, GAUGE)
    level = lying.level_face()
    at = flat(lying.on_face(level, _spot(lying.part, level)))
    _tag(sheet, at, lying.placed.side_up, letter, SHEET)


def _tag(sheet: Sheet, at: Flat, words: str, letter: float, colour: str) -> None:
    radius = letter * (0.62 + 0.22 * len(words))
    sheet.circle(at, radius, fill=PAPER, line=colour, thick=letter * 0.1)
    sheet.text(at, words, size=letter * 1.15, colour=INK, bold=True)


def _spot(part: FlatPart, face: int) -> Flat:
    regions: Sequence[Polygon] = [
        Polygon(one.outline_mm, one.holes_mm) for one in flat_regions(part)[face]
    ]
    return label_spot(max(regions, key=lambda shape: shape.area))[0]
