"""How the sheet lies on the die for one step, seen by whoever stands in front of the brake.

The die is below, the punch above where the bend will be, the gauge fingers behind; an arrow pushes
the sheet against them. What is already bent stands as it stands then.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from server.drawings.gauged_edge import GaugedEdge, edges_at_gauge
from server.drawings.solid_view import (
    Look,
    Plate,
    Points,
    block,
    bounds,
    looking,
    paint,
    plates_of,
    turned,
)
from server.drawings.svg import GAUGE, GAUGE_FILL, INK, PAPER, SHEET, STEEL_LINE, Point, Sheet
from server.geometry.folding import folded_poses, moved
from server.geometry.outline import Loop
from server.geometry.part import BendLine, Face, FlatPart
from server.geometry.profile import Rear

FROM_DEG = (-27.0, -58.0)
DIE_LOOK: Look = ("#c3ccd6", "#c3ccd6", "#9fabb8", STEEL_LINE)
PUNCH_LOOK: Look = ("#dfe4ea", "#dfe4ea", "#b7c1cc", STEEL_LINE)
FINGER_LOOK: Look = (GAUGE_FILL, GAUGE_FILL, "#8fb0e3", GAUGE)
DIE_DEEP_MM, PUNCH_HIGH_MM, FINGER_LONG_MM = 16.0, 26.0, 34.0
LEVEL_MM = 0.5
LONGEST_RATIO = 1.9
LEAST_LONG_MM = 90.0


@dataclass(frozen=True, slots=True)
class Held:
    """One step as the sheet lies for it. `angles_deg` has the bends made before.

    `line_mm` is how far the bend line lies behind the middle of the die: a hem is flattened with its
    fold at the gauge. `fingers_mm` are the middles of the fingers along the bend line from its start, `low_mm` and
    `high_mm` the heights of their face above the die top.
    """

    bends: tuple[int, ...]
    angles_deg: Mapping[int, float]
    rear: Rear
    side_up: Literal["A", "B"]
    x_mm: float
    fingers_mm: tuple[float, ...]
    finger_width_mm: float
    low_mm: float
    high_mm: float
    die_width_mm: float
    line_mm: float = 0.0

    def front_face(self, part: FlatPart) -> int:
        """The face that lies on the die in front of the bend line."""
        first, last = self.bends[0], self.bends[-1]
        if self.rear == "second":
            return part.bends[first].faces[0]
        is_offset = part.bend_at(first) == part.bend_at(last)
        return part.bends[last if is_offset else first].faces[1]


def draw_hold(part: FlatPart, held: Held, *, shorten: bool, title: str) -> str:
    """The step before the stroke; `shorten` cuts a long constant section to a length one can see."""
    part, fingers = _shortened(part, held) if shorten else (part, held.fingers_mm)
    lead = part.bends[held.bends[0]]
    motion = _in_front(part, held)
    lying = turned(plates_of(part, held.angles_deg, root=held.front_face(part)), motion)
    line = _along(motion, lead, part.thickness_mm)
    scale = _scale(lying)
    spans = _spans(part, held, motion)
    sign = 1.0 if line[1][0] > line[0][0] else -1.0
    width = min(held.finger_width_mm, 0.3 * abs(line[1][0] - line[0][0]) + 6.0)
    low = [plate for plate in lying if _hangs_behind(plate)]
    layers = [
        [_finger(held, line[0][0] + sign * at_mm, width, scale) for at_mm in fingers],
        low,
        [_die(held, span, scale) for span in spans],
        [plate for plate in lying if not _hangs_behind(plate)]
        + [_punch(part, span, scale) for span in spans],
    ]
    plates = [plate for layer in layers for plate in layer]
    seen = looking(yaw_deg=FROM_DEG[0], pitch_deg=FROM_DEG[1])
    front = min(float(plate.points[:, 1].min()) for plate in plates)
    middle = (min(low for low, _ in spans) + max(high for _, high in spans)) / 2
    arrow = [(middle, front - 0.34 * scale, 0.0), (middle, front - 0.04 * scale, 0.0)]
    tail, tip = (_flat(seen, point) for point in arrow)
    shown = [turned(layer, seen) for layer in layers]
    around = [point for layer in shown for point in bounds(layer)]
    sheet = Sheet.around([*around, tail, tip], margin=scale * 0.05)
    size = max(sheet.width, sheet.height * 1.5)
    for layer in shown:  # from far to near: what lies behind and below cannot hide what is above
        paint(sheet, layer, size * 0.0045)
    for bend in held.bends:
        ends = [
            _flat(seen, (x, y, part.thickness_mm))
            for x, y, _ in _along(motion, part.bends[bend], 0.0)
        ]
        dash = f"{size * 0.024:.2f} {size * 0.016:.2f}"
        sheet.line(ends[0], ends[1], line=INK, thick=size * 0.008, dash=dash)
    sheet.arrow(tail, tip, line=GAUGE, thick=size * 0.016, head=size * 0.045)
    if not shorten:
        _edges(sheet, seen, gauged_edges(part, held), size)
    _letter(sheet, seen, lying, part, held, size)
    return sheet.svg(title=title, role="hold")


def gauged_edges(part: FlatPart, held: Held) -> tuple[GaugedEdge, ...]:
    """The edges the fingers touch, named as on the flat pattern; none where a formed flange does."""
    lead = part.bends[held.bends[0]]
    motion = _in_front(part, held)
    poses = folded_poses(part, held.angles_deg, held.front_face(part))
    (start, _, _), (end, _, _) = _along(motion, lead, 0.0)
    sign = 1.0 if end > start else -1.0
    fingers = tuple(start + sign * at_mm for at_mm in held.fingers_mm)
    return edges_at_gauge(part, poses, motion, x_mm=held.x_mm, fingers_right_mm=fingers)


def _edges(sheet: Sheet, seen: Points, edges: Sequence[GaugedEdge], size: float) -> None:
    """Each edge at the gauge as a blue line with its name."""
    ends = [[_flat(seen, (one[0], one[1], one[2])) for one in (e.start, e.end)] for e in edges]
    for first, last in ends:
        sheet.line(first, last, line=GAUGE, thick=size * 0.012)
    for edge, (first, last) in zip(edges, ends, strict=True):
        at = ((first[0] + last[0]) / 2, (first[1] + last[1]) / 2)
        radius = size * (0.022 + 0.01 * len(edge.edge.name))
        sheet.circle(at, radius, fill=PAPER, line=GAUGE, thick=size * 0.005)
        sheet.text(at, edge.edge.name, size=size * 0.042, colour=INK, bold=True)


def _hangs_behind(plate: Plate) -> bool:
    """Whether a piece hangs below the die top behind the die."""
    points = plate.points
    return float(points[:, 2].max()) < LEVEL_MM and float(points[:, 1].min()) > 0.0


def _in_front(part: FlatPart, held: Held) -> Points:
    """From the part's flat coordinates to: right, away from the operator, up; the die at 0."""
    lead = part.bends[held.bends[0]]
    across = part.across[held.bends[0]]
    away = across if held.rear == "second" else (-across[0], -across[1])
    up = 1.0 if held.side_up == "A" else -1.0
    right = (up * away[1], -up * away[0])
    u, v = lead.line_mm[0]
    motion = np.eye(4)
    motion[0, :2], motion[1, :2], motion[2, 2] = right, away, up
    motion[2, :2] = 0.0
    motion[0, 3] = -(right[0] * u + right[1] * v)
    lines = [part.bends[bend].line_mm[0] for bend in held.bends]
    middle = [sum(point[axis] for point in lines) / len(lines) for axis in (0, 1)]
    motion[1, 3] = held.line_mm - (away[0] * middle[0] + away[1] * middle[1])
    motion[2, 3] = 0.0 if up > 0 else part.thickness_mm
    return motion


