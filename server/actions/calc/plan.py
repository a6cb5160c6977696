"""The best bend sequence of a part, or what blocks it."""

import time
from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import Discriminator, Field, Tag

from server.actions.calc.air_bend_body import MaterialBody
from server.actions.calc.body import Body, Count, Real
from server.errors import ShopError, say
from server.findings import Finding
from server.geometry.outline import Loop, checked_outline
from server.geometry.part import MOST_BENDS, Face
from server.mechanics.air_bend import need_springback
from server.mechanics.control_reading import TouchOff
from server.mechanics.elementary import need_above, need_between
from server.mechanics.material import Material
from server.mechanics.tooling import Axis, Brake, Die, Finger, Punch
from server.planning.plan_task import (
    FlatShape,
    FlatShapeBend,
    PlanTask,
    ProfileShape,
    Shape,
    ShapeBend,
    Wishes,
)
from server.planning.planner import DEFAULT_WORK, Plan, plan
from server.planning.search import Progress
from server.planning.sequence import BendSequence, PlanStep

DEFAULT_BUDGET_S = 2.0
LONGEST_BUDGET_S = 60.0
MOST_TOOLS = 50
MOST_POINTS = 2000
WORK_PER_S = DEFAULT_WORK / DEFAULT_BUDGET_S
PATIENCE_RATIO = 1.5
"""The answer is cut by counted work, so that it is the same on any machine; the clock stops it only
on a machine so slow that the work takes half as long again as the budget."""

AT_PLACE_MM = 0.02
EXACT_MM = 1e-6

Points = Annotated[
    list[Annotated[list[Real], Field(min_length=2, max_length=2)]],
    Field(min_length=3, max_length=MOST_POINTS),
]
Segments = Annotated[list[Real], Field(max_length=200)]


class FingerBody(Body):
    """A back gauge finger."""

    low_mm: Real
    high_mm: Real
    width_mm: Real


class TouchOffBody(Body):
    """The reading at a known tip height."""

    reading_mm: Real
    tip_above_die_top_mm: Real


class BrakeBody(Body):
    """A press brake as the planner needs it."""

    max_force_kn: Real
    bed_length_mm: Real
    x_min_mm: Real
    x_max_mm: Real
    finger: FingerBody
    opening_mm: Real
    y_sense: Literal[1, -1]
    touch_off: TouchOffBody
    holder_mm: Points | None = None
    bed_mm: Points | None = None
    max_line_load_kn_per_m: Real | None = None

    def brake(self) -> Brake:
        """The mechanics' own brake; X and Y are kept exact."""
        if self.max_line_load_kn_per_m is not None:
            need_above("brake.max_line_load_kn_per_m", self.max_line_load_kn_per_m, 0.0, "kn_per_m")
        need_above("brake.x_max_mm", self.x_max_mm, self.x_min_mm, "mm")
        return Brake(
            name="the brake",
            max_force_kn=self.max_force_kn,
            bed_length_mm=self.bed_length_mm,
            opening_mm=self.opening_mm,
            x_axis=Axis(self.x_min_mm, self.x_max_mm, EXACT_MM),
            y_axis=Axis(-1e9, 1e9, EXACT_MM),
            y_sense=self.y_sense,
            finger=Finger(self.finger.low_mm, self.finger.high_mm, self.finger.width_mm),
            max_line_load_kn_per_m=self.max_line_load_kn_per_m,
            holder_mm=_outline(self.holder_mm, "brake.holder_mm", "the holder"),
            bed_mm=_outline(self.bed_mm, "brake.bed_mm", "the bed"),
        )


class PlanMaterialBody(MaterialBody):
    """A sheet metal with its density."""

    density_kg_m3: Real = 7850.0

    def material(self) -> Material:
        """The mechanics' own material."""
        return Material(**self.model_dump())


