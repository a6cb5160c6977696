"""Strokes in which the sheet does not swing: flattening a hem, and an offset in one hit.

Choices left open by the documents: a hem is flattened with its flange behind the punch and the body
in front; the fold goes against the fingers so that the flange's middle lies under the punch. In an
offset one half stays on the die and the other is carried by the step.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from server.geometry.clearance import Swing
from server.geometry.profile import Profile
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
    task: PlanTask, sheet: Profile, strokes: Sequence[Stroke], bends: Sequence[ShapeBend]
) -> tuple[Stroke, ...]:
    """The strokes, those that do not swing with how they lie."""
    return tuple(
        stroke
        if stroke.depth_mm is not None
        else replace(stroke, still=_still(task, sheet, stroke, bends[stroke.bends[0]]))
        for stroke in strokes
    )


def _still(task: PlanTask, sheet: Profile, stroke: Stroke, bend: ShapeBend) -> Still:
    if stroke.what == "flatten":
        return _flattening(task, sheet, stroke, bend)
    return _offset(task, sheet, stroke, bend)


def _flattening(task: PlanTask, sheet: Profile, stroke: Stroke, bend: ShapeBend) -> Still:
    line_mm = sheet.bend_lines_mm[stroke.zones[0]]
    lengths = (line_mm, sheet.flat_length_mm - line_mm)
    last = len(sheet.bends) - 1
    ends = [half for half, zone in ((0, 0), (1, last)) if stroke.zones[0] == zone]
    flange = min(ends or (0, 1), key=lambda half: lengths[half])
    x_mm = max(task.brake.x_axis.least_mm, lengths[flange] / 2)
    closed_mm = 2 * task.thickness_mm + bend.gap_mm
    body = _lying((0.0,), x_mm, (closed_mm,))
    swings = (None, body) if flange == 0 else (body, None)
    return Still(swings, (flange,), x_mm, 0.0)


def _offset(task: PlanTask, sheet: Profile, stroke: Stroke, bend: ShapeBend) -> Still:
    first, second = stroke.zones
    apart_mm = (sheet.bend_lines_mm[second] - sheet.bend_lines_mm[first]) / 2
    step_mm = (bend.outside_offset_mm or task.thickness_mm) - task.thickness_mm
    tips = (task.thickness_mm + step_mm, task.thickness_mm)
    swings = (
        _lying((0.0, 0.0), -apart_mm, tips),
        _lying((0.0, step_mm), -apart_mm, tips),
    )
    return Still(swings, (0, 1), None, apart_mm)


def _lying(heights: Sequence[float], rolled_mm: float, tips: Sequence[float]) -> Swing:
    zero = np.zeros(len(heights))
    return Swing(zero, np.array(heights), zero + rolled_mm, 0.0, np.array(tips))
