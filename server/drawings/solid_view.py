"""A folded part seen in space: convex plates ordered from far to near and painted, as lines and areas.

The same way of ordering as the turning view in the browser, so both show the same part.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from server.drawings.svg import SHEET, STEEL, STEEL_LINE, Sheet
from server.drawings.svg import Point as Flat
from server.geometry.folding import arc_strips, folded_poses, lifted, moved
from server.geometry.outline import Loop
from server.geometry.part import FlatPart, bend_tree, flat_regions
from server.geometry.part_piece import EDGE, ZONE, face_pieces

Points = NDArray[np.float64]
TOUCH_MM = 0.02
STRIP_DEG = 22.5
LIGHT = np.array([-0.36, 0.5, 0.79])
FACING = 1e-6
LEAST_AREA = 1e-6
STRIP_MARKS = (0, EDGE, 0, EDGE)
"""The ends of a strip are edges of the sheet, its long sides meet the next strip."""
Look = tuple[str, str, str, str]
SHEET_LOOK: Look = ("#f4a57c", "#e2d9c8", "#c4602e", SHEET)
STEEL_LOOK: Look = (STEEL, STEEL, "#aab5c1", STEEL_LINE)


@dataclass
class Plate:
    """A convex solid between two rings of corners: (n, 3) each, and a mark for every edge.

    `look` has the fills of the high ring, the low ring and the rims, and the colour of lines.
    """

    low: Points
    high: Points
    marks: tuple[int, ...]
    look: Look
    face: int = -1
    opacity: float = 1.0
    planes: list[tuple[Points, float]] = field(default_factory=list)
    behind: list["Plate"] = field(default_factory=list)

    @property
    def points(self) -> Points:
        """Every corner."""
        return np.concatenate([self.low, self.high])


def plates_of(
    part: FlatPart, angles_deg: Mapping[int, float], *, root: int = 0, look: Look = SHEET_LOOK
) -> list[Plate]:
    """A part at some angles as plates in the frame of one face."""
    poses = folded_poses(part, angles_deg, root)
    plates = []
    for face, regions in enumerate(flat_regions(part)):
        for loop, marks in face_pieces(part, face, regions):
            rings = [moved(poses[face], lifted(loop, w)) for w in (0.0, part.thickness_mm)]
            plates.append(Plate(rings[0], rings[1], marks, look, face))
    tree = bend_tree(part, root)
    parent = {far: near for _, near, far in tree}
    twins = [
        (bend, b if parent.get(a) == b else a)
        for bend in part.twins
        for a, b in [part.bends[bend].faces]
    ]
    for bend, near in [*((bend, near) for bend, near, _ in tree), *twins]:
        angle_deg = angles_deg.get(bend, 0.0)
        strips = max(1, math.ceil(abs(angle_deg) / STRIP_DEG))
        zone = arc_strips(part, bend, angle_deg, near, strips) if angle_deg else _flat(part, bend)
        flipped = _runs_backward(part, bend, near if angle_deg else part.bends[bend].faces[0])
        for strip in zone:
            low, high = (moved(poses[near], ring[::-1] if flipped else ring) for ring in strip)
            plates.append(Plate(low, high, STRIP_MARKS, look))
    return plates


def block(
    low: tuple[float, float, float],
    high: tuple[float, float, float],
    look: Look,
    opacity: float = 1.0,
) -> Plate:
    """A box with its sides along the axes."""
    (x0, y0, z0), (x1, y1, z1) = low, high
    ring: Loop = ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
    return prism(ring, z0, z1, look, opacity)


def prism(
    outline: Sequence[Flat], low_mm: float, high_mm: float, look: Look, opacity: float = 1.0
) -> Plate:
    """A convex counter-clockwise outline between two heights."""
    marks = (EDGE,) * len(outline)
    return Plate(lifted(outline, low_mm), lifted(outline, high_mm), marks, look, opacity=opacity)


def turned(plates: Iterable[Plate], turn: Points) -> list[Plate]:
    """Plates after a turn (3 x 3, maybe with a shift: 4 x 4); a mirroring one keeps them solid."""
    motion = np.eye(4)
    motion[: turn.shape[0], : turn.shape[1]] = turn
    mirrored = float(np.linalg.det(motion[:3, :3])) < 0.0
    found = []
    for plate in plates:
        low, high, marks = moved(motion, plate.low), moved(motion, plate.high), plate.marks
        if mirrored:
            low, high = low[::-1], high[::-1]
            marks = (*marks[-2::-1], marks[-1])
        found.append(Plate(low, high, marks, plate.look, plate.face, plate.opacity))
    return found


def looking(*, yaw_deg: float, pitch_deg: float) -> Points:
    """The turn for an eye that looks along -z after it: yaw about z, then pitch about x."""
    yaw, pitch = math.radians(yaw_deg), math.radians(pitch_deg)
    about_z = np.array(
        [[math.cos(yaw), -math.sin(yaw), 0], [math.sin(yaw), math.cos(yaw), 0], [0, 0, 1]]
    )
    about_x = np.array(
        [[1, 0, 0], [0, math.cos(pitch), -math.sin(pitch)], [0, math.sin(pitch), math.cos(pitch)]]
    )
    turn: Points = about_x @ about_z
    return turn


def paint(sheet: Sheet, plates: Sequence[Plate], thick: float) -> list[Plate]:
    """Plates seen along -z, painted from far to near; they are given back in that order."""
    for plate in plates:
        plate.planes = _planes(plate)
    ordered = _far_to_near(list(plates))
    for plate in ordered:
        _paint_one(sheet, plate, thick)
    return ordered


def bounds(plates: Iterable[Plate]) -> list[Flat]:
    """Every corner as it is seen."""
    return [(float(p[0]), float(p[1])) for plate in plates for p in plate.points]


def _flat(part: FlatPart, bend: int) -> tuple[Points, ...]:
    line, (x, y) = part.bends[bend], part.across[bend]
    half = line.allowance_mm / 2
    if half <= 0.0:
        return ()
    corners = [(u - x * half, v - y * half) for u, v in line.line_mm]
    corners += [(u + x * half, v + y * half) for u, v in line.line_mm[::-1]]
    return (np.stack([lifted(corners, 0.0), lifted(corners, part.thickness_mm)]),)


def _runs_backward(part: FlatPart, bend: int, near: int) -> bool:
    """Whether the corners of a bend's strips run clockwise seen on side A."""
    (x, y), (p, q) = part.bends[bend].along, part.across[bend]
    sign = 1.0 if part.bends[bend].faces[0] == near else -1.0
    return sign * (x * q - y * p) < 0.0


