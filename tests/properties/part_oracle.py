"""A planner for folded parts by brute force, written apart from the one it judges.

Follows the documents to the letter: every face is thick, clipped to the extent of each tool along
the bed, projected, eroded and intersected with the tool's polygon, at every sample of every stroke
in every order. Gauging is found by slicing the part every millimetre or two along the bed. Folding
uses scipy's rotations. From the house it takes only published mechanics. Parts are trees of
rectangles, each joined to its parent along one edge.
"""

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation
from shapely import affinity
from shapely.geometry import LineString, MultiPoint, Polygon, box

from server.mechanics.air_bend import AirBend, air_bend
from server.mechanics.bend_limits import BendCase, check_bend
from server.mechanics.k_factor import din6935_k_factor
from server.mechanics.material import Material
from server.mechanics.tooling import Brake, Die, Punch

SAMPLES = 33
STRIPS = 6
SLICE_MM = 1.0
Points = NDArray[np.float64]


@dataclass
class PartBend:
    """A bend line between a parent and a child rectangle."""

    line: tuple[tuple[float, float], tuple[float, float]]
    near: int
    far: int
    angle_deg: float


@dataclass
class PartCase:
    """Rectangles (u0, v0, u1, v1), bends between them, sheet and tools."""

    faces: list[tuple[float, float, float, float]]
    bends: list[PartBend]
    thickness_mm: float
    material: Material
    brake: Brake
    punch: Punch
    die: Die


class AmbiguousError(Exception):
    """Two gauge contacts so alike that slicing cannot rank them."""


