"""Random profiles, folded parts and tools, the same for a seed on any machine."""

import math
import os
import random
from dataclasses import replace

from server.geometry.part import Face
from server.geometry.profile import Profile, flat_part
from server.geometry.tool_outline import v_die_outline
from server.mechanics.control_reading import TouchOff
from server.mechanics.material import Material
from server.mechanics.tooling import Axis, Brake, Die, Finger, Punch
from server.planning.making import fits_of_die, make
from server.planning.plan_task import (
    FlatShape,
    FlatShapeBend,
    PlanTask,
    ProfileShape,
    ShapeBend,
)
from server.settings import HandlingSeconds
from tests.properties.part_oracle import PartBend, PartCase
from tests.properties.planning_oracle import Case

STEEL = Material(youngs_modulus_mpa=210000, yield_strength_mpa=280, tensile_strength_mpa=400)


def count_of(name: str, usual: int) -> int:
    """How many cases to try: the environment may ask for thousands."""
    return int(os.environ.get(name, usual))


def straight_punch(half_mm: float, height_mm: float, angle_deg: float = 85.0) -> Punch:
    shoulder = half_mm / math.tan(math.radians(angle_deg / 2))
    return Punch(
        f"straight {half_mm:g} {height_mm:g} {angle_deg:g}", 1.0, angle_deg,
        rating_kn_per_m=1000.0,
        profile_mm=((0, 0), (half_mm, shoulder), (half_mm, height_mm), (-half_mm, height_mm),
                    (-half_mm, shoulder)),
    )  # fmt: skip


def bent_punch(name: str, height_mm: float) -> Punch:
    """A punch with relief on one side, drawn by hand so that it is far from convex."""
    return Punch(
        name, 1.0, 85.0, rating_kn_per_m=600.0,
        profile_mm=((0, 0), (8, 8.7), (28, 30), (28, 75), (16, 95), (16, height_mm),
                    (-16, height_mm), (-16, 125), (14, 75), (14, 35), (-6, 14), (-6, 6.5)),
    )  # fmt: skip


def v_die(v_mm: float, angle_deg: float, width_mm: float, height_mm: float, rs_mm: float) -> Die:
    outline = v_die_outline(
        v_opening_mm=v_mm, angle_deg=angle_deg, shoulder_radius_mm=rs_mm, height_mm=height_mm,
        block_width_mm=width_mm,
    )  # fmt: skip
    return Die(f"V{v_mm:g}", v_mm, angle_deg, rs_mm, rating_kn_per_m=1000.0, profile_mm=outline)


def brake(finger: Finger, holder: bool, bed_half_mm: float, opening_mm: float) -> Brake:
    """A brake with or without holder and bed outlines (`bed_half_mm` 0: none)."""
    half = bed_half_mm
    return Brake(
        name="B",
        max_force_kn=800.0,
        bed_length_mm=2600.0,
        opening_mm=opening_mm,
        x_axis=Axis(5.0, 600.0, 0.1),
        y_axis=Axis(0.0, 300.0, 0.05),
        y_sense=1,
        finger=finger,
        holder_mm=((-20, 0), (20, 0), (20, 100), (-20, 100)) if holder else (),
        bed_mm=((-half, 0), (half, 0), (half, -200), (-half, -200)) if half else (),
    )


def random_profile(seed: int, most_bends: int, *, least_bends: int = 1, easy: bool = False) -> Case:
    """A profile and tools; about a third of them can be bent, of easy ones most."""
    rng = random.Random(seed)
    count = rng.randint(least_bends, most_bends)
    if easy:
        return _easy_profile(rng, count)
    legs = [
        rng.choice([12, 15, 20, 25, 30, 40, 50, 60, 80]) + rng.choice([0, 0, 3.7])
        for _ in range(count + 1)
    ]
    angles = [
        rng.choice([90, 90, 90, 90, 45, 60, 30, 120, rng.uniform(20, 110)]) * rng.choice([1, -1])
        for _ in range(count)
    ]
    thickness = rng.choice([1.0, 1.5, 2.0, 3.0])
    v = 8.0 * thickness
    punches = [
        rng.choice(
            [
                straight_punch(rng.choice([5.0, 8.0, 12.0]), rng.choice([70.0, 100.0, 130.0])),
                bent_punch("bent", 140.0),
            ]
        )
    ]
    if rng.random() < 0.3:
        punches[0] = straight_punch(6.0, 100.0, 55.0)
    if rng.random() < 0.3:
        punches.append(bent_punch("tall bent", 150.0))
    tool = v_die(
        v, rng.choice([60.0, 84.0]), v + rng.choice([12.0, 30.0]), rng.choice([40.0, 60.0]),
        rng.choice([1.0, 1.5, 2.0]),
    )  # fmt: skip
    low = rng.choice([0.0, 0.0, -5.0])
    machine = brake(
        Finger(low, low + rng.choice([10.0, 15.0, 25.0]), 30.0),
        rng.random() < 0.5,
        rng.choice([0.0, v / 2 + 6.0]),
        rng.choice([300.0, 400.0]),
    )
    width = rng.choice([25.0, 60.0, 200.0, 1000.0])
    return Case(legs, angles, width, thickness, STEEL, machine, punches, tool)


