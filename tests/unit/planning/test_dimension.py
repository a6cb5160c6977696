"""What can be measured on a part, how exact it has to be, and after which step."""

import math
from dataclasses import replace

import pytest

from server.geometry.profile import Profile, section_outline
from server.planning.dimension import (
    Dimension,
    Marked,
    critical_tolerances,
    dimensions_of,
    nominal,
)
from server.planning.error_stack import GaugingErrors
from server.planning.plan_task import PlanTask, ProfileShape
from server.planning.planner import plan
from server.planning.sequence import BendSequence
from tests.unit.planning.shop import profile_task

CHANNEL = profile_task([40.0, 120.0, 40.0], [90.0, 90.0])
ERRORS = GaugingErrors(0.1, 0.2, 0.15)


def planned(task: PlanTask) -> BendSequence:
    made = plan(task).sequence
    assert made is not None
    return made


def of(found: tuple[Dimension, ...], first: int, last: int) -> Dimension:
    return next(one for one in found if (one.first, one.last) == (first, last))


def test_legs_have_the_general_tolerance_of_their_length() -> None:
    """ISO 2768-1:1989 m: over 30 to 120 mm 0.3, over 120 to 400 mm 0.5."""
    found = dimensions_of(CHANNEL, planned(CHANNEL), (), ERRORS)
    assert [one.nominal_mm for one in found] == [40.0, 120.0, 40.0]
    assert [one.tolerance_mm for one in found] == [0.3, 0.3, 0.3]
    coarse = replace(CHANNEL, tolerance_class="c")
    found = dimensions_of(coarse, planned(coarse), (), ERRORS)
    assert [one.tolerance_mm for one in found] == [0.8, 0.8, 0.8]


def test_the_drawings_own_tolerance_comes_first() -> None:
    marked = (Marked(1, 1, tolerance_mm=0.15), Marked(0, 2))
    found = dimensions_of(CHANNEL, planned(CHANNEL), marked, ERRORS)
    web, over, flange = of(found, 1, 1), of(found, 0, 2), of(found, 0, 0)
    assert (web.tolerance_mm, web.from_drawing, web.critical) == (0.15, True, True)
    assert (over.tolerance_mm, over.from_drawing, over.critical) == (0.3, False, True)
    assert not flange.critical


def test_a_dimension_is_complete_when_the_last_of_its_bends_is_made() -> None:
    made = planned(CHANNEL)
    number = {step.bends[0]: step.number for step in made.steps}
    found = dimensions_of(CHANNEL, made, (Marked(0, 2),), ERRORS)
    assert of(found, 0, 0).after_step == number[0]
    assert of(found, 2, 2).after_step == number[1]
    assert of(found, 1, 1).after_step == of(found, 0, 2).after_step == 2


@pytest.mark.parametrize(
    ("legs", "angles", "faces"),
    [
        ([40.0, 120.0, 40.0], [90.0, 90.0], (0, 2)),
        ([40.0, 60.0, 40.0], [90.0, -90.0], (0, 2)),
        ([60.0, 80.0, 60.0], [30.0, -30.0], (0, 2)),
        ([30.0, 40.0, 60.0, 40.0, 30.0], [-90.0, 90.0, 90.0, -90.0], (1, 3)),
        ([30.0, 40.0, 60.0, 45.0, 30.0], [-90.0, 90.0, 90.0, -90.0], (0, 4)),
        ([40.0, 60.0, 50.0, 60.0, 40.0], [45.0, 45.0, 45.0, 45.0], (0, 4)),
    ],
)
def test_face_to_face_is_what_a_caliper_would_read(
    legs: list[float], angles: list[float], faces: tuple[int, int]
) -> None:
    """Oracle: the folded section as it is drawn: how far the middles of two legs lie apart."""
    task = profile_task(legs, angles)
    made = planned(task)
    sheet = made.making.sheet
    assert isinstance(sheet, Profile)
    drawn = section_outline(sheet).legs
    first, last = drawn[faces[0]], drawn[faces[1]]
    ax, ay = first.start_mm
    bx, by = first.end_mm
    long_mm = math.dist(first.start_mm, first.end_mm)
    for x, y in (last.start_mm, last.end_mm):
        apart_mm = abs((x - ax) * (by - ay) - (y - ay) * (bx - ax)) / long_mm
        measured = nominal(task, made.making, Marked(*faces))
        assert measured == pytest.approx(apart_mm + sheet.thickness_mm, abs=1e-6)


def test_inside_legs_are_told_as_they_are_measured_outside() -> None:
    """A square corner: outside = inside + thickness on each bent end."""
    shape = ProfileShape(200.0, (40.0, 60.0, 40.0), CHANNEL.shape.bends, "inside")  # type: ignore[arg-type]
    task = replace(CHANNEL, shape=shape)
    found = dimensions_of(task, planned(task), (), ERRORS)
    assert [one.nominal_mm for one in found] == pytest.approx([42.0, 64.0, 42.0])


def test_critical_tolerances_leave_out_what_the_table_does_not_know() -> None:
    made = planned(CHANNEL)
    marked = (Marked(0, 0, tolerance_mm=0.1), Marked(1, 1), Marked(2, 2, critical=False))
    assert critical_tolerances(CHANNEL, made.making, marked) == {0: 0.1, 1: 0.3}
    fine = profile_task([40.0, 5000.0], [90.0], tolerance_class="f")
    assert critical_tolerances(fine, made.making, (Marked(1, 1),)) == {}