@dataclass
class PartOracle:
    """All the facts of one part."""

    case: PartCase
    erosion_mm: float = 0.1
    airs: list[AirBend] = field(default_factory=list)
    zones: list[float] = field(default_factory=list)
    k: list[float] = field(default_factory=list)
    groups: list[list[int]] = field(default_factory=list)
    known: dict[tuple[int, int, int], tuple[str, float] | None] = field(default_factory=dict)
    kept: dict[tuple[object, ...], object] = field(default_factory=dict)

    def __post_init__(self) -> None:
        case = self.case
        self.group_up()
        for bend in case.bends:
            members = next(g for g in self.groups if case.bends.index(bend) in g)
            length = sum(math.dist(*case.bends[b].line) for b in members)
            air = air_bend(
                thickness_mm=case.thickness_mm,
                bend_length_mm=length,
                bend_angle_deg=abs(bend.angle_deg),
                material=case.material,
                die=case.die,
                punch=case.punch,
            )
            k = din6935_k_factor(
                inside_radius_mm=air.inside_radius_mm, thickness_mm=case.thickness_mm
            )
            self.airs.append(air)
            self.k.append(k)
            self.zones.append(
                math.radians(abs(bend.angle_deg)) * (air.inside_radius_mm + k * case.thickness_mm)
            )
        area = sum((u1 - u0) * (v1 - v0) for u0, v0, u1, v1 in case.faces)
        self.mass_kg = area * case.thickness_mm * case.material.density_kg_m3 / 1e9

    def group_up(self) -> None:
        """Bends on one line with the same signed angle are one stroke."""
        for index, bend in enumerate(self.case.bends):
            for group in self.groups:
                lead = self.case.bends[group[0]]
                (a, b), (c, d) = lead.line
                along = np.array([c - a, d - b]) / math.dist(*lead.line)
                off = [abs((u - a) * along[1] - (v - b) * along[0]) for u, v in bend.line]
                if max(off) < 0.01 and bend.angle_deg == lead.angle_deg:
                    group.append(index)
                    break
            else:
                self.groups.append([index])

    # --- folding -------------------------------------------------------------------------

    def across(self, bend: PartBend) -> Points:
        """Unit vector from the near face to the far one."""
        (a, b), (c, d) = bend.line
        normal = np.array([-(d - b), c - a]) / math.dist(*bend.line)
        u0, v0, u1, v1 = self.case.faces[bend.far]
        middle = np.array([(u0 + u1) / 2 - a, (v0 + v1) / 2 - b])
        return normal if float(normal @ middle) > 0.0 else -normal

    def step(self, index: int, near: int, folded: bool) -> Points:
        """Motion of the face beyond a bend as seen from the face before it."""
        if not folded:
            return np.eye(4)
        bend, t = self.case.bends[index], self.case.thickness_mm
        n2 = self.across(bend) * (1.0 if bend.near == near else -1.0)
        n = np.array([n2[0], n2[1], 0.0])
        w = np.array([0.0, 0.0, 1.0])
        start = np.array([*bend.line[0], 0.0])
        r = self.airs[index].inside_radius_mm
        height = t + r if bend.angle_deg > 0 else -r
        axis = start - n * self.zones[index] / 2 + w * height
        spin = Rotation.from_rotvec(np.cross(n, w) * math.radians(bend.angle_deg)).as_matrix()
        motion = np.eye(4)
        motion[:3, :3] = spin
        motion[:3, 3] = axis - spin @ (axis + n * self.zones[index])
        return motion

    def poses(self, root: int, done: int, flat: list[int]) -> dict[int, Points]:
        """Poses of all faces from a root; bends in `flat` are open whatever is done."""
        found = {root: np.eye(4)}
        waiting = [root]
        while waiting:
            near = waiting.pop()
            for index, bend in enumerate(self.case.bends):
                if near in (bend.near, bend.far):
                    far = bend.far if near == bend.near else bend.near
                    if far not in found:
                        folded = bool(done >> self.group_of(index) & 1) and index not in flat
                        found[far] = found[near] @ self.step(index, near, folded)
                        waiting.append(far)
        return found

    def group_of(self, bend: int) -> int:
        """Which group a bend belongs to."""
        return next(i for i, group in enumerate(self.groups) if bend in group)

    # --- pieces --------------------------------------------------------------------------

    def flat_region(self, face: int) -> Polygon:
        """What stays flat of a face."""
        shape = box(*self.case.faces[face])
        for index, bend in enumerate(self.case.bends):
            if face in (bend.near, bend.far):
                shape = shape.difference(self.zone_strip(index, face))
        return shape

    def zone_strip(self, index: int, face: int) -> Polygon:
        """The half of a bend zone in a face."""
        bend = self.case.bends[index]
        n = self.across(bend) * (1.0 if face == bend.far else -1.0) * self.zones[index] / 2
        (a, b), (c, d) = bend.line
        return Polygon([(a, b), (c, d), (c + n[0], d + n[1]), (a + n[0], b + n[1])])

    def half(self, group: int, which: int, done: int) -> list[tuple[str, int, bool, list[Points]]]:
        """The thick pieces of one half in its frame: (kind, number, in base plane, corner sets)."""
        bends = self.groups[group]
        mine, frame = self.frame(group, which)
        key = ("half", group, which, done & ~(1 << group))
        if key in self.kept:
            return self.kept[key]  # type: ignore[return-value]
        lead = self.case.bends[bends[0]]
        root = (lead.near, lead.far)[which]
        poses = self.poses(root, done, bends)
        t = self.case.thickness_mm
        found: list[tuple[str, int, bool, list[Points]]] = []
        for face in mine:
            triangles = shapely.constrained_delaunay_triangles(self.flat_region(face)).geoms
            motion = frame @ poses[face]
            sets = []
            for triangle in triangles:
                ring = np.array(triangle.exterior.coords)[:3]
                solid = np.array([[u, v, w] for w in (0.0, t) for u, v in ring])
                sets.append(solid @ motion[:3, :3].T + motion[:3, 3])
            base = np.abs(poses[face] - np.eye(4)).max() < 1e-9
            found.append(("face", face, base, sets))
        for index, bend in enumerate(self.case.bends):
            if index in bends or bend.near not in mine or bend.far not in mine:
                continue
            folded = bool(done >> self.group_of(index) & 1)
            base = np.abs(poses[bend.near] - np.eye(4)).max() < 1e-9 and not folded
            near = bend.near if self.closer(bend, root) else bend.far
            motion = frame @ poses[near]
            found.append(("zone", index, base, self.strips(index, near, folded, motion)))
        self.kept[key] = found
        return found

    def closer(self, bend: PartBend, root: int) -> bool:
        """Whether a bend's near face is the one toward a root."""
        seen, waiting = {root}, [root]
        while waiting:
            at = waiting.pop(0)
            for other in self.case.bends:
                if at in (other.near, other.far):
                    far = other.far if at == other.near else other.near
                    if far not in seen:
                        if other is bend:
                            return at == bend.near
                        seen.add(far)
                        waiting.append(far)
        raise AssertionError

    def strips(self, index: int, near: int, folded: bool, motion: Points) -> list[Points]:
        """A bend zone as thick strips."""
        bend, t = self.case.bends[index], self.case.thickness_mm
        n2 = self.across(bend) * (1.0 if bend.near == near else -1.0)
        n, w = np.array([*n2, 0.0]), np.array([0.0, 0.0, 1.0])
        ends = [np.array([*point, 0.0]) for point in bend.line]
        half = self.zones[index] / 2
        sets = []
        r = self.airs[index].inside_radius_mm
        height = t + r if bend.angle_deg > 0 else -r
        count = STRIPS if folded else 1
        for i in range(count):
            corners = []
            for share in (i / count, (i + 1) / count):
                for level in (0.0, t):
                    for end in ends:
                        if folded:
                            a = math.radians(bend.angle_deg) * share
                            arm = level - height
                            x, y = -half - arm * math.sin(a), height + arm * math.cos(a)
                        else:
                            x, y = -half + 2 * half * share, level
                        corners.append(end + n * x + w * y)
            points = np.array(corners)
            sets.append(points @ motion[:3, :3].T + motion[:3, 3])
        return sets

    def frame(self, group: int, which: int) -> tuple[list[int], Points]:
        """Faces of a half, and the way from its root's flat coordinates to its own frame."""
        bends = self.groups[group]
        lead = self.case.bends[bends[0]]
        side = {lead.near: 0}
        waiting = [lead.near]
        while waiting:
            near = waiting.pop()
            for index, bend in enumerate(self.case.bends):
                if near in (bend.near, bend.far):
                    far = bend.far if near == bend.near else bend.near
                    if far not in side:
                        side[far] = side[near] ^ (index in bends)
                        waiting.append(far)
        out = self.across(lead) * (1.0 if which else -1.0)
        (a, b), (c, d) = lead.line
        along = np.array([c - a, d - b]) / math.dist(*lead.line)
        up = 1.0 if lead.angle_deg > 0 else -1.0
        frame = np.eye(4)
        frame[0] = [out[0], out[1], 0.0, -(out[0] * a + out[1] * b)]
        frame[1] = [0.0, 0.0, up, 0.0 if up > 0 else self.case.thickness_mm]
        frame[2] = [along[0], along[1], 0.0, -(along[0] * a + along[1] * b)]
        return sorted(face for face in side if side[face] == which), frame

    def spans(self, group: int) -> list[tuple[float, float]]:
        """The bends of a group along its line."""
        lead = self.case.bends[self.groups[group][0]]
        (a, b), (c, d) = lead.line
        along = np.array([c - a, d - b]) / math.dist(*lead.line)
        found = []
        for index in self.groups[group]:
            z = [
                float((u - a) * along[0] + (v - b) * along[1])
                for u, v in self.case.bends[index].line
            ]
            found.append((min(z), max(z)))
        return found

    # --- the stroke ----------------------------------------------------------------------

    def tip(self, group: int, angle: float) -> float:
        """Tip above the die top by the depth formula of the documents."""
        die, t = self.case.die, self.case.thickness_mm
        ri = self.airs[self.groups[group][0]].loaded_inside_radius_mm
        w = math.radians(90.0 - die.angle_deg / 2)
        xs = die.v_opening_mm / 2 + die.shoulder_radius_mm * math.tan(w / 2)
        phi = math.radians(angle) / 2
        return t - (
            xs * math.tan(phi) - (die.shoulder_radius_mm + t + ri) * (1 / math.cos(phi) - 1)
        )

    def swung(self, shape: Polygon, group: int, angle: float, front: bool) -> Polygon:
        """A projected piece in the machine at an angle."""
        lead = self.groups[group][0]
        t, ri = self.case.thickness_mm, self.airs[lead].loaded_inside_radius_mm
        phi = math.radians(angle) / 2
        c, s = math.cos(phi), math.sin(phi)
        x0, y0 = -phi * (ri + self.k[lead] * t), -(t + ri)
        m = 1.0 if not front else -1.0
        return affinity.affine_transform(
            shape,
            [m * c, -m * s, s, c, m * (c * x0 - s * y0),
             s * x0 + c * y0 + self.tip(group, angle) + ri],
        )  # fmt: skip

    def seen(self, sets: list[Points], low: float, high: float) -> Polygon:
        """Thick pieces clipped to a stretch of the bed, projected and eroded."""
        shapes = []
        for points in sets:
            kept = [p[:2] for p in points if low <= p[2] <= high]
            for p, q in itertools.combinations(points, 2):
                for level in (low, high):
                    if (p[2] - level) * (q[2] - level) < 0.0:
                        share = (level - p[2]) / (q[2] - p[2])
                        kept.append((p + share * (q - p))[:2])
            if len(kept) >= 3:
                shapes.append(MultiPoint(kept).convex_hull.buffer(1e-7, join_style="mitre"))
        if not shapes:
            return Polygon()
        return shapely.union_all(shapes).buffer(-self.erosion_mm, join_style="mitre")

    def half_clear(self, group: int, which: int, done: int, front: bool) -> bool:
        """Whether a half clears punch and die over the bends' cores and 1 mm beside them, and
        holder and bed over their whole length."""
        key = ("clear", group, which, done & ~(1 << group), front)
        if key not in self.kept:
            self.kept[key] = self._half_clear(group, which, done, front)
        return bool(self.kept[key])

    def _half_clear(self, group: int, which: int, done: int, front: bool) -> bool:
        case = self.case
        height = max(y for _, y in case.punch.profile_mm)
        depth = -min(y for _, y in case.die.profile_mm)
        holder = [affinity.translate(Polygon(case.brake.holder_mm), 0.0, height)] if (
            case.brake.holder_mm) else []  # fmt: skip
        bed = [affinity.translate(Polygon(case.brake.bed_mm), 0.0, -depth)] if (
            case.brake.bed_mm) else []  # fmt: skip
        cores = [(low + 2.0, high - 2.0) for low, high in self.spans(group)]
        whole = (-1e6, 1e6)
        tools = [
            *((Polygon(case.punch.profile_mm), span, True, False) for span in cores),
            *((shape, whole, True, False) for shape in holder),
            *((Polygon(case.die.profile_mm), span, False, True) for span in cores),
            *((shape, whole, False, True) for shape in bed),
        ]
        loaded = self.airs[self.groups[group][0]].loaded_bend_angle_deg
        opening = case.brake.opening_mm - height - depth
        moments = [(loaded * i / (SAMPLES - 1), None) for i in range(SAMPLES)]
        for _, _, base, sets in self.half(group, which, done):
            for tool, (low, high), moves, below in tools:
                if below and base:
                    continue
                shape = self.seen(sets, low, high)
                if shape.is_empty:
                    continue
                for angle, height_mm in [*moments, *([(0.0, opening)] if moves else [])]:
                    tip = self.tip(group, angle) if height_mm is None else height_mm
                    here = self.swung(shape, group, angle, front)
                    there = affinity.translate(tool, 0.0, tip) if moves else tool
                    if _share(here, there):
                        return False
        return True

    def rests(self, group: int, which: int, done: int) -> bool:
        """Whether the flat sheet reaches the shoulders along the bends."""
        lead = self.groups[group][0]
        air, t = self.airs[lead], self.case.thickness_mm
        half = math.radians(air.loaded_bend_angle_deg) / 2
        ri = air.loaded_inside_radius_mm
        least = air.minimum_flange_mm * 1.1 - math.tan(half) * (ri + t)
        least += half * (ri + self.k[lead] * t)
        mine, frame = self.frame(group, which)
        bend = self.case.bends[lead]
        poses = self.poses((bend.near, bend.far)[which], done, self.groups[group])
        flat = []
        for face in mine:
            if np.abs(poses[face] - np.eye(4)).max() > 1e-9:
                continue
            flat.append(self.flat_region(face))
            for index, other in enumerate(self.case.bends):
                if face in (other.near, other.far) and (
                    index in self.groups[group] or not done >> self.group_of(index) & 1
                ):
                    flat.append(self.zone_strip(index, face))
        sheet = shapely.union_all([shape.buffer(1e-5) for shape in flat])
        out, along = frame[0][:2], frame[2][:2]
        start = np.array(bend.line[0])
        for low, high in self.spans(group):
            ends = [start + along * z + out * least for z in (low, high)]
            line = LineString(ends)
            bare = line.difference(sheet)
            pieces = [bare] if bare.geom_type == "LineString" else list(bare.geoms)
            bearing = line.length
            for piece in pieces:
                if piece.length < 0.01:
                    continue
                bearing -= piece.length
                at_end = piece.distance(line.boundary) < 1e-3
                if piece.length > (least if at_end else self.case.die.v_opening_mm):
                    return False
            if bearing < (high - low) / 2:
                return False
        return True

    def one_line(self, group: int, done: int) -> bool:
        """Whether the group's bends are still on one line."""
        for which in (0, 1):
            lead = self.case.bends[self.groups[group][0]]
            poses = self.poses((lead.near, lead.far)[which], done, self.groups[group])
            mine, _ = self.frame(group, which)
            for index in self.groups[group]:
                for face in (self.case.bends[index].near, self.case.bends[index].far):
                    if face in mine and np.abs(poses[face] - np.eye(4)).max() > 1e-6:
                        return False
        return True

    # --- gauging by slices ---------------------------------------------------------------

    def contact(
        self, group: int, which: int, done: int
    ) -> tuple[str, float, int, tuple[float, ...]] | None:
        """Best contact of a half behind the die: kind, X, face, finger places."""
        key = ("contact", group, which, done & ~(1 << group))
        if key not in self.kept:
            self.kept[key] = self._contact(group, which, done)
        return self.kept[key]  # type: ignore[return-value]

    def _contact(self, group: int, which: int, done: int):  # type: ignore[no-untyped-def]
        finger, axis = self.case.brake.finger, self.case.brake.x_axis
        pieces = self.half(group, which, done)
        every = np.concatenate([points for *_, sets in pieces for points in sets])
        low_z, high_z = every[:, 2].min(), every[:, 2].max()
        rows: list[tuple[str, float, int, tuple[float, float]] | None] = []
        zs = np.arange(low_z + SLICE_MM / 2, high_z, SLICE_MM)
        features = self._features(group, which, done)
        for z in zs:
            best = -math.inf
            for *_, sets in pieces:
                for points in sets:
                    cut = _cut(points, z)
                    reach = _reach(cut, finger.low_mm, finger.high_mm)
                    best = max(best, reach)
            match = [
                (kind, x, face, span)
                for kind, x, face, span in features
                if abs(x - best) <= 0.06 and span[0] <= z <= span[1]
            ]
            match.sort(key=lambda one: (one[0] != "flange", -one[1]))
            rows.append(match[0] if match else None)
        found: dict[tuple[str, float], list[tuple[float, float, int]]] = {}
        for index, row in enumerate(rows):
            if row is None:
                continue
            kind, x, face, span = row
            same = next((k for k in found if k[0] == kind and abs(k[1] - x) <= 0.05), (kind, x))
            runs = found.setdefault(same, [])
            z0, z1 = zs[index] - SLICE_MM / 2, zs[index] + SLICE_MM / 2
            if abs(z1 - span[1]) <= SLICE_MM:
                z1 = span[1]  # the feature's own end, not the slice's
            if runs and runs[-1][1] >= z0 - 1e-6:
                runs[-1] = (runs[-1][0], z1, runs[-1][2])
            else:
                runs.append((span[0] if abs(z0 - span[0]) <= SLICE_MM else z0, z1, face))
        options: list[tuple[bool, str, float, float, int, tuple[float, ...]]] = []
        nearest = -math.inf
        window = box(-1e5, finger.low_mm, 1e5, finger.high_mm)
        for outline in (self.case.die.profile_mm,):
            inside = Polygon(outline).intersection(window)
            if inside.area > 1e-6:
                nearest = max(nearest, inside.bounds[2])
        for (kind, x), runs in found.items():
            width = finger.width_mm
            for z0, z1, _ in runs:
                if 1e-6 < abs(z1 - z0 - width) < SLICE_MM:
                    raise AmbiguousError
            long = [run for run in runs if run[1] - run[0] >= width - 1e-6]
            if not long or not axis.least_mm <= x <= axis.most_mm or x < nearest:
                continue
            first, last = min(r[0] for r in long) + width / 2, max(r[1] for r in long) - width / 2
            if 1e-6 < abs(last - first - 2 * width) < 2 * SLICE_MM:
                raise AmbiguousError
            if last - first >= 2 * width - 1e-6:
                options.append((False, kind, last - first + width, x, long[0][2], (first, last)))
            else:
                run = max(long, key=lambda one: one[1] - one[0])
                middle = (run[0] + run[1]) / 2
                options.append((True, kind, run[1] - run[0], x, run[2], (middle,)))
        if not options:
            return None
        options.sort(key=lambda one: (one[0], one[1] == "flange", -one[2], one[3]))
        if len(options) > 1:
            a, b = options[0], options[1]
            if (a[0], a[1]) == (b[0], b[1]) and 1e-6 < abs(a[2] - b[2]) < 2 * SLICE_MM:
                raise AmbiguousError
        _, kind, _, x, face, places = options[0]
        return kind, x, face, places

    def _features(
        self, group: int, which: int, done: int
    ) -> list[tuple[str, float, int, tuple[float, float]]]:
        """Free edges along the bed and upright faces: kind, x in the window, face, extent."""
        finger, t = self.case.brake.finger, self.case.thickness_mm
        mine, frame = self.frame(group, which)
        lead = self.case.bends[self.groups[group][0]]
        poses = self.poses((lead.near, lead.far)[which], done, self.groups[group])
        found = []
        for face in mine:
            motion = frame @ poses[face]
            region = self.flat_region(face)
            normal = motion[:3, 2]
            base = np.abs(poses[face] - np.eye(4)).max() < 1e-9
            if not base and abs(normal[1]) <= math.sin(math.radians(5.0)) and abs(
                normal[2]) <= math.sin(math.radians(0.5)):  # fmt: skip
                level = t if normal[0] > 0 else 0.0
                ring = np.array([[u, v, level] for u, v in region.exterior.coords[:-1]])
                points = ring @ motion[:3, :3].T + motion[:3, 3]
                shape = Polygon(points[:, [2, 1]])
                window = box(-1e5, finger.low_mm, 1e5, finger.high_mm)
                inside = shape.intersection(window)
                for piece in getattr(inside, "geoms", [inside]):
                    if piece.area > 1e-9:
                        reach = _reach(points[:, :2], finger.low_mm, finger.high_mm)
                        found.append(("flange", reach, face, (piece.bounds[0], piece.bounds[2])))
            ring = np.array(region.exterior.coords)
            if not region.exterior.is_ccw:
                ring = ring[::-1]
            for start, end in itertools.pairwise(ring):
                middle = shapely.Point((start + end) / 2)
                if any(
                    self.zone_strip(i, face).distance(middle) < 0.02
                    for i, b in enumerate(self.case.bends)
                    if face in (b.near, b.far)
                ):
                    continue
                length = math.dist(start, end)
                along = motion[:3, :3] @ np.array([*(end - start), 0.0]) / length
                out = motion[:3, :3] @ np.array([end[1] - start[1], start[0] - end[0], 0.0])
                if abs(along[2]) < math.cos(math.radians(0.5)) or out[0] <= 0.0:
                    continue
                corners = (
                    np.array([[*p, w] for w in (0.0, t) for p in (start, end)]) @ motion[:3, :3].T
                    + motion[:3, 3]
                )
                reach = _reach(corners[[0, 2], :2], finger.low_mm, finger.high_mm)
                if reach > -math.inf:
                    z = corners[:, 2]
                    found.append(("edge", reach, face, (z.min(), z.max())))
        return found

    def finger_clear(self, group: int, which: int, done: int, contact) -> bool:  # type: ignore[no-untyped-def]
        """Whether everything but the touching face stays off the fingers."""
        kind, x, face, places = contact
        finger = self.case.brake.finger
        block = box(x, finger.low_mm, x + 60.0, finger.high_mm)
        loaded = self.airs[self.groups[group][0]].loaded_bend_angle_deg
        for what, number, base, sets in self.half(group, which, done):
            if base or (kind == "edge" and what == "face" and number == face):
                continue
            for place in places:
                shape = self.seen(sets, place - finger.width_mm / 2, place + finger.width_mm / 2)
                if shape.is_empty:
                    continue
                if any(
                    _share(self.swung(shape, group, loaded * i / (SAMPLES - 1), False), block)
                    for i in range(SAMPLES)
                ):
                    return False
        return True

    def clear_of_itself(self, group: int, done: int) -> bool:
        """Whether the halves are apart at the end of the stroke, slice by slice."""
        loaded = self.airs[self.groups[group][0]].loaded_bend_angle_deg
        halves = [self.half(group, which, done) for which in (0, 1)]
        swung = []
        for which, half in enumerate(halves):
            moved = []
            for _, _, base, sets in half:
                for points in sets:
                    flat = [
                        self.swung(shapely.Point(p[:2]), group, loaded, which == 1) for p in points
                    ]
                    moved.append(
                        (
                            base,
                            np.array([[q.x, q.y, p[2]] for q, p in zip(flat, points, strict=True)]),
                        )
                    )
            swung.append(moved)
        if min(p[:, 0].min() for _, p in swung[0]) >= max(p[:, 0].max() for _, p in swung[1]):
            return True
        for base_a, a in swung[0]:
            for base_b, b in swung[1]:
                if base_a and base_b:
                    continue
                low, high = max(a[:, 2].min(), b[:, 2].min()), min(a[:, 2].max(), b[:, 2].max())
                if low >= high or (a.min(axis=0) >= b.max(axis=0)).any() or (
                    b.min(axis=0) >= a.max(axis=0)).any():  # fmt: skip
                    continue
                for share in (0.1, 0.5, 0.9):
                    z = low + (high - low) * share
                    cuts = [MultiPoint(_cut(s, z)).convex_hull for s in (a, b)]
                    thin = cuts[0].buffer(-2 * self.erosion_mm, join_style="mitre")
                    if _share(thin, cuts[1]):
                        return False
        return True

    def stroke(self, done: int, group: int, rear: int) -> tuple[str, float] | None:
        """The contact of a possible stroke, None when something blocks it."""
        key = (done, group, rear)
        if key not in self.known:
            self.known[key] = self._stroke(done, group, rear)
        return self.known[key]

    def _stroke(self, done: int, group: int, rear: int) -> tuple[str, float] | None:
        case = self.case
        lead = self.groups[group][0]
        limits = check_bend(
            BendCase(
                bend=self.airs[lead],
                thickness_mm=case.thickness_mm,
                bend_length_mm=sum(math.dist(*case.bends[b].line) for b in self.groups[group]),
                material=case.material,
                die=case.die,
                punch=case.punch,
                brake=case.brake,
            )
        )
        if any(finding.level == "stop" for finding in limits) or not self.one_line(group, done):
            return None
        if not (self.rests(group, 0, done) and self.rests(group, 1, done)):
            return None
        contact = self.contact(group, rear, done)
        if contact is None:
            return None
        if not self.half_clear(group, rear, done, False):
            return None
        if not self.half_clear(group, 1 - rear, done, True):
            return None
        if not self.finger_clear(group, rear, done, contact):
            return None
        return (contact[0], contact[1]) if self.clear_of_itself(group, done) else None

    # --- orders --------------------------------------------------------------------------

    def best(self) -> float:
        """Seconds of the cheapest order (stations not counted), infinite when there is none."""
        return min(self._all(0, None, 0.0), default=math.inf)

    def _all(
        self, done: int, last: tuple[float, tuple[float, float], float] | None, seconds: float
    ) -> Iterator[float]:
        count = len(self.groups)
        if done == (1 << count) - 1:
            yield seconds
            return
        heavier = 1.0 + self.mass_kg / 10.0
        for group, rear in itertools.product(range(count), (0, 1)):
            if done >> group & 1:
                continue
            contact = self.stroke(done, group, rear)
            if contact is None:
                continue
            _, frame = self.frame(group, rear)
            way = (round(float(frame[0][0]), 6), round(float(frame[0][1]), 6))
            side = math.copysign(1.0, self.case.bends[self.groups[group][0]].angle_deg)
            cost = 6.0 + (2.0 if contact[0] == "flange" else 0.0)
            if last is not None:
                cost += 6.0 * heavier * (last[0] != side)
                cost += 4.0 * heavier * (last[1] != way)
                if abs(last[2] - contact[1]) > 1e-6:
                    cost += 0.5 + abs(last[2] - contact[1]) / 100.0
            yield from self._all(done | 1 << group, (side, way, contact[1]), seconds + cost)


