"""Strokes in which the sheet does not swing: flattening a hem, and an offset in one hit.

Choices left open by the documents: a hem is flattened with its flange behind the punch and the body
in front; the fold goes against the fingers so that the flange's middle lies under the punch, or as
far behind it as the fingers have to stay off the closed punch.
In an offset the second half stays on the die's top and the first is pressed down by the step: the
tools decide which of them lies behind.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from shapely.geometry import Polygon

from server.geometry.clearance import Swing
from server.geometry.outline import convex_parts, shifted
from server.geometry.part import FlatPart
from server.geometry.profile import Profile
from server.geometry.zoned_part import lines_toward, reach_beyond
from server.mechanics.tooling import Punch
from server.planning.gauging import nearest_finger_x
from server.planning.plan_task import PlanTask, ShapeBend
from server.planning.stroke import Stroke


@dataclass(frozen=True, slots=True)
class Still:
    """How each half (of the first leg, of the last) lies; None: not held against the tools.

    `rears` are the halves that may lie behind the die. `fold_x_mm` is X when the fold itself is
    gauged. `from_line_mm` is how far the innermost zone lies from the stroke's own line.
    """

    swings: tuple[Swing | None, Swing | None]
    rears: tuple[int, ...]
    fold_x_mm: float | None
    from_line_mm: float


def with_still(
    task: PlanTask,
    sheet: Profile | FlatPart,
    strokes: Sequence[Stroke],
    bends: Sequence[ShapeBend],
) -> tuple[Stroke, ...]:
    """The strokes, those that do not swing with how they lie."""
    return tuple(
        stroke
        if stroke.depth_mm is not None
        else replace(stroke, still=_still(task, sheet, stroke, bends[stroke.bends[0]]))
        for stroke in strokes
    )


def _still(task: PlanTask, sheet: Profile | FlatPart, stroke: Stroke, bend: ShapeBend) -> Still:
    beside = (
        _beside_profile(sheet, stroke) if isinstance(sheet, Profile) else _beside(sheet, stroke)
    )
    if stroke.what == "flatten":
        return _flattening(task, beside, bend, stroke.punches[0])
    return _offset(task, beside.apart_mm, bend)


@dataclass(frozen=True, slots=True)
class _Sides:
    """How far the flat goes beyond a stroke on both sides, where no bend follows, and how far its
    zones lie apart.
    """

    lengths_mm: tuple[float, float]
    ends: tuple[int, ...]
    apart_mm: float


def _beside_profile(sheet: Profile, stroke: Stroke) -> _Sides:
    lines, zones = sheet.bend_lines_mm, stroke.zones
    last = len(sheet.bends) - 1
    return _Sides(
        (lines[zones[0]], sheet.flat_length_mm - lines[zones[-1]]),
        tuple(half for half, zone in ((0, 0), (1, last)) if zones[0] == zone),
        lines[zones[-1]] - lines[zones[0]],
    )


def _beside(sheet: FlatPart, stroke: Stroke) -> _Sides:
    found = [reach_beyond(sheet, stroke.zones, which) for which in (0, 1)]
    (u0, v0), (u1, v1) = (
        sheet.bends[lines_toward(sheet, stroke.zones, which)[0]].line_mm[0] for which in (0, 1)
    )
    x, y = sheet.across[stroke.zones[0]]
    return _Sides(
        (found[0][0], found[1][0]),
        tuple(half for half, (_, bends_count) in enumerate(found) if not bends_count),
        (u1 - u0) * x + (v1 - v0) * y,
    )


def _flattening(task: PlanTask, beside: _Sides, bend: ShapeBend, punch: Punch) -> Still:
    flange = min(beside.ends or (0, 1), key=lambda half: beside.lengths_mm[half])
    closed_mm = 2 * task.thickness_mm + bend.gap_mm
    beside_punch_mm = nearest_finger_x(
        task.brake.finger,
        [
            shifted(part, y_mm=closed_mm)
            for part in (convex_parts(Polygon(punch.profile_mm)) if punch.profile_mm else ())
        ],
    )
    x_mm = max(task.brake.x_axis.least_mm, beside.lengths_mm[flange] / 2, beside_punch_mm)
    body = _lying((0.0,), x_mm, (closed_mm,))
    swings = (None, body) if flange == 0 else (body, None)
    return Still(swings, (flange,), x_mm, 0.0)


def _offset(task: PlanTask, apart_mm: float, bend: ShapeBend) -> Still:
    step_mm = (bend.outside_offset_mm or task.thickness_mm) - task.thickness_mm
    tips = (task.thickness_mm, task.thickness_mm - step_mm)
    swings = (
        _lying((0.0, -step_mm), -apart_mm / 2, tips),
        _lying((0.0, 0.0), -apart_mm / 2, tips),
    )
    return Still(swings, (0, 1), None, apart_mm / 2)


def _lying(heights: Sequence[float], rolled_mm: float, tips: Sequence[float]) -> Swing:
    zero = np.zeros(len(heights))
    return Swing(zero, np.array(heights), zero + rolled_mm, 0.0, np.array(tips))