class PlanPunchBody(Body):
    """An upper tool with its section."""

    name: str
    profile_mm: Points
    tip_radius_mm: Real
    angle_deg: Real
    rating_kn_per_m: Real
    segments_mm: Segments | None = None

    def punch(self, where: str) -> Punch:
        """The mechanics' own punch."""
        loop = _outline(self.profile_mm, f"{where}.profile_mm", f"the punch {self.name}")
        lowest = min(y for _, y in loop)
        tip = [x for x, y in loop if y <= lowest + AT_PLACE_MM]
        if abs(lowest) > AT_PLACE_MM or min(tip) > AT_PLACE_MM or max(tip) < -AT_PLACE_MM:
            raise ShopError(
                "tip_not_at_origin",
                say("The tip of the punch {name} is not at (0, 0).", name=self.name),
                remedy="Move the outline so that its lowest point is (0, 0).",
                where=f"{where}.profile_mm",
            )
        return Punch(
            self.name,
            tip_radius_mm=self.tip_radius_mm,
            angle_deg=self.angle_deg,
            rating_kn_per_m=self.rating_kn_per_m,
            profile_mm=loop,
            segments_mm=_segments(self.segments_mm, where),
        )


class PlanDieBody(Body):
    """A lower tool with its section."""

    name: str
    profile_mm: Points
    v_opening_mm: Real
    angle_deg: Real
    shoulder_radius_mm: Real
    rating_kn_per_m: Real
    segments_mm: Segments | None = None

    def die(self, where: str) -> Die:
        """The mechanics' own die."""
        loop = _outline(self.profile_mm, f"{where}.profile_mm", f"the die {self.name}")
        if abs(max(y for _, y in loop)) > AT_PLACE_MM:
            raise ShopError(
                "top_not_at_zero",
                say("The top of the die {name} is not at y = 0.", name=self.name),
                remedy="Move the outline so that its top plane is y = 0.",
                where=f"{where}.profile_mm",
            )
        return Die(
            self.name,
            v_opening_mm=self.v_opening_mm,
            angle_deg=self.angle_deg,
            shoulder_radius_mm=self.shoulder_radius_mm,
            rating_kn_per_m=self.rating_kn_per_m,
            profile_mm=loop,
            segments_mm=_segments(self.segments_mm, where),
        )


class ProfileBendBody(Body):
    """One bend of a profile; the sign says which side closes."""

    bend_angle_deg: Real


class ProfilePart(Body):
    """A constant-section part."""

    kind: Literal["profile"]
    width_mm: Real
    legs_mm: Annotated[list[Real], Field(min_length=1, max_length=MOST_BENDS)]
    legs_are: Literal["outside", "inside", "neutral"] = "outside"
    bends: Annotated[list[ProfileBendBody], Field(max_length=MOST_BENDS - 1)]

    def shape(self) -> Shape:
        """The planner's own shape."""
        need_above("part.width_mm", self.width_mm, 0.0, "mm")
        for index, bend in enumerate(self.bends):
            _need_angle(bend.bend_angle_deg, index)
        return ProfileShape(
            self.width_mm,
            tuple(self.legs_mm),
            tuple(ShapeBend(bend.bend_angle_deg) for bend in self.bends),
            self.legs_are,
        )


class FaceBody(Body):
    """One flat face: outline and holes."""

    outline_mm: Points
    holes_mm: Annotated[list[Points], Field(max_length=500)] | None = None


class FlatBendBody(Body):
    """One bend line between two faces."""

    line_mm: Annotated[
        list[Annotated[list[Real], Field(min_length=2, max_length=2)]],
        Field(min_length=2, max_length=2),
    ]
    faces: Annotated[list[Count], Field(min_length=2, max_length=2)]
    bend_angle_deg: Real