def _cut(points: Points, z: float) -> list[tuple[float, float]]:
    """Where the edges between any two corners of a convex piece pass one place of the bed."""
    found = []
    for p, q in itertools.combinations(points, 2):
        if (p[2] - z) * (q[2] - z) < 0.0:
            share = (z - p[2]) / (q[2] - p[2])
            found.append((float(p[0] + share * (q[0] - p[0])), float(p[1] + share * (q[1] - p[1]))))
    return found


def _reach(points: object, low: float, high: float) -> float:
    """Greatest x of the hull of some points between two heights."""
    corners = [(float(p[0]), float(p[1])) for p in points]  # type: ignore[attr-defined]
    best = max((x for x, y in corners if low <= y <= high), default=-math.inf)
    for (ax, ay), (bx, by) in itertools.combinations(corners, 2):
        for level in (low, high):
            if (ay - level) * (by - level) < 0.0:
                best = max(best, ax + (bx - ax) * (level - ay) / (by - ay))
    return best


def _share(first: Polygon, second: Polygon) -> bool:
    if first.is_empty or second.is_empty:
        return False
    a, b = first.bounds, second.bounds
    if a[0] >= b[2] or b[0] >= a[2] or a[1] >= b[3] or b[1] >= a[3]:
        return False
    return bool(first.intersection(second).area > 1e-7)
