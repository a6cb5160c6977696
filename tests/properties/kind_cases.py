"""Random profiles with hems, offsets and bumped radii, and the same asked as faces and bend lines."""

import itertools
import math
import random
from dataclasses import replace
from typing import Any

from server.geometry.part import Face
from server.geometry.profile import Profile
from server.mechanics.control_reading import TouchOff
from server.mechanics.k_factor import din6935_k_factor
from server.mechanics.tooling import Die, Finger, Punch
from server.planning.making import fits_of_die, make
from server.planning.plan_task import (
    FlatShape,
    FlatShapeBend,
    PlanTask,
    ProfileShape,
    ShapeBend,
    ToolPair,
)
from server.settings import HandlingSeconds
from tests.properties.kind_oracle import KindCase
from tests.properties.part_oracle import PartBend
from tests.properties.planning_cases import STEEL, brake, straight_punch, v_die

ACUTE_PUNCH = Punch(
    "acute", 0.8, 28.0, rating_kn_per_m=1000.0,
    profile_mm=((0.0, 0.0), (6.0, 24.0), (6.0, 120.0), (-6.0, 120.0), (-6.0, 24.0)),
)  # fmt: skip
ACUTE_DIE = Die(
    "V8-30", 8.0, 30.0, 1.0, rating_kn_per_m=1000.0,
    profile_mm=((-13, 0), (-4, 0), (0, -14.9), (4, 0), (13, 0), (13, -80), (-13, -80)),
)  # fmt: skip
FLATTENING = ToolPair(
    Punch("flat", 2.0, 90.0, rating_kn_per_m=2000.0,
          profile_mm=((-10, 0), (10, 0), (10, 80), (-10, 80))),
    Die("flat die", 20.0, 90.0, 1.0, rating_kn_per_m=2000.0,
        profile_mm=((-20, 0), (20, 0), (20, -60), (-20, -60))),
)  # fmt: skip


def offset_pair(step_mm: float) -> ToolPair:
    """Tools of one step."""
    return ToolPair(
        Punch("step punch", 1.0, 90.0, rating_kn_per_m=2000.0,
              profile_mm=((0, 0), (8, 0), (8, 80), (-8, 80), (-8, step_mm), (0, step_mm))),
        Die("step die", 12.0, 90.0, 1.0, rating_kn_per_m=2000.0, v_depth_mm=step_mm,
            profile_mm=((-20, 0), (0, 0), (0, -step_mm), (20, -step_mm), (20, -60), (-20, -60))),
    )  # fmt: skip


def random_kinds(seed: int) -> PlanTask:
    """A profile of one to four bends of any kind; about half of them can be made."""
    rng = random.Random(seed)
    count = rng.randint(1, 4)
    thickness = rng.choice([1.0, 1.5])
    has_hem = rng.random() < 0.6
    step_mm = rng.choice([3.0, 4.0, 6.0])

    def sign() -> float:
        return rng.choice([1.0, 1.0, -1.0])

    def bend(index: int) -> ShapeBend:
        roll = rng.random()
        if has_hem and index in (0, count - 1) and roll < 0.7:
            gap = rng.choice([0.0, 0.0, thickness, 2.0])
            return ShapeBend(180.0 * sign(), "hem", gap_mm=gap)
        if roll < 0.35:
            return ShapeBend(
                rng.choice([45.0, 60.0, 90.0]) * sign(), "offset",
                outside_offset_mm=step_mm + thickness,
            )  # fmt: skip
        if roll < 0.6:
            radius, angle = rng.choice([25.0, 40.0]), rng.choice([45.0, 60.0, 90.0])
            return ShapeBend(
                angle * sign(), "bump", inside_radius_mm=radius, step_deg=rng.choice([15.0, 22.5])
            )
        return ShapeBend(rng.choice([90.0, 90.0, 45.0, 60.0]) * sign())

    bends = tuple(bend(index) for index in range(count))
    legs = [rng.choice([20.0, 30.0, 45.0, 60.0, 90.0]) for _ in range(count + 1)]
    for leg, one in ((0, bends[0]), (count, bends[-1])):
        if one.way == "hem":
            legs[leg] = rng.choice([6.0, 11.0, 13.0, 16.0])
    hems = any(one.way == "hem" for one in bends)
    punch: Any = ACUTE_PUNCH if hems else straight_punch(6.0, 110.0)
    tool = ACUTE_DIE if hems else v_die(8.0 * thickness, 84.0, 8.0 * thickness + 14.0, 60.0, 1.0)
    return PlanTask(
        shape=ProfileShape(rng.choice([60.0, 200.0]), tuple(legs), bends),
        thickness_mm=thickness,
        material=STEEL,
        brake=brake(Finger(0.0, 12.3, 30.0), rng.random() < 0.5, rng.choice([0.0, 18.0]), 420.0),
        punches=(punch,),
        dies=(tool,),
        touch_off=TouchOff("die", 100.0, thickness),
        flattening=FLATTENING,
        offset_tools=offset_pair(step_mm),
        keyed_exactly=True,
    )