class FlatPartBody(Body):
    """A part as faces and bends on the flat."""

    kind: Literal["flat"]
    faces: Annotated[list[FaceBody], Field(min_length=1, max_length=MOST_BENDS)]
    bends: Annotated[list[FlatBendBody], Field(max_length=MOST_BENDS - 1)]

    def shape(self) -> Shape:
        """The planner's own shape."""
        for index, bend in enumerate(self.bends):
            _need_angle(bend.bend_angle_deg, index)
        return FlatShape(
            tuple(
                Face(_pairs(face.outline_mm), tuple(_pairs(hole) for hole in face.holes_mm or ()))
                for face in self.faces
            ),
            tuple(
                FlatShapeBend(
                    ((bend.line_mm[0][0], bend.line_mm[0][1]), _pairs(bend.line_mm)[1]),
                    (bend.faces[0], bend.faces[1]),
                    ShapeBend(bend.bend_angle_deg),
                )
                for bend in self.bends
            ),
        )


def _kind_of_part(values: Any) -> str:
    kind = values.get("kind") if isinstance(values, Mapping) else getattr(values, "kind", None)
    return "flat_part" if kind == "flat" else "profile_part"


class Request(Body):
    """A part, a sheet, tools and a brake."""

    brake: BrakeBody
    punches: Annotated[list[PlanPunchBody], Field(min_length=1, max_length=MOST_TOOLS)]
    dies: Annotated[list[PlanDieBody], Field(min_length=1, max_length=MOST_TOOLS)]
    material: PlanMaterialBody
    thickness_mm: Real
    part: Annotated[
        Annotated[ProfilePart, Tag("profile_part")] | Annotated[FlatPartBody, Tag("flat_part")],
        Discriminator(_kind_of_part),
    ]
    k_factor: Real | None = None
    springback_deg: Real | Literal["model"] = "model"
    fixed_order: Annotated[list[Count], Field(max_length=MOST_BENDS)] | None = None
    time_budget_s: Real = DEFAULT_BUDGET_S

    def task(self) -> PlanTask:
        """The planner's own task.

        Raises: ShopError naming the field.
        """
        need_above("thickness_mm", self.thickness_mm, 0.0, "mm")
        need_between("thickness_mm", self.thickness_mm, 0.0, 100.0, "mm")
        need_between("time_budget_s", self.time_budget_s, 0.01, LONGEST_BUDGET_S, "s")
        need_springback(self.springback_deg)
        if self.k_factor is not None:
            need_between("k_factor", self.k_factor, 0.0, 1.0, "ratio")
        punches = tuple(one.punch(f"punches.{i}") for i, one in enumerate(self.punches))
        dies = tuple(one.die(f"dies.{i}") for i, one in enumerate(self.dies))
        _need_different([one.name for one in punches], "punches")
        _need_different([one.name for one in dies], "dies")
        touch_off = self.brake.touch_off
        return PlanTask(
            shape=self.part.shape(),
            thickness_mm=self.thickness_mm,
            material=self.material.material(),
            brake=self.brake.brake(),
            punches=punches,
            dies=dies,
            touch_off=TouchOff("die", touch_off.reading_mm, touch_off.tip_above_die_top_mm),
            k_factor=self.k_factor,
            springback_deg=self.springback_deg,
            wishes=Wishes(fixed_order=tuple(self.fixed_order or ())),
            keyed_exactly=True,
        )


def answer(request: Request) -> dict[str, object]:
    """The bend sequence with its cost, or blockers; never hangs."""
    deadline = time.monotonic() + PATIENCE_RATIO * request.time_budget_s

    def in_time(_: Progress) -> bool:
        return time.monotonic() < deadline

    try:
        made = plan(
            request.task(), work=round(WORK_PER_S * request.time_budget_s), keep_going=in_time
        )
    except ShopError as trouble:
        raise trouble.at(_place(trouble.where)) from None
    found = {
        "feasible": made.sequence is not None,
        "proven_optimal": made.proven,
        "bound_seconds": None if made.bound_s == float("inf") else made.bound_s,
        "blockers": [_blocker(finding) for finding in made.blockers],
    }
    return {**found, **_sequence(made)}


