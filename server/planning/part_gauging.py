"""Where a half of a flat part meets the back gauge, in three dimensions."""

import math
from collections.abc import Iterable, Iterator, Sequence

import numpy as np
from shapely.geometry import Point as ShapelyPoint
from shapely.geometry import Polygon, box

from server.geometry.folding import Motion
from server.geometry.outline import Loop, Point, polygons_of
from server.geometry.part import FlatPart, zone_half
from server.geometry.solid import Span, outline_between, span_beyond
from server.geometry.thick_part import ThickPart
from server.mechanics.tooling import Finger
from server.planning.gauging import (
    PARALLEL_DEG,
    SAME_X_MM,
    UPRIGHT_DEG,
    Contact,
    ContactKind,
    farthest_in_window,
    finger_places,
    rounded_x,
)
from server.planning.part_half import PartHalf
from server.planning.placed_element import Element, PlacedElement
from server.planning.tool_staging import merged

PARALLEL_SIN = math.sin(math.radians(PARALLEL_DEG))
UPRIGHT_SIN = math.sin(math.radians(UPRIGHT_DEG))
BEYOND_MM = 0.1
ON_ZONE_MM = 0.02

Candidate = tuple[ContactKind, Point, int, Span]


class FreeEdges:
    """The edges of a flat part that no bend runs along: (start, end, outward) for each face."""

    def __init__(self, part: FlatPart, thick: ThickPart) -> None:
        self.of_face: list[list[tuple[Point, Point, Point]]] = []
        for face, regions in enumerate(thick.regions):
            zones = [
                zone_half(part, bend, face)
                for bend, line in enumerate(part.bends)
                if face in line.faces
            ]
            edges = []
            for region in regions:
                loop = region.outline_mm
                for i, start in enumerate(loop):
                    end = loop[(i + 1) % len(loop)]
                    length = math.dist(start, end)
                    middle = ShapelyPoint((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
                    if length > 0.0 and all(zone.distance(middle) > ON_ZONE_MM for zone in zones):
                        outward = ((end[1] - start[1]) / length, -(end[0] - start[0]) / length)
                        edges.append((start, end, outward))
            self.of_face.append(edges)


class PartGauge:
    """The contacts of every half in every state, pieced together from what single elements offer."""

    def __init__(self, edges: FreeEdges, finger: Finger) -> None:
        self.edges = edges
        self.finger = finger
        self._offers: dict[PlacedElement, list[Candidate]] = {}
        self._contacts: dict[tuple[PartHalf, int], list[Contact]] = {}
        self._windows: dict[PlacedElement, list[tuple[float, Loop]]] = {}
        self._covers: dict[tuple[PlacedElement, float], list[Span]] = {}

    def contacts(self, half: PartHalf, done: int) -> list[Contact]:
        """Every allowed contact of a half behind the die, the best first."""
        key = (half, done & half.mask)
        if key not in self._contacts:
            self._contacts[key] = self._found(half, done)
        return self._contacts[key]

    def _found(self, half: PartHalf, done: int) -> list[Contact]:
        placed = half.placed_elements(done)
        known, low_mm, high_mm = self._offers, self.finger.low_mm, self.finger.high_mm
        candidates: list[Candidate] = []
        for one in placed:
            candidates += known[one] if one in known else self._offered(half, one, done)
        if not candidates:
            return []
        candidates.sort(key=lambda offer: offer[0] != "edge")
        before = [one for one in placed if one.low_mm[1] < high_mm and one.high_mm[1] > low_mm]
        before.sort(key=lambda one: -one.high_mm[0])
        found = []
        taken: list[tuple[ContactKind, float]] = []
        for kind, at, face, _ in sorted(candidates, key=lambda one: (-one[1][0], one[0], one[2])):
            if any(kind == other and abs(at[0] - x) <= SAME_X_MM for other, x in taken):
                continue
            taken.append((kind, at[0]))
            spans = merged(
                span
                for other, point, _, span in candidates
                if other == kind and abs(point[0] - at[0]) <= SAME_X_MM
            )
            free = _free_spans(spans, self._covered(before, at[0], (spans[0][0], spans[-1][1])))
            places, stance_mm = finger_places(free, self.finger.width_mm)
            if places:
                found.append(Contact(kind, rounded_x(at[0]), face, at, places, stance_mm))
        return sorted(found, key=lambda contact: contact.rank)

    def offered_x(self, half: PartHalf, placed: PlacedElement, done: int) -> list[float]:
        """Every X at which one element could be touched, covered or not."""
        return [rounded_x(at[0]) for _, at, _, _ in self._offered(half, placed, done)]

    def _offered(self, half: PartHalf, placed: PlacedElement, done: int) -> list[Candidate]:
        """What a finger could touch of one element."""
        if placed not in self._offers:
            element = placed.element
            found: list[Candidate] = []
            if element.kind == "face":
                pose = half.face_pose(element.index, done)
                if not _upright(pose):  # else its outer face is what the finger meets
                    found += _edge_candidates(half, element.index, pose, self.edges, self.finger)
                elif not placed.flat:
                    found += _flange_candidates(half, element.index, pose, self.finger)
            elif not placed.flat:
                found += _fold_candidates(half, element, done, self.finger)
            self._offers[placed] = found
        return self._offers[placed]

    def _covered(
        self, before: Sequence[PlacedElement], x_mm: float, beside: Span
    ) -> Iterator[Span]:
        """What lies in the window farther to the rear than a stretch; `before` is rear-most first."""
        beyond_mm = x_mm + BEYOND_MM
        for one in before:
            if one.high_mm[0] <= beyond_mm:
                return
            if one.low_mm[2] >= beside[1] or one.high_mm[2] <= beside[0]:
                continue
            key = (one, x_mm)
            if key not in self._covers:
                self._covers[key] = [
                    span_beyond(loop, beyond_mm)
                    for high_x_mm, loop in self._in_window(one)
                    if high_x_mm > beyond_mm
                ]
            yield from self._covers[key]

    def _in_window(self, placed: PlacedElement) -> list[tuple[float, Loop]]:
        """What of an element lies at the finger's height: its greatest x, its outline in (x, z)."""
        if placed not in self._windows:
            low_mm, high_mm = self.finger.low_mm, self.finger.high_mm
            loops = [outline_between(solid, low_mm, high_mm) for solid in placed.solids]
            self._windows[placed] = [(max(loop)[0], loop) for loop in loops if loop]
        return self._windows[placed]


def _edge_candidates(
    half: PartHalf, face: int, pose: Motion, edges: FreeEdges, finger: Finger
) -> Iterator[Candidate]:
    (ax, bx, cx, dx), (ay, by, cy, dy), (az, bz, cz, dz) = pose[:3].tolist()
    t_mm = half.part.thickness_mm
    for start, end, outward in edges.of_face[face]:
        du, dv = end[0] - start[0], end[1] - start[1]
        along_x, along_y = ax * du + bx * dv, ay * du + by * dv
        if math.hypot(along_x, along_y) > PARALLEL_SIN * math.hypot(du, dv):
            continue
        if ax * outward[0] + bx * outward[1] <= 0.0:
            continue
        ends = [(ax * u + bx * v + dx, ay * u + by * v + dy) for u, v in (start, end)]
        (x0, y0), (x1, y1) = ends
        corners = [(max(x0, x1) + cx * w_mm, (y0 + y1) / 2 + cy * w_mm) for w_mm in (0.0, t_mm)]
        at = farthest_in_window(corners, finger.low_mm, finger.high_mm)
        if at is not None:
            zs = [az * u + bz * v + cz * w + dz for u, v in (start, end) for w in (0.0, t_mm)]
            yield "edge", at, face, (min(zs), max(zs))


def _flange_candidates(
    half: PartHalf, face: int, pose: Motion, finger: Finger
) -> Iterator[Candidate]:
    normal = pose[:3, 2]
    w_mm = half.part.thickness_mm if normal[0] > 0.0 else 0.0
    for region in half.thick.regions[face]:
        points = [pose[:3, :3] @ np.array([u, v, w_mm]) + pose[:3, 3] for u, v in region.outline_mm]
        seen = Polygon([(float(p[2]), float(p[1])) for p in points])
        low_z, _, high_z, _ = seen.bounds
        window = box(low_z - 1.0, finger.low_mm, high_z + 1.0, finger.high_mm)
        for piece in polygons_of(seen.intersection(window)):
            reach = _highest_x(points[0], normal, piece)
            yield "flange", reach, face, (piece.bounds[0], piece.bounds[2])


def _fold_candidates(
    half: PartHalf, element: Element, done: int, finger: Finger
) -> Iterator[Candidate]:
    """The fold of a closed hem along the bed: it counts as an edge of the face beyond it."""
    fold = half.closed_fold(element, done)
    if fold is None:
        return
    beyond, solids = fold
    corners = np.concatenate([solid.corners[[0, 3, 7, 4]] for solid in solids])
    ends = [
        at
        for ring in corners[:, :2].reshape(-1, 4, 2).tolist()
        for at in (farthest_in_window([tuple(p) for p in ring], finger.low_mm, finger.high_mm),)
        if at is not None
    ]
    if ends:
        spans = [solid.span(2) for solid in solids]
        at = max(ends)
        yield "edge", at, beyond, (min(low for low, _ in spans), max(high for _, high in spans))


def _upright(pose: Motion) -> bool:
    """Whether a face at a pose stands across the gauge's travel."""
    return bool(abs(pose[1, 2]) <= UPRIGHT_SIN and abs(pose[2, 2]) <= PARALLEL_SIN)


def _highest_x(a: np.ndarray, normal: np.ndarray, piece: Polygon) -> Point:
    """The rear-most point of a nearly upright face through `a` over a piece seen as (z, y)."""
    best: Point | None = None
    for z, y in piece.exterior.coords:
        x = float(a[0] - (normal[1] * (y - a[1]) + normal[2] * (z - a[2])) / normal[0])
        if best is None or (x, y) > best:
            best = (x, float(y))
    assert best is not None
    return best


def _free_spans(spans: list[Span], blocked: Iterable[Span]) -> list[Span]:
    """The stretches of a contact that nothing farther to the rear covers in the window."""
    free = []
    walls = merged(blocked)
    for low_z, high_z in spans:
        at = low_z
        for wall_low, wall_high in walls:
            if wall_high <= at or wall_low >= high_z:
                continue
            if wall_low > at:
                free.append((at, wall_low))
            at = max(at, wall_high)
        if at < high_z:
            free.append((at, high_z))
    return free
