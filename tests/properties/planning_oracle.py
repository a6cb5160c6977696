"""A planner by brute force, written apart from the one it judges.

Sections are built as polygons with a general geometry library, eroded, moved and intersected; every
order, side, half and punch is tried. From the house it takes only published mechanics (`air_bend`,
`flat_length`) and the documents' rules; no planning, no geometry code. It is slow on purpose.
"""

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import Point, Polygon, box

from server.mechanics.air_bend import AirBend, air_bend
from server.mechanics.bend_limits import BendCase, check_bend
from server.mechanics.flat_length import FlatBend, flat_length
from server.mechanics.material import Material
from server.mechanics.tooling import Brake, Die, Punch

SAMPLES = 33
ARC_STEPS = 24
FINGER_DEPTH_MM = 60.0


@dataclass
class Case:
    """A profile to plan, with outside legs."""

    legs_mm: list[float]
    angles_deg: list[float]
    width_mm: float
    thickness_mm: float
    material: Material
    brake: Brake
    punches: list[Punch]
    die: Die


@dataclass
class Side:
    """One half beside a bend line in its own frame: x outward, y up."""

    whole: Polygon
    lifted: Polygon | None
    base: Polygon
    flat_mm: float
    contact: tuple[str, float] | None
    touching: Polygon