def _planes(plate: Plate) -> list[tuple[Points, float]]:
    count = len(plate.low)
    rings = [plate.high, plate.low[::-1]]
    for i in range(count):
        j = (i + 1) % count
        rings.append(np.array([plate.low[i], plate.low[j], plate.high[j], plate.high[i]]))
    return [_plane(ring) for ring in rings]


def _plane(ring: Points) -> tuple[Points, float]:
    """Outward normal and distance, by Newell's sum: corners in one line do no harm.

    A ring without area, as inside a closed hem, has no plane: nothing lies outside it.
    """
    after = np.roll(ring, -1, axis=0)
    minus, plus = ring - after, ring + after
    normal = np.array(
        [
            float(np.sum(minus[:, 1] * plus[:, 2])),
            float(np.sum(minus[:, 2] * plus[:, 0])),
            float(np.sum(minus[:, 0] * plus[:, 1])),
        ]
    )
    length = float(np.linalg.norm(normal))
    if length < LEAST_AREA:
        return np.zeros(3), math.inf
    normal /= length
    return normal, float(normal @ ring[0])


def _far_to_near(plates: list[Plate]) -> list[Plate]:
    plates.sort(key=lambda one: float(one.points[:, 2].mean()))
    boxes = {id(one): (one.points.min(axis=0), one.points.max(axis=0)) for one in plates}
    for index, a in enumerate(plates):
        for b in plates[index + 1 :]:
            (low_a, high_a), (low_b, high_b) = boxes[id(a)], boxes[id(b)]
            if np.any(low_a[:2] >= high_b[:2] - TOUCH_MM) or np.any(
                low_b[:2] >= high_a[:2] - TOUCH_MM
            ):
                continue
            which = _order(a, b, (low_a[2], high_a[2]), (low_b[2], high_b[2]))
            if which > 0:
                b.behind.append(a)
            elif which < 0:
                a.behind.append(b)
    done: list[Plate] = []
    seen: set[int] = set()
    for plate in plates:
        _visit(plate, seen, done)
    return done