def _sequence(made: Plan) -> dict[str, object]:
    sequence = made.sequence
    if sequence is None:
        return {"steps": [], "cost": _cost(None), "mass_kg": None}
    length = {} if sequence.flat_length_mm is None else {"flat_length_mm": sequence.flat_length_mm}
    return {
        **length,
        "steps": [_step(step) for step in sequence.steps],
        "cost": _cost(sequence),
        "mass_kg": sequence.mass_kg,
    }


def _step(step: PlanStep) -> dict[str, object]:
    target = step.target
    check = target.check
    return {
        "bends": list(step.bends),
        "punch": step.punch,
        "die": step.die,
        "station": step.station,
        "side_up": step.side_up,
        "rear": step.rear,
        "turned_over": step.turned_over,
        "turned_end_for_end": step.turned_end_for_end,
        "gauge": {"kind": step.contact.kind, "x_mm": target.x_mm, "r_mm": target.r_mm},
        "depth_mm": target.depth_mm,
        "y_mm": target.y_mm,
        "bend_angle_deg": target.bend_angle_deg,
        "loaded_bend_angle_deg": target.loaded_bend_angle_deg,
        "force_kn": target.force_kn,
        "check": None
        if check is None
        else {"outside_mm": check.outside_mm, "tolerance_mm": check.tolerance_mm},
        "cautions": [
            {"code": finding.code, "message": str(finding.what)}
            for finding in step.findings
            if finding.level == "caution"
        ],
    }


def _cost(sequence: BendSequence | None) -> dict[str, object]:
    if sequence is None:
        return {
            "seconds": None,
            "turns_over": 0,
            "turns_end_for_end": 0,
            "gauge_moves": 0,
            "tool_changes": 0,
        }
    cost = sequence.cost
    return {
        "seconds": cost.seconds,
        "turns_over": cost.turns_over,
        "turns_end_for_end": cost.turns_end_for_end,
        "gauge_moves": cost.gauge_moves,
        "tool_changes": cost.tool_changes,
        "station_changes": cost.station_changes,
    }


def _blocker(finding: Finding) -> dict[str, object]:
    told: dict[str, object] = {
        "bend": finding.bend,
        "code": finding.code,
        "message": str(finding.what),
        "hint": str(finding.frees) if finding.frees else "",
    }
    if finding.tool is not None:
        told["tool"] = finding.tool
    if finding.code.startswith("meets_") and finding.amount is not None:
        told["overlap_mm"] = finding.amount.value
    return told


def _place(where: str | None) -> str:
    """The contract's field for a place the planner names."""
    place = where or "part"
    head = place.split(".", 1)[0]
    return f"part.{place}" if head in ("legs_mm", "bends", "width_mm", "faces") else place


def _need_angle(bend_angle_deg: float, index: int) -> None:
    if not 0.0 < abs(bend_angle_deg) < 180.0:
        raise ShopError(
            "not_an_air_bend",
            say(
                "Bend {bend} of {angle}° cannot be air bent.",
                bend=str(index),
                angle=f"{bend_angle_deg:g}",
            ),
            remedy="Give an angle above 0° and below 180°, signed by the side that closes.",
            where=f"part.bends.{index}.bend_angle_deg",
        )


def _need_different(names: list[str], where: str) -> None:
    for index, name in enumerate(names):
        if name in names[:index]:
            raise ShopError(
                "name_used_twice",
                say("Two of the {what} are called '{name}'.", what=where, name=name),
                remedy="Give each its own name.",
                where=f"{where}.{index}.name",
            )


def _segments(lengths: list[float] | None, where: str) -> tuple[float, ...]:
    for index, length_mm in enumerate(lengths or ()):
        need_above(f"{where}.segments_mm.{index}", length_mm, 0.0, "mm")
    return tuple(lengths or ())


def _outline(points: list[list[float]] | None, where: str, name: str) -> Loop:
    if points is None:
        return ()
    return checked_outline(_pairs(points), where=where, name=name)


def _pairs(points: list[list[float]]) -> Loop:
    return tuple((point[0], point[1]) for point in points)