def as_faces(task: PlanTask) -> PlanTask:
    """The same profile asked as faces and one line for each bend, in the middle of its zones."""
    made = make(task, [fits_of_die(task, task.dies[0])[0]] * task.bend_count)
    sheet = made.sheet
    assert isinstance(sheet, Profile)
    assert isinstance(task.shape, ProfileShape)
    lines = []
    for bend in range(task.bend_count):
        zones = [zone for zone, of in enumerate(made.bend_of_zone) if of == bend]
        lines.append((sheet.bend_lines_mm[zones[0]] + sheet.bend_lines_mm[zones[-1]]) / 2)
    wide = sheet.width_mm
    faces = tuple(
        Face(((u0, 0.0), (u1, 0.0), (u1, wide), (u0, wide)))
        for u0, u1 in itertools.pairwise((0.0, *lines, sheet.flat_length_mm))
    )
    bends = tuple(
        FlatShapeBend(((u, 0.0), (u, wide)), (index, index + 1), bend)
        for index, (u, bend) in enumerate(zip(lines, task.shape.bends, strict=True))
    )
    return replace(task, shape=FlatShape(faces, bends))


def random_kind_part(seed: int) -> tuple[KindCase, PlanTask]:
    """A base with a hem on one side, walls or a curve on others: for the oracle, and as asked."""
    rng = random.Random(seed)
    t = 1.0
    wide, deep = rng.choice([90.0, 120.0]), rng.choice([60.0, 80.0])
    faces: list[tuple[float, float, float, float]] = [(0.0, 0.0, wide, deep)]
    drawn = list(faces)
    bends: list[PartBend] = []
    shape: list[FlatShapeBend] = []
    hems: list[int] = []
    curves: list[list[int]] = []

    def sign() -> float:
        return rng.choice([1.0, 1.0, -1.0])

    def add(
        line: Any, out: tuple[float, float, float, float], bend: ShapeBend, on: int = 0
    ) -> None:
        faces.append(out)
        drawn.append(out)
        bends.append(PartBend(line, on, len(faces) - 1, bend.bend_angle_deg))
        shape.append(FlatShapeBend(line, (on, len(drawn) - 1), bend))

    flange = rng.choice([13.0, 16.0])
    inset = rng.choice([2.0, 8.0])
    low = 0.0
    on = 0
    if rng.random() < 0.4:  # the hem closes a wall, not the base
        low = -rng.choice([25.0, 45.0])
        wall = ShapeBend(rng.choice([90.0, 90.0, 60.0]) * sign())
        add(((inset, 0.0), (wide - inset, 0.0)), (inset, low, wide - inset, 0.0), wall)
        on = 1
    add(((inset, low), (wide - inset, low)), (inset, low - flange, wide - inset, low),
        ShapeBend(180.0 * sign(), "hem"), on)  # fmt: skip
    hems.append(on)
    if rng.random() < 0.5:
        tall = rng.choice([20.0, 30.0])
        add(((0.0, deep - 8.0), (0.0, 8.0)), (-tall, 8.0, 0.0, deep - 8.0),
            ShapeBend(rng.choice([90.0, 60.0]) * sign()))  # fmt: skip
    if rng.random() < 0.6:
        side = rng.choice(["wall", "curve"])
        beyond = rng.choice([25.0, 40.0])
        ends = ((wide, deep), (0.0, deep))
        if side == "wall":
            add(ends, (0.0, deep, wide, deep + beyond), ShapeBend(90.0 * sign()))
        else:
            radius, angle, count = 30.0, 45.0, 3
            bend = ShapeBend(angle * sign(), "bump", inside_radius_mm=radius, step_deg=15.0)
            k = din6935_k_factor(inside_radius_mm=radius, thickness_mm=t)
            pitch = math.radians(angle) * (radius + k * t) / count
            lines = [deep + (number - 1) * pitch for number in range(count)]
            drawn.append((0.0, deep, wide, deep + pitch + beyond))
            shape.append(FlatShapeBend(ends, (0, len(drawn) - 1), bend))
            faces[0] = (0.0, 0.0, wide, lines[0])
            near, first = 0, len(bends)
            for low, high in itertools.pairwise((*lines, deep + pitch + beyond)):
                faces.append((0.0, low, wide, high))
                line = ((wide, low), (0.0, low))
                each = math.copysign(angle / count, bend.bend_angle_deg)
                bends.append(PartBend(line, near, len(faces) - 1, each))
                near = len(faces) - 1
            curves.append(list(range(first, len(bends))))
    machine = replace(
        brake(Finger(0.0, rng.choice([10.3, 15.3]), 14.0), rng.random() < 0.5,
              rng.choice([0.0, 25.0]), 600.0),
        max_force_kn=5000.0, max_line_load_kn_per_m=5000.0,
    )  # fmt: skip
    pressed = FLATTENING
    case = KindCase(
        faces, bends, t, STEEL, machine, ACUTE_PUNCH, ACUTE_DIE,
        flat_punch=pressed.punch, flat_die=pressed.die, hems=hems, curves=curves,
    )  # fmt: skip
    task = PlanTask(
        shape=FlatShape(
            tuple(Face(((u0, v0), (u1, v0), (u1, v1), (u0, v1))) for u0, v0, u1, v1 in drawn),
            tuple(shape),
        ),
        thickness_mm=t,
        material=STEEL,
        brake=machine,
        punches=(ACUTE_PUNCH,),
        dies=(ACUTE_DIE,),
        touch_off=TouchOff("die", 100.0, t),
        handling=HandlingSeconds(other_station_s=0.0),
        flattening=pressed,
    )
    return case, task