def _easy_profile(rng: random.Random, count: int) -> Case:
    """Long legs and small angles under a slim punch."""
    legs = [rng.choice([30.0, 40.0, 55.0, 70.0]) for _ in range(count + 1)]
    angles = [rng.choice([20, 30, 45, 90]) * rng.choice([1.0, -1.0]) for _ in range(count)]
    tool = v_die(16.0, 84.0, 28.0, 60.0, 1.5)
    machine = brake(Finger(0.0, 12.0, 30.0), False, 16.0, 400.0)
    punches = [straight_punch(6.0, 120.0)]
    return Case(legs, angles, 200.0, 2.0, STEEL, machine, punches, tool)


def profile_task(case: Case) -> PlanTask:
    """A profile as the planner is asked."""
    return PlanTask(
        shape=ProfileShape(
            case.width_mm, tuple(case.legs_mm), tuple(ShapeBend(a) for a in case.angles_deg)
        ),
        thickness_mm=case.thickness_mm,
        material=case.material,
        brake=case.brake,
        punches=tuple(case.punches),
        dies=(case.die,),
        touch_off=TouchOff("die", 100.0, case.thickness_mm),
    )


def as_flat_part(task: PlanTask) -> PlanTask:
    """The same profile asked as faces and bends."""
    made = make(task, [fits_of_die(task, task.dies[0])[0]] * task.bend_count)
    assert isinstance(made.sheet, Profile)
    part = flat_part(made.sheet)
    bends = tuple(
        FlatShapeBend(bend.line_mm, bend.faces, ShapeBend(bend.bend_angle_deg))
        for bend in part.bends
    )
    return replace(task, shape=FlatShape(part.faces, bends))


def random_part(seed: int) -> PartCase:
    """A base with walls on some sides, some in two tabs, some with returns."""
    rng = random.Random(seed)
    wide, deep = rng.choice([65.0, 90.0, 120.0, 150.0]), rng.choice([50.0, 80.0, 110.0])
    faces = [(0.0, 0.0, wide, deep)]
    bends: list[PartBend] = []

    def wall(face: int, side: int, low: float, high: float, out: float, angle: float) -> int:
        u0, v0, u1, v1 = faces[face]
        line, rectangle = {
            0: (((low, v0), (high, v0)), (low, v0 - out, high, v0)),
            1: (((u1, low), (u1, high)), (u1, low, u1 + out, high)),
            2: (((high, v1), (low, v1)), (low, v1, high, v1 + out)),
            3: (((u0, high), (u0, low)), (u0 - out, low, u0, high)),
        }[side]
        faces.append(rectangle)
        bends.append(PartBend(line, face, len(faces) - 1, angle))
        return len(faces) - 1

    def angle() -> float:
        return rng.choice([90.0, 90.0, 90.0, -90.0, 45.0, -60.0])

    for side in range(4):
        if rng.random() < 0.35:
            continue
        length = wide if side in (0, 2) else deep
        if rng.random() < 0.2 and length >= 90:
            first, gap, middle = angle(), rng.choice([8.0, 14.0]), length / 2
            other = first if rng.random() < 0.7 else -first
            wall(0, side, 10.0, middle - gap, rng.choice([15.0, 25.0]), first)
            wall(0, side, middle + gap, length - 10.0, rng.choice([15.0, 25.0]), other)
            continue
        inset = rng.choice([7.0, 7.0, 10.0])
        face = wall(0, side, inset, length - inset, rng.choice([18.0, 25.0, 35.0, 50.0]), angle())
        if rng.random() < 0.35:
            more = rng.choice([0.0, 12.0])
            wall(face, side, inset + more, length - inset - more, rng.choice([15.0, 20.0]), angle())
    punch = rng.choice(
        [straight_punch(rng.choice([6.0, 10.0]), rng.choice([60.0, 100.0])), bent_punch("b", 140.0)]
    )
    machine = replace(
        brake(
            Finger(0.0, rng.choice([10.0, 15.0]), 14.0),
            rng.random() < 0.5,
            rng.choice([0.0, 30.0]),
            1500.0,
        ),
        bed_length_mm=6000.0,
        max_force_kn=3000.0,
        max_line_load_kn_per_m=1000.0,
    )
    tool = v_die(16.0, 84.0, rng.choice([26.0, 44.0]), 60.0, 1.5)
    return PartCase(faces, bends, 2.0, STEEL, machine, punch, tool)


def part_task(case: PartCase) -> PlanTask:
    """A folded part as the planner is asked; stations cost nothing, as in the oracle."""
    return PlanTask(
        shape=FlatShape(
            tuple(Face(((u0, v0), (u1, v0), (u1, v1), (u0, v1))) for u0, v0, u1, v1 in case.faces),
            tuple(
                FlatShapeBend(bend.line, (bend.near, bend.far), ShapeBend(bend.angle_deg))
                for bend in case.bends
            ),
        ),
        thickness_mm=case.thickness_mm,
        material=case.material,
        brake=case.brake,
        punches=(case.punch,),
        dies=(case.die,),
        touch_off=TouchOff("die", 100.0, case.thickness_mm),
        handling=HandlingSeconds(other_station_s=0.0),
    )