@dataclass
class Oracle:
    """All the facts of one case, tests kept by what they were asked."""

    case: Case
    erosion_mm: float = 0.1
    airs: list[AirBend] = field(default_factory=list)
    straights: list[float] = field(default_factory=list)
    zones: list[float] = field(default_factory=list)
    k: list[float] = field(default_factory=list)
    mass_kg: float = 0.0
    sides: dict[tuple[int, int, int], Side] = field(default_factory=dict)
    clear: dict[tuple[int, int, int, bool, str], bool] = field(default_factory=dict)
    known: dict[tuple[int, int, int, str], tuple[str, float] | None] = field(default_factory=dict)

    def __post_init__(self) -> None:
        case = self.case
        self.airs = [
            air_bend(
                thickness_mm=case.thickness_mm,
                bend_length_mm=case.width_mm,
                bend_angle_deg=abs(angle),
                material=case.material,
                die=case.die,
                punch=case.punches[0],
            )
            for angle in case.angles_deg
        ]
        flat = flat_length(
            thickness_mm=case.thickness_mm,
            legs_mm=case.legs_mm,
            bends=[
                FlatBend(angle, air.inside_radius_mm)
                for angle, air in zip(case.angles_deg, self.airs, strict=True)
            ],
        )
        self.straights = list(flat.straights_mm)
        self.zones = [use.bend_allowance_mm for use in flat.bends]
        self.k = [use.k_factor for use in flat.bends]
        self.mass_kg = (
            flat.flat_length_mm * case.width_mm * case.thickness_mm
            * case.material.density_kg_m3 / 1e9
        )  # fmt: skip

    # --- sections ------------------------------------------------------------------------

    def side(self, bend: int, way: int, done: int) -> Side:
        """The half on one side (way -1 or 1) of a bend's line with some bends folded."""
        beyond = range(bend - 1, -1, -1) if way < 0 else range(bend + 1, len(self.airs))
        mask = sum(1 << b for b in beyond)
        key = (bend, way, done & mask)
        if key not in self.sides:
            self.sides[key] = self._side(bend, list(beyond), way, done)
        return self.sides[key]

    def _side(self, bend: int, beyond: list[int], way: int, done: int) -> Side:
        t = self.case.thickness_mm
        sign = math.copysign(1.0, self.case.angles_deg[bend])
        at, heading = complex(self.zones[bend] / 2, 0.0), 0.0
        legs = [bend + 1 if way > 0 else bend] + [b + 1 if way > 0 else b for b in beyond]
        base: list[Polygon] = []
        lifted: list[Polygon] = []
        flat_mm: float | None = None
        faces: list[tuple[Polygon, float]] = []
        for number, leg in enumerate(legs):
            if number:
                zone = beyond[number - 1]
                if done >> zone & 1:
                    if flat_mm is None:
                        flat_mm = at.real
                    turn = math.radians(self.case.angles_deg[zone]) * sign
                    ring, at, heading = self._ring(at, heading, turn, self.airs[zone])
                    lifted.append(ring)
                else:
                    plate, at = self._plate(at, heading, self.zones[zone])
                    (base if flat_mm is None else lifted).append(plate)
            plate, at = self._plate(at, heading, self.straights[leg])
            (base if flat_mm is None else lifted).append(plate)
            faces.append((plate, heading))
        if flat_mm is None:
            flat_mm = at.real
        grown = 1e-7
        whole = shapely.union_all([p.buffer(grown, join_style="mitre") for p in base + lifted])
        lifted_union = (
            shapely.union_all([p.buffer(grown, join_style="mitre") for p in lifted])
            if lifted else None
        )  # fmt: skip
        return Side(
            whole,
            lifted_union,
            shapely.union_all(base),
            flat_mm,
            self._contact(whole, faces, t),
            faces[-1][0],
        )

    def _plate(self, at: complex, heading: float, length: float) -> tuple[Polygon, complex]:
        along = complex(math.cos(heading), math.sin(heading))
        up = along * 1j * self.case.thickness_mm
        end = at + along * length
        corners = [at, end, end + up, at + up]
        if length <= 0.0:
            return Polygon(), end
        return Polygon([(c.real, c.imag) for c in corners]), end

    def _ring(
        self, at: complex, heading: float, turn: float, air: AirBend
    ) -> tuple[Polygon, complex, float]:
        t, r = self.case.thickness_mm, air.inside_radius_mm
        up = complex(math.cos(heading), math.sin(heading)) * 1j
        centre = at + up * (t + r if turn > 0 else -r)
        turns = [turn * i / ARC_STEPS for i in range(ARC_STEPS + 1)]

        def spun(point: complex, angle: float) -> complex:
            return centre + (point - centre) * complex(math.cos(angle), math.sin(angle))

        lower = [spun(at, a) for a in turns]
        upper = [spun(at + up * t, a) for a in turns]
        shape = Polygon([(p.real, p.imag) for p in lower + upper[::-1]])
        return shape, lower[-1], heading + turn

    def _contact(
        self, whole: Polygon, faces: list[tuple[Polygon, float]], t: float
    ) -> tuple[str, float] | None:
        finger = self.case.brake.finger
        window = box(-1e5, finger.low_mm, 1e5, finger.high_mm)
        seen = whole.intersection(window)
        if seen.is_empty or self.case.width_mm < finger.width_mm:
            return None
        reach = seen.bounds[2]
        if seen.bounds[3] - seen.bounds[1] < 1e-6:
            return None
        for plate, heading in faces:
            inside = plate.intersection(window)
            upright = abs(math.cos(heading)) <= math.sin(math.radians(5.0))
            if upright and not inside.is_empty and inside.bounds[2] >= reach - 0.05:
                return "flange", reach
        last, _ = faces[-1]
        corners = list(last.exterior.coords)
        end = shapely.LineString(corners[1:3]).intersection(window)
        if not end.is_empty and end.bounds[2] >= reach - 0.05:
            return "edge", reach
        return None

    # --- the stroke ----------------------------------------------------------------------

    def _angles(self, bend: int) -> list[float]:
        loaded = self.airs[bend].loaded_bend_angle_deg
        return [loaded * i / (SAMPLES - 1) for i in range(SAMPLES)]

    def _tip(self, bend: int, angle: float) -> float:
        """Tip above the die top by the depth formula of the documents."""
        die, t = self.case.die, self.case.thickness_mm
        ri = self.airs[bend].loaded_inside_radius_mm
        w = math.radians(90.0 - die.angle_deg / 2)
        xs = die.v_opening_mm / 2 + die.shoulder_radius_mm * math.tan(w / 2)
        phi = math.radians(angle) / 2
        depth = xs * math.tan(phi) - (die.shoulder_radius_mm + t + ri) * (1 / math.cos(phi) - 1)
        return t - depth

    def _swung(self, shape: Polygon, bend: int, angle: float) -> Polygon:
        """A half's shape in the machine at an angle, still on the rear side."""
        t, ri = self.case.thickness_mm, self.airs[bend].loaded_inside_radius_mm
        phi = math.radians(angle) / 2
        rolled = phi * (ri + self.k[bend] * t)
        moved = affinity.translate(shape, -rolled, -(t + ri))
        turned = affinity.rotate(moved, math.degrees(phi), origin=(0.0, 0.0))
        return affinity.translate(turned, 0.0, self._tip(bend, angle) + ri)

    def _tools(self, punch: Punch) -> tuple[list[Polygon], list[Polygon]]:
        brake, die = self.case.brake, self.case.die
        height = max(y for _, y in punch.profile_mm)
        upper = [Polygon(punch.profile_mm)]
        if brake.holder_mm:
            upper.append(affinity.translate(Polygon(brake.holder_mm), 0.0, height))
        lower = [Polygon(die.profile_mm)]
        if brake.bed_mm:
            depth = -min(y for _, y in die.profile_mm)
            lower.append(affinity.translate(Polygon(brake.bed_mm), 0.0, -depth))
        return upper, lower

    def half_clear(self, bend: int, way: int, done: int, front: bool, punch: Punch) -> bool:
        """Whether a half meets no tool through the stroke."""
        mask = sum(1 << b for b in (range(bend) if way < 0 else range(bend + 1, len(self.airs))))
        key = (bend, way, done & mask, front, punch.name)
        if key not in self.clear:
            self.clear[key] = self._half_clear(bend, way, done, front, punch)
        return self.clear[key]

    def _half_clear(self, bend: int, way: int, done: int, front: bool, punch: Punch) -> bool:
        side = self.side(bend, way, done)
        upper, lower = self._tools(punch)
        thin = side.whole.buffer(-self.erosion_mm, join_style="mitre")
        raised = None if side.lifted is None else thin.intersection(side.lifted.buffer(1e-9))
        opening = self.case.brake.opening_mm
        opening -= max(y for _, y in punch.profile_mm)
        opening += min(y for _, y in self.case.die.profile_mm)
        moments = [(angle, self._tip(bend, angle)) for angle in self._angles(bend)]
        for angle, tip in [*moments, (0.0, opening)]:
            here = self._swung(thin, bend, angle)
            if front:
                here = affinity.scale(here, -1.0, 1.0, origin=(0.0, 0.0))
            if any(_share(here, affinity.translate(tool, 0.0, tip)) for tool in upper):
                return False
            if raised is not None:
                above = self._swung(raised, bend, angle)
                if front:
                    above = affinity.scale(above, -1.0, 1.0, origin=(0.0, 0.0))
                if any(_share(above, tool) for tool in lower):
                    return False
        return True

    def _finger_clear(self, bend: int, way: int, done: int, contact: tuple[str, float]) -> bool:
        side = self.side(bend, way, done)
        if side.lifted is None:
            return True
        finger = self.case.brake.finger
        rest = side.whole.buffer(-self.erosion_mm, join_style="mitre")
        if contact[0] == "edge":
            rest = rest.difference(side.touching.buffer(1e-6))
        block = box(contact[1], finger.low_mm, contact[1] + FINGER_DEPTH_MM, finger.high_mm)
        return not any(
            _share(self._swung(rest, bend, angle), block) for angle in self._angles(bend)
        )

    def _clear_of_itself(self, bend: int, done: int) -> bool:
        angle = self.airs[bend].loaded_bend_angle_deg
        parts = []
        for way, mirror in ((-1, 1.0), (1, -1.0)):
            side = self.side(bend, way, done)
            thin = side.whole.buffer(-self.erosion_mm, join_style="mitre")
            first = thin.intersection(side.base)
            parts.append(
                [
                    affinity.scale(self._swung(p, bend, angle), mirror, 1.0, origin=(0.0, 0.0))
                    for p in (thin, thin.difference(side.base.buffer(1e-6)), first)
                ]
            )
        (_, rest_a, base_a), (whole_b, rest_b, _) = parts
        return not (_share(rest_a, whole_b) or _share(base_a, rest_b))

    def stroke(self, done: int, bend: int, rear: int, punch: Punch) -> tuple[str, float] | None:
        """The gauge contact of a possible stroke, None when something blocks it."""
        key = (done, bend, rear, punch.name)
        if key not in self.known:
            self.known[key] = self._stroke(done, bend, rear, punch)
        return self.known[key]

    def _stroke(self, done: int, bend: int, rear: int, punch: Punch) -> tuple[str, float] | None:
        case = self.case
        behind, front = (-1, 1) if rear == 0 else (1, -1)
        air = self.airs[bend]
        limits = check_bend(
            BendCase(
                bend=air,
                thickness_mm=case.thickness_mm,
                bend_length_mm=case.width_mm,
                material=case.material,
                die=case.die,
                punch=punch,
                brake=case.brake,
            )
        )
        if any(finding.level == "stop" for finding in limits):
            return None
        half = math.radians(air.loaded_bend_angle_deg) / 2
        t, ri = case.thickness_mm, air.loaded_inside_radius_mm
        least = air.minimum_flange_mm * 1.1 - math.tan(half) * (ri + t)
        least += half * (ri + self.k[bend] * t)
        for way in (-1, 1):
            if self.side(bend, way, done).flat_mm < least - 1e-9:
                return None
        contact = self.side(bend, behind, done).contact
        axis = case.brake.x_axis
        if contact is None or not axis.least_mm <= contact[1] <= axis.most_mm:
            return None
        finger = case.brake.finger
        window = box(-1e5, finger.low_mm, 1e5, finger.high_mm)
        for tool in self._tools(punch)[1]:
            inside = tool.intersection(window)
            if inside.area > 1e-6 and contact[1] < inside.bounds[2] - 1e-9:
                return None
        if not self.half_clear(bend, behind, done, False, punch):
            return None
        if not self.half_clear(bend, front, done, True, punch):
            return None
        if not self._finger_clear(bend, behind, done, contact):
            return None
        return contact if self._clear_of_itself(bend, done) else None

    # --- orders --------------------------------------------------------------------------

    def best(self) -> float:
        """Seconds of the cheapest order, infinite when there is none."""
        count = len(self.airs)
        if count <= 5:
            return min(self._all_orders(), default=math.inf)
        return self._by_sets()

    def _all_orders(self) -> Iterator[float]:
        """Literally every order, half and punch."""
        count = len(self.airs)

        def go(
            done: int, last: tuple[float, int, float, str] | None, seconds: float
        ) -> Iterator[float]:
            if done == (1 << count) - 1:
                yield seconds
                return
            for bend, rear, punch in itertools.product(range(count), (0, 1), self.case.punches):
                if done >> bend & 1:
                    continue
                contact = self.stroke(done, bend, rear, punch)
                if contact is not None:
                    pose = (self._sign(bend), rear, contact[1], punch.name)
                    cost = self._cost(last, pose, contact)
                    yield from go(done | 1 << bend, pose, seconds + cost)

        return go(0, None, 0.0)

    def _by_sets(self) -> float:
        """The same by sets of bends and how the sheet lay last; nothing is left out."""
        count = len(self.airs)
        reached: dict[int, dict[tuple[float, int, float, str] | None, float]] = {0: {None: 0.0}}
        for done in range(1 << count):
            for last, seconds in reached.get(done, {}).items():
                for bend, rear, punch in itertools.product(range(count), (0, 1), self.case.punches):
                    if done >> bend & 1:
                        continue
                    contact = self.stroke(done, bend, rear, punch)
                    if contact is None:
                        continue
                    pose = (self._sign(bend), rear, round(contact[1], 7), punch.name)
                    cost = seconds + self._cost(last, pose, contact)
                    after = reached.setdefault(done | 1 << bend, {})
                    after[pose] = min(cost, after.get(pose, math.inf))
        return min(reached.get((1 << count) - 1, {}).values(), default=math.inf)

    def _sign(self, bend: int) -> float:
        return math.copysign(1.0, self.case.angles_deg[bend])

    def _cost(
        self,
        last: tuple[float, int, float, str] | None,
        pose: tuple[float, int, float, str],
        contact: tuple[str, float],
    ) -> float:
        """The documents' weights."""
        seconds = 6.0 + (2.0 if contact[0] == "flange" else 0.0)
        if last is None:
            return seconds
        heavier = 1.0 + self.mass_kg / 10.0
        if last[0] != pose[0]:
            seconds += 6.0 * heavier
        if last[1] != pose[1]:
            seconds += 4.0 * heavier
        if abs(last[2] - pose[2]) > 1e-6:
            seconds += 0.5 + abs(last[2] - pose[2]) / 100.0
        if last[3] != pose[3]:
            seconds += 300.0
        return seconds


def _share(first: Polygon, second: Polygon) -> bool:
    """Whether two areas overlap."""
    low_x, low_y, high_x, high_y = first.bounds if not first.is_empty else (0, 0, 0, 0)
    a_x, a_y, b_x, b_y = second.bounds
    if first.is_empty or low_x >= b_x or high_x <= a_x or low_y >= b_y or high_y <= a_y:
        return False
    return bool(np.isfinite(first.area)) and first.intersection(second).area > 1e-7


def near(point: tuple[float, float], shape: Polygon) -> float:
    """Distance of a point from a shape [mm]."""
    return float(shape.distance(Point(point)))