def _visit(plate: Plate, seen: set[int], done: list[Plate]) -> None:
    if id(plate) in seen:
        return
    seen.add(id(plate))
    waiting = [(plate, iter(plate.behind))]
    while waiting:
        top, rest = waiting[-1]
        following = next((one for one in rest if id(one) not in seen), None)
        if following is None:
            done.append(top)
            waiting.pop()
        else:
            seen.add(id(following))
            waiting.append((following, iter(following.behind)))


def _order(a: Plate, b: Plate, depth_a: tuple[float, float], depth_b: tuple[float, float]) -> float:
    """1 when the first lies behind the second, -1 when in front, 0 when it does not show.

    Two plates parted both ways do not cover each other: calling one of them first would make rings.
    """
    if depth_a[1] <= depth_b[0] + TOUCH_MM:
        return 1.0
    if depth_b[1] <= depth_a[0] + TOUCH_MM:
        return -1.0
    found = 0.0
    for first, second, sign in ((a, b, 1.0), (b, a, -1.0)):
        points = second.points
        for normal, distance in first.planes:
            if bool(np.all(points @ normal >= distance - TOUCH_MM)):
                facing = float(normal[2])
                which = 0.0 if abs(facing) < FACING else math.copysign(sign, facing * sign)
                if which in (0.0, -found):
                    return 0.0
                found = which
    if found:
        return found
    return math.copysign(1.0, float(b.points[:, 2].mean() - a.points[:, 2].mean()))


def _paint_one(sheet: Sheet, plate: Plate, thick: float) -> None:
    upper, lower, rim, line = plate.look
    count = len(plate.low)
    for i in range(count):
        normal = plate.planes[i + 2][0]
        if plate.marks[i] != EDGE or normal[2] <= 0.0:
            continue
        j = (i + 1) % count
        wall = [plate.low[i], plate.low[j], plate.high[j], plate.high[i]]
        fill = shaded(rim, normal)
        sheet.polygon(_seen(wall), fill=fill, line=fill, thick=thick * 0.5, opacity=plate.opacity)
    for ring, (normal, _), fill in (
        (plate.high, plate.planes[0], upper),
        (plate.low, plate.planes[1], lower),
    ):
        if normal[2] <= 0.0:
            continue
        colour = shaded(fill, normal)
        sheet.polygon(
            _seen(ring), fill=colour, line=colour, thick=thick * 0.5, opacity=plate.opacity
        )
        for i in range(count):
            if plate.marks[i]:
                ends = _seen([ring[i], ring[(i + 1) % count]])
                faint = plate.marks[i] == ZONE
                sheet.line(ends[0], ends[1], line=line, thick=thick * (0.35 if faint else 1.0))


def shaded(colour: str, normal: Points) -> str:
    """A colour in the light that falls on a side."""
    light = 0.76 + 0.28 * max(0.0, float(normal @ LIGHT))
    parts = [int(colour[i : i + 2], 16) for i in (1, 3, 5)]
    return "#" + "".join(f"{min(255, round(part * light)):02x}" for part in parts)


def _seen(ring: Iterable[Points]) -> list[Flat]:
    return [(float(p[0]), float(p[1])) for p in ring]