def _along(motion: Points, bend: BendLine, height_mm: float) -> list[tuple[float, float, float]]:
    ends = np.array([[u, v, height_mm] for u, v in bend.line_mm])
    return [(float(p[0]), float(p[1]), float(p[2])) for p in moved(motion, ends)]


def _spans(
    part: FlatPart,
    held: Held,
    motion: Points,
) -> list[tuple[float, float]]:
    """Where the tools stand along the bed: over each bend of the stroke."""
    spans = []
    for bend in held.bends:
        ends = [x for x, _, _ in _along(motion, part.bends[bend], 0.0)]
        spans.append((min(ends), max(ends)))
    return spans


def _scale(plates: list[Plate]) -> float:
    points = np.concatenate([plate.points for plate in plates])
    return max(30.0, float((points.max(axis=0) - points.min(axis=0))[:2].max()))


def _die(held: Held, span: tuple[float, float], scale: float) -> Plate:
    half = min(held.die_width_mm / 2, 0.16 * scale)
    deep = min(DIE_DEEP_MM, 0.14 * scale)
    return block((span[0], -half, -deep), (span[1], half, -0.05), DIE_LOOK)


def _punch(part: FlatPart, span: tuple[float, float], scale: float) -> Plate:
    thin, high = 0.012 * scale, min(PUNCH_HIGH_MM, 0.16 * scale)
    low = part.thickness_mm + 0.1
    return block((span[0], -thin, low), (span[1], thin, low + high), PUNCH_LOOK, opacity=0.55)


