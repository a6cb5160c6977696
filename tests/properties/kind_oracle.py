"""The brute-force planner of folded parts, with closed hems and curves made of hits.

A hem is a bend line with two strokes: the acute hit, and the flattening with tools of its own. A
curve is bend lines side by side with narrow rectangles between them, made as one unbroken row.
"""

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
from scipy.spatial.transform import Rotation
from shapely import affinity
from shapely.geometry import Polygon

from server.mechanics.air_bend import air_bend
from server.mechanics.hem import hem
from server.mechanics.k_factor import din6935_k_factor
from server.mechanics.tooling import Die, Punch
from tests.properties.part_oracle import PartCase, PartOracle, Points, _reach, _share

STRIPS = 12
HEM_K = 0.5
CHANGE_S = 300.0


@dataclass
class KindCase(PartCase):
    """A part with hems (indexes of bends of 180 degrees) and curves (rows of bends)."""

    flat_punch: Punch = field(kw_only=True)
    flat_die: Die = field(kw_only=True)
    hems: list[int] = field(default_factory=list, kw_only=True)
    curves: list[list[int]] = field(default_factory=list, kw_only=True)


@dataclass
class KindOracle(PartOracle):
    """All the facts of one part with hems and curves."""

    now: int = 0
    flatten: dict[int, int] = field(default_factory=dict)
    acute: dict[int, tuple[float, float, float]] = field(default_factory=dict)

    @property
    def own(self) -> KindCase:
        """The case with its kinds."""
        assert isinstance(self.case, KindCase)
        return self.case

    def __post_init__(self) -> None:
        case = self.own
        whole = {index: case.bends[index].angle_deg for index in case.hems}
        for index in case.hems:  # what the acute hit leaves, so that the rest can reckon with it
            length = math.dist(*case.bends[index].line)
            made = hem(
                thickness_mm=case.thickness_mm, bend_length_mm=length, material=case.material,
                die=case.die, punch=case.punch,
            )  # fmt: skip
            left = math.copysign(made.hits[0].bend_angle_deg, whole[index])
            case.bends[index].angle_deg = left
        super().__post_init__()
        t = case.thickness_mm
        for index in case.hems:
            length = math.dist(*case.bends[index].line)
            air = air_bend(
                thickness_mm=t, bend_length_mm=length, bend_angle_deg=abs(case.bends[index].angle_deg),
                material=case.material, die=case.die, punch=case.punch,
            )  # fmt: skip
            arc = math.radians(air.bend_angle_deg) * (air.inside_radius_mm + HEM_K * t)
            self.zones[index] = arc
            self.k[index] = din6935_k_factor(inside_radius_mm=air.inside_radius_mm, thickness_mm=t)
            self.flatten[len(self.groups)] = index
            self.groups.append([index])

    def group_of(self, bend: int) -> int:
        """The first stroke of a bend."""
        return next(i for i, group in enumerate(self.groups) if bend in group)

    def closed(self, index: int) -> bool:
        """Whether a hem is flattened in the state that is looked at."""
        return any(self.now >> group & 1 for group, bend in self.flatten.items() if bend == index)

    def state(self, index: int) -> tuple[float, float, float]:
        """Angle, inside radius and arc of a folded bend."""
        bend = self.case.bends[index]
        if index in self.own.hems and self.closed(index):
            arc = math.pi * HEM_K * self.case.thickness_mm
            return math.copysign(180.0, bend.angle_deg), 0.0, arc
        return bend.angle_deg, self.airs[index].inside_radius_mm, self.zones[index]

    def poses(self, root: int, done: int, flat: list[int]) -> dict[int, Points]:
        """As always, for the state that is looked at."""
        self.now = done
        return super().poses(root, done, flat)

    def step(self, index: int, near: int, folded: bool) -> Points:
        """Motion beyond a bend; what a closed hem does not take stays flat beside it."""
        if not folded:
            return np.eye(4)
        bend, t = self.case.bends[index], self.case.thickness_mm
        angle, r, arc = self.state(index)
        n2 = self.across(bend) * (1.0 if bend.near == near else -1.0)
        n, w = np.array([n2[0], n2[1], 0.0]), np.array([0.0, 0.0, 1.0])
        start = np.array([*bend.line[0], 0.0])
        axis = start - n * arc / 2 + w * (t + r if angle > 0 else -r)
        spin = Rotation.from_rotvec(np.cross(n, w) * math.radians(angle)).as_matrix()
        motion = np.eye(4)
        motion[:3, :3] = spin
        motion[:3, 3] = axis - spin @ (axis + n * arc)
        return motion

    def strips(self, index: int, near: int, folded: bool, motion: Points) -> list[Points]:
        """A bend zone as thick strips, flat where its arc does not reach."""
        if not folded or index not in self.own.hems:
            return super().strips(index, near, folded, motion)
        angle, r, arc = self.state(index)
        bend, t = self.case.bends[index], self.case.thickness_mm
        n2 = self.across(bend) * (1.0 if bend.near == near else -1.0)
        n, w = np.array([*n2, 0.0]), np.array([0.0, 0.0, 1.0])
        ends = [np.array([*point, 0.0]) for point in bend.line]
        height = t + r if angle > 0 else -r
        half, spare = self.zones[index] / 2, (self.zones[index] - arc) / 2

        def at(along: float, level: float) -> Points:
            """A place of the zone by how far along the flat it is."""
            turned = min(max((along - spare) / arc, 0.0), 1.0) * math.radians(angle)
            arm = level - height
            x, y = -half + spare - arm * math.sin(turned), height + arm * math.cos(turned)
            over = min(spare, along)
            beyond = max(0.0, along - spare - arc)
            x += over - spare + beyond * math.cos(turned)
            return n * x + w * (y + beyond * math.sin(turned))

        stations = [0.0, *(spare + arc * i / STRIPS for i in range(STRIPS + 1)), 2 * half]
        sets = []
        for first, second in itertools.pairwise(stations):
            if second - first < 1e-9:
                continue
            corners = [
                end + at(place, level)
                for place in (first, second) for level in (0.0, t) for end in ends
            ]  # fmt: skip
            sets.append(np.array(corners) @ motion[:3, :3].T + motion[:3, 3])
        return sets

    def _features(self, group: int, which: int, done: int):  # type: ignore[no-untyped-def]
        """A closed fold along the bed and toward the rear counts as an edge."""
        found = super()._features(group, which, done)
        mine, frame = self.frame(group, which)
        lead = self.case.bends[self.groups[group][0]]
        root = (lead.near, lead.far)[which]
        poses = self.poses(root, done, self.groups[group])
        finger = self.case.brake.finger
        for index in self.own.hems:
            bend = self.case.bends[index]
            if index in self.groups[group] or bend.near not in mine or not self.closed(index):
                continue
            near = bend.near if self.closer(bend, root) else bend.far
            far = bend.far if near == bend.near else bend.near
            motion = frame @ poses[near]
            out = motion[:3, :3] @ np.array([*self.across(bend), 0.0]) * (
                1.0 if near == bend.near else -1.0)  # fmt: skip
            (a, b), (c, d) = bend.line
            along = motion[:3, :3] @ np.array([c - a, d - b, 0.0]) / math.dist(*bend.line)
            if out[0] <= 1e-6 or abs(along[2]) < math.cos(math.radians(0.5)):
                continue
            sets = self.strips(index, near, True, motion)
            reach = max(_reach(points[:, :2], finger.low_mm, finger.high_mm) for points in sets)
            if reach > -math.inf:
                z = np.concatenate(sets)[:, 2]
                found.append(("edge", reach, far, (z.min(), z.max())))
        return found

    def _stroke(self, done: int, group: int, rear: int) -> tuple[str, float] | None:
        if group in self.flatten:
            return self._flattened(done, group, rear)
        for curve in self.own.curves:  # an unbroken row of hits
            if self.groups[group][0] in curve:
                at = curve.index(self.groups[group][0])
                made = [i for i, bend in enumerate(curve) if done >> self.group_of(bend) & 1]
                if made and not (at == min(made) - 1 or at == max(made) + 1):
                    return None
        return super()._stroke(done, group, rear)

    def _flattened(self, done: int, group: int, rear: int) -> tuple[str, float] | None:
        """The body lies in front with the fold at the fingers, the flange under the punch."""
        case, index = self.own, self.flatten[group]
        if not done >> self.group_of(index) & 1:
            return None
        reaches = []
        for which in (0, 1):
            mine, frame = self.frame(group, which)
            corners = [
                frame[0, :2] @ np.array(p) + frame[0, 3]
                for face in mine
                for u0, v0, u1, v1 in (case.faces[face],)
                for p in ((u0, v0), (u1, v0), (u1, v1), (u0, v1))
            ]
            reaches.append((len(mine) > 1, max(corners)))
        flange = min((0, 1), key=lambda which: reaches[which])
        if rear != flange:
            return None
        t = case.thickness_mm
        closed = 2 * t
        finger, axis = case.brake.finger, case.brake.x_axis
        window = Polygon([(-1e3, finger.low_mm), (1e3, finger.low_mm), (1e3, finger.high_mm),
                          (-1e3, finger.high_mm)])  # fmt: skip
        beside = affinity.translate(Polygon(case.flat_punch.profile_mm), 0.0, closed)
        over = beside.intersection(window)
        x = max(axis.least_mm, reaches[flange][1] / 2, over.bounds[2] if over.area > 1e-6 else 0.0)
        height = max(y for _, y in case.flat_punch.profile_mm)
        depth = -min(y for _, y in case.flat_die.profile_mm)
        opening = case.brake.opening_mm - height - depth
        moving = [Polygon(case.flat_punch.profile_mm)]
        standing = [Polygon(case.flat_die.profile_mm)]
        holder, bed = case.brake.holder_mm, case.brake.bed_mm
        cores = [(low + 2.0, high - 2.0) for low, high in self.spans(group)]
        whole = [(-1e6, 1e6)]
        tools = [(moving[0], cores, True), (standing[0], cores, False)]
        if holder:
            tools.append((affinity.translate(Polygon(holder), 0.0, height), whole, True))
        if bed:
            tools.append((affinity.translate(Polygon(bed), 0.0, -depth), whole, False))
        for _, _, base, sets in self.half(group, 1 - flange, done):
            for tool, spans, moves in tools:
                if base and not moves:
                    continue
                for low, high in spans:
                    shape = affinity.affine_transform(
                        self.seen(sets, low, high), [-1, 0, 0, 1, x, 0]
                    )
                    for tip in (closed, opening) if moves else (0.0,):
                        if _share(shape, affinity.translate(tool, 0.0, tip)):
                            return None
        return "edge", x

    def _all(self, done: int, last: object | None, seconds: float) -> Iterator[float]:
        count = len(self.groups)
        if done == (1 << count) - 1:
            yield seconds
            return
        heavier = 1.0 + self.mass_kg / 10.0
        for group in range(count):
            for rear in (0, 1):
                contact = None if done >> group & 1 else self.stroke(done, group, rear)
                if contact is None:
                    continue
                _, frame = self.frame(group, rear)
                way = (round(float(frame[0][0]), 6), round(float(frame[0][1]), 6))
                side = math.copysign(1.0, self.case.bends[self.groups[group][0]].angle_deg)
                cost = 6.0 + (2.0 if contact[0] == "flange" else 0.0)
                here = (side, way, contact[1], group in self.flatten)
                if last is not None:
                    before = last
                    assert isinstance(before, tuple)
                    cost += 6.0 * heavier * (before[0] != side)
                    cost += 4.0 * heavier * (before[1] != way)
                    cost += CHANGE_S * (before[3] != here[3])
                    if abs(before[2] - contact[1]) > 1e-6:
                        cost += 0.5 + abs(before[2] - contact[1]) / 100.0
                yield from self._all(done | 1 << group, here, seconds + cost)
