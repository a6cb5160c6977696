"""Random parts of a wanted number of stroke groups that can be bent, the same for a seed anywhere.

Profiles wander up and down as shelves, louvres and trims do, now and then back on themselves. Flat
parts are plates with tabs of several heights and angles on all sides, many with a return, as panels
and chassis are. Tools: a slim straight punch and a punch set back, in sections; one die.
"""

import math
import random
from dataclasses import dataclass, replace

from server.geometry.outline import Point
from server.geometry.part import Face
from server.mechanics.tooling import Axis, Brake, Finger
from server.planning.plan_task import FlatShape, FlatShapeBend, PlanTask, ShapeBend
from tests.unit.planning.shop import die, goose_neck, profile_task, straight

SECTIONS_MM = (10, 15, 20, 25, 30, 35, 40, 40, 45, 50, 80, 100, 100, 200, 200, 300, 500, 500)
BRAKE = Brake(
    name="the brake",
    max_force_kn=800.0,
    bed_length_mm=3000.0,
    opening_mm=450.0,
    x_axis=Axis(5.0, 900.0, 0.1),
    y_axis=Axis(0.0, 300.0, 0.05),
    y_sense=1,
    finger=Finger(0.0, 15.0, 20.0),
    bed_mm=((-16.0, 0.0), (-16.0, -300.0), (16.0, -300.0), (16.0, 0.0)),
)
GAP_MM = 24.0
LEAST_TAB_MM = 45.0


def drawn_profile(seed: int, strokes: int) -> PlanTask:
    """A profile with one bend for each stroke; it may or may not be possible."""
    rng = random.Random(f"profile {seed} {strokes}")
    heading, angles = 0.0, []
    widest = rng.choice([60.0, 90.0, 135.0])
    for _ in range(strokes):
        turns = [
            angle
            for size in (15.0, 30.0, 30.0, 45.0, 45.0, 60.0, 90.0)
            for angle in (size, -size)
            if abs(heading + angle) <= widest
        ]
        angles.append(rng.choice(turns))
        heading += angles[-1]
    legs = [float(rng.choice([22, 25, 30, 35, 40, 50, 65])) for _ in range(strokes + 1)]
    return _with_tools(profile_task(legs, angles, width_mm=rng.choice([120.0, 300.0, 900.0])))


def drawn_part(seed: int, strokes: int) -> PlanTask:
    """A plate with tabs and returns; it may or may not be possible."""
    rng = random.Random(f"part {seed} {strokes}")
    doubled = rng.randint(strokes // 4, strokes // 2)
    sides: list[list[bool]] = [[], [], [], []]
    for tab in range(strokes - doubled):
        sides[(tab + seed) % 4].append(tab < doubled)
    most = max(len(side) for side in sides)
    wide = most * (LEAST_TAB_MM + GAP_MM) + rng.choice([40.0, 80.0, 160.0])
    deep = max(wide * rng.choice([0.75, 1.0]), most * (LEAST_TAB_MM + GAP_MM) + 40.0)
    corners = [(0.0, 0.0), (wide, 0.0), (wide, deep), (0.0, deep)]
    plate = _Plate([Face(tuple(corners))], [])
    for number, returns in enumerate(sides):
        rng.shuffle(returns)
        side = _Side(corners[number], corners[(number + 1) % 4])
        room = side.length / max(1, len(returns))
        angles = rng.sample([90.0, 88.0, 85.0, 80.0, 75.0, 60.0, 45.0, -90.0, -60.0, -45.0], 10)
        heights = rng.sample([24.0, 28.0, 32.0, 37.0, 43.0, 50.0, 58.0], 7)
        for place, again in enumerate(returns):
            run = (place * room + GAP_MM / 2, (place + 1) * room - GAP_MM / 2)
            tall = heights[place % 7]
            tab = plate.stand(side, 0, run, (0.0, tall), angles[place % 10])
            if again:
                top = (tall, tall + rng.choice([16.0, 20.0]))
                plate.stand(side, tab, run, top, rng.choice([90.0, -90.0, 45.0]))
    task = profile_task([40.0, 40.0], [90.0])
    return _with_tools(replace(task, shape=FlatShape(tuple(plate.faces), tuple(plate.bends))))


@dataclass
class _Side:
    """One side of a plate, walked with the sheet on the left."""

    start: Point
    end: Point

    @property
    def length(self) -> float:
        return math.dist(self.start, self.end)

    def at(self, along: float, out: float) -> Point:
        """A point so far along the side and so far outside it."""
        u = (self.end[0] - self.start[0]) / self.length
        v = (self.end[1] - self.start[1]) / self.length
        return (self.start[0] + u * along + v * out, self.start[1] + v * along - u * out)


@dataclass
class _Plate:
    """Faces and bends as they are added."""

    faces: list[Face]
    bends: list[FlatShapeBend]

    def stand(
        self,
        side: _Side,
        on: int,
        run: tuple[float, float],
        out: tuple[float, float],
        angle: float,
    ) -> int:
        """Another face beside one, from a foot to a top outside the plate."""
        (low, high), (foot, top) = run, out
        line = (side.at(low, foot), side.at(high, foot))
        self.faces.append(Face((line[0], side.at(low, top), side.at(high, top), line[1])))
        self.bends.append(FlatShapeBend(line, (on, len(self.faces) - 1), ShapeBend(angle)))
        return len(self.faces) - 1


def _with_tools(task: PlanTask) -> PlanTask:
    sections = tuple(map(float, SECTIONS_MM))
    punches = [straight(width_mm=14.0, height_mm=140.0), goose_neck()]
    return replace(
        task,
        brake=BRAKE,
        punches=tuple(replace(punch, segments_mm=sections) for punch in punches),
        dies=(replace(die(), segments_mm=sections),),
    )