def _finger(held: Held, at_mm: float, width_mm: float, scale: float) -> Plate:
    long = min(FINGER_LONG_MM, 0.2 * scale)
    low = max(held.low_mm, -4.0)
    return block(
        (at_mm - width_mm / 2, held.x_mm + 0.05, low),
        (at_mm + width_mm / 2, held.x_mm + long, max(held.high_mm, low + 4.0)),
        FINGER_LOOK,
    )


def _flat(seen: Points, point: tuple[float, float, float]) -> Point:
    x, y, _ = (seen @ np.array(point)).tolist()
    return float(x), float(y)


def _letter(
    sheet: Sheet,
    seen: Points,
    lying: list[Plate],
    part: FlatPart,
    held: Held,
    size: float,
) -> None:
    """The letter of the side that faces up, on the half that lies in front."""
    face = held.front_face(part)
    points = [plate.points for plate in lying if plate.face == face]
    if not points:
        return
    corners = np.concatenate(points)
    low, high = corners.min(axis=0), corners.max(axis=0)
    middle = (low + high) / 2
    at = _flat(seen, (float(low[0] * 0.78 + high[0] * 0.22), float(middle[1]), float(high[2])))
    sheet.circle(at, size * 0.034, fill=PAPER, line=SHEET, thick=size * 0.006)
    sheet.text(at, held.side_up, size=size * 0.046, colour=INK, bold=True)


def _shortened(part: FlatPart, held: Held) -> tuple[FlatPart, tuple[float, ...]]:
    """A constant section with less length along its bends, the fingers moved with it."""
    length_mm = part.bends[0].length_mm if part.bends else 0.0
    across_mm = max(u for face in part.faces for u, _ in face.outline_mm) - min(
        u for face in part.faces for u, _ in face.outline_mm
    )
    ratio = min(1.0, max(LEAST_LONG_MM, across_mm * LONGEST_RATIO) / max(length_mm, 1.0))

    def short(loop: Loop) -> Loop:
        return tuple((u, v * ratio) for u, v in loop)

    faces = tuple(Face(short(face.outline_mm)) for face in part.faces)
    bends = tuple(
        replace(bend, line_mm=(short(bend.line_mm)[0], short(bend.line_mm)[1]))
        for bend in part.bends
    )
    fingers = tuple(at_mm * ratio for at_mm in held.fingers_mm)
    return replace(part, faces=faces, bends=bends), fingers
