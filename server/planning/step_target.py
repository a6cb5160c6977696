"""What one step asks of the operator: Y, X, R, the angle under load, and what to measure after it."""

from dataclasses import dataclass

from server.errors import ShopError
from server.mechanics.bend_allowance import outside_setback
from server.mechanics.control_reading import (
    TouchOff,
    rounded_nearest,
    rounded_shallower,
    touch_off_after_tool_change,
    y_reading,
)
from server.mechanics.general_tolerance import linear_tolerance
from server.planning.gauging import Contact
from server.planning.making import Making, die_height, punch_height
from server.planning.order import PlacedStroke
from server.planning.plan_task import PlanTask
from server.planning.stroke import Stroke

FLAT_DEG = 90.0


@dataclass(frozen=True, slots=True)
class CheckDimension:
    """An outside dimension the operator can measure after the step.

    From the outside of the bend just made to what touched the gauge. `tolerance_mm` is None beyond
    the table. `bend` is the index of the bend, `to_face` the leg or face that was gauged.
    """

    outside_mm: float
    tolerance_mm: float | None
    bend: int
    to_face: int
    to_kind: str


@dataclass(frozen=True, slots=True)
class StepTarget:
    """The numbers of one step; `y_mm` and `depth_mm` None where the tools fix the shape.

    `touch_off_checked` is False when the tools changed since the touch-off, so that Y is predicted.
    """

    x_mm: float
    x_exact_mm: float
    r_mm: float
    depth_mm: float | None
    y_mm: float | None
    y_exact_mm: float | None
    touch_off_checked: bool
    bend_angle_deg: float
    loaded_bend_angle_deg: float
    force_kn: float
    check: CheckDimension | None


def step_target(
    task: PlanTask, making: Making, placed: PlacedStroke, first: PlacedStroke
) -> StepTarget:
    """The numbers of one step of an order.

    The touch-off belongs to the tools of the first step; with other tools it is shifted by the
    difference of tool heights and marked as not checked. Y is rounded so that the bend comes out
    shallower, X to the nearest step of the control, unless the task keeps them exact. R is the
    height of the finger's lower edge above the die top.
    """
    stroke = making.strokes[placed.stroke]
    axis = task.brake.x_axis
    contact = placed.contact
    x_mm = contact.x_mm
    if not task.keyed_exactly:
        x_mm = rounded_nearest(reading_mm=contact.x_mm, resolution_mm=axis.resolution_mm)
    touch_off = _touch_off(task, making, placed, first)
    y_exact_mm = y_mm = None
    if stroke.depth_mm is not None:
        y_exact_mm = y_reading(
            touch_off=touch_off,
            y_sense=task.brake.y_sense,
            depth_mm=stroke.depth_mm,
            thickness_mm=task.thickness_mm,
        )
        y_mm = y_exact_mm
        if not task.keyed_exactly:
            y_mm = rounded_shallower(
                reading_mm=y_exact_mm,
                y_sense=task.brake.y_sense,
                resolution_mm=task.brake.y_axis.resolution_mm,
            )
    return StepTarget(
        x_mm=x_mm,
        x_exact_mm=contact.x_mm,
        r_mm=task.brake.finger.low_mm,
        depth_mm=stroke.depth_mm,
        y_mm=y_mm,
        y_exact_mm=y_exact_mm,
        touch_off_checked=touch_off.checked,
        bend_angle_deg=stroke.bend_angle_deg,
        loaded_bend_angle_deg=stroke.loaded_deg,
        force_kn=stroke.force_kn,
        check=_check_dimension(task, stroke, contact, making),
    )


def _touch_off(
    task: PlanTask, making: Making, placed: PlacedStroke, first: PlacedStroke
) -> TouchOff:
    def height_mm(one: PlacedStroke) -> float:
        return punch_height(one.punch) + die_height(making.strokes[one.stroke].die)

    now = height_mm(placed)
    taken = TouchOff(
        task.touch_off.on,
        task.touch_off.reading_mm,
        task.touch_off.tip_above_die_top_mm,
        task.touch_off.tool_height_mm or height_mm(first),
        task.touch_off.checked,
    )
    return touch_off_after_tool_change(
        touch_off=taken, y_sense=task.brake.y_sense, tool_height_mm=now
    )


def _check_dimension(
    task: PlanTask, stroke: Stroke, contact: Contact, making: Making
) -> CheckDimension | None:
    """X carried from the bend line to the bend's outside; none where the tools fix the shape."""
    if stroke.depth_mm is None:
        return None
    setback_mm = outside_setback(
        bend_angle_deg=stroke.bend_angle_deg,
        inside_radius_mm=stroke.inside_radius_mm,
        thickness_mm=task.thickness_mm,
        to_tangent=stroke.bend_angle_deg > FLAT_DEG,
    )
    arc_mm = next(
        state.arc_mm
        for number, state in making.zone_states[stroke.zones[0]]
        if number == stroke.index
    )
    outside_mm = contact.x_mm + setback_mm - arc_mm / 2
    try:
        tolerance_mm = linear_tolerance(length_mm=outside_mm, tolerance_class=task.tolerance_class)
    except ShopError:
        tolerance_mm = None
    return CheckDimension(outside_mm, tolerance_mm, stroke.bends[0], contact.face, contact.kind)
