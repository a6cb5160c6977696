"""Tools, a brake and tasks of our own invention for the planner's tests."""

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from server.geometry.generator import Fold
from server.geometry.part import FlatPart
from server.geometry.tool_outline import (
    goose_neck_punch_outline,
    straight_punch_outline,
    v_die_outline,
)
from server.mechanics.control_reading import TouchOff
from server.mechanics.material import Material
from server.mechanics.tooling import Axis, Brake, Die, Finger, Punch
from server.planning.plan_task import (
    FlatShape,
    FlatShapeBend,
    PlanTask,
    ProfileShape,
    ShapeBend,
)

STEEL = Material(youngs_modulus_mpa=210000, yield_strength_mpa=280, tensile_strength_mpa=400)


def straight(
    name: str = "straight", *, height_mm: float = 120.0, width_mm: float = 20.0, tip_mm: float = 1.0
) -> Punch:
    outline = straight_punch_outline(
        tip_radius_mm=tip_mm, angle_deg=84.0, height_mm=height_mm, body_width_mm=width_mm
    )
    return Punch(name, tip_mm, 84.0, rating_kn_per_m=1000.0, profile_mm=outline)


def goose_neck(name: str = "goose neck") -> Punch:
    outline = goose_neck_punch_outline(
        tip_radius_mm=1.0,
        angle_deg=84.0,
        height_mm=160.0,
        relief_mm=26.0,
        neck_mm=20.0,
        nose_width_mm=12.0,
        top_width_mm=32.0,
    )
    return Punch(name, 1.0, 84.0, rating_kn_per_m=700.0, profile_mm=outline)


def die(v_mm: float = 16.0, *, width_mm: float | None = None, name: str | None = None) -> Die:
    outline = v_die_outline(
        v_opening_mm=v_mm,
        angle_deg=84.0,
        shoulder_radius_mm=1.5,
        height_mm=60.0,
        block_width_mm=v_mm + 14.0 if width_mm is None else width_mm,
    )
    return Die(name or f"V{v_mm:g}", v_mm, 84.0, 1.5, rating_kn_per_m=1000.0, profile_mm=outline)


BRAKE = Brake(
    name="the brake",
    max_force_kn=800.0,
    bed_length_mm=2600.0,
    opening_mm=400.0,
    x_axis=Axis(5.0, 700.0, 0.1),
    y_axis=Axis(0.0, 300.0, 0.05),
    y_sense=1,
    finger=Finger(0.0, 15.0, 30.0),
    bed_mm=((-30.0, 0.0), (-30.0, -300.0), (30.0, -300.0), (30.0, 0.0)),
)
HOLDER = ((-20.0, 0.0), (20.0, 0.0), (20.0, 150.0), (-20.0, 150.0))
TOUCH_OFF = TouchOff("die", 100.0, 2.0)


def _fold() -> Fold:
    """A right angle of the 2 mm sheet in V16, for parts that generators draw."""
    from server.mechanics.air_bend import air_bend
    from server.mechanics.k_factor import din6935_k_factor

    air = air_bend(
        thickness_mm=2.0,
        bend_length_mm=100.0,
        bend_angle_deg=90.0,
        material=STEEL,
        die=die(),
        punch=straight(),
    )
    r = air.inside_radius_mm
    k = din6935_k_factor(inside_radius_mm=r, thickness_mm=2.0)
    return Fold(90.0, r, math.pi / 2 * (r + k * 2.0))


FOLD = _fold()


def profile_task(legs_mm: Sequence[float], angles_deg: Sequence[float], **changes: Any) -> PlanTask:
    width_mm = changes.pop("width_mm", 200.0)
    made = PlanTask(
        shape=ProfileShape(width_mm, tuple(legs_mm), tuple(ShapeBend(a) for a in angles_deg)),
        thickness_mm=2.0,
        material=STEEL,
        brake=BRAKE,
        punches=(straight(),),
        dies=(die(),),
        touch_off=TOUCH_OFF,
        keyed_exactly=True,
    )
    return replace(made, **changes)


def part_task(part: FlatPart, **changes: Any) -> PlanTask:
    bends = tuple(
        FlatShapeBend(bend.line_mm, bend.faces, ShapeBend(bend.bend_angle_deg))
        for bend in part.bends
    )
    made = PlanTask(
        shape=FlatShape(part.faces, bends),
        thickness_mm=part.thickness_mm,
        material=STEEL,
        brake=BRAKE,
        punches=(straight(),),
        dies=(die(),),
        touch_off=TOUCH_OFF,
        keyed_exactly=True,
    )
    return replace(made, **changes)


def deduction_mm(task: PlanTask, angle_deg: float = 90.0) -> float:
    """Bend deduction of a right angle or less in the task's only tools, by the definitions."""
    from server.mechanics.air_bend import air_bend
    from server.mechanics.k_factor import din6935_k_factor

    air = air_bend(
        thickness_mm=task.thickness_mm,
        bend_length_mm=100.0,
        bend_angle_deg=angle_deg,
        material=task.material,
        die=task.dies[0],
        punch=task.punches[0],
    )
    r, t = air.inside_radius_mm, task.thickness_mm
    k = din6935_k_factor(inside_radius_mm=r, thickness_mm=t)
    allowance = math.radians(angle_deg) * (r + k * t)
    return 2 * math.tan(math.radians(angle_deg) / 2) * (r + t) - allowance
