"""The picture of a blocked stroke shows the overlap that its finding tells of, no more and no less."""

from dataclasses import replace

import pytest
from shapely import make_valid
from shapely.geometry import Point, Polygon

from server.geometry.generator import box
from server.planning.blocked_picture import BlockedPicture
from server.planning.order_check import CheckedStep, ChosenStep, OrderChecker
from server.planning.plan_task import PlanTask
from server.planning.stroke_tests import BED, FINGER, HOLDER
from tests.unit.planning.shop import BRAKE, FOLD, goose_neck, part_task, profile_task
from tests.unit.planning.shop import HOLDER as HOLDER_MM

HELD = replace(BRAKE, holder_mm=HOLDER_MM)
CHANNEL = profile_task([50.0, 40.0, 50.0], [90.0, 90.0], brake=HELD)
TALL = profile_task([180.0, 40.0, 180.0], [90.0, 90.0], brake=HELD, punches=(goose_neck(),))
HAT = profile_task([30.0, 40.0, 60.0, 40.0, 30.0], [-90.0, 90.0, 90.0, -90.0])
CURL = profile_task([60.0, 30.0, 20.0, 30.0, 60.0], [90.0] * 4, punches=(goose_neck(),))
BOX = part_task(box(width_mm=50, depth_mm=150, height_mm=60, thickness_mm=2.0, fold=FOLD))


def blocked(task: PlanTask, *order: int) -> list[CheckedStep]:
    checked = OrderChecker(task).check([ChosenStep(bend) for bend in order])
    return [step for step in checked.steps if step.placed is None]


def tool_shape(shown: BlockedPicture, tool: str) -> Polygon:
    picture = shown.picture
    outlines = {HOLDER: picture.holder_mm, BED: picture.bed_mm, FINGER: picture.finger_mm}
    if tool in outlines:
        return Polygon(outlines[tool])
    return Polygon(picture.die_mm if tool.startswith("V") else picture.punch_mm)


CASES = [
    (CHANNEL, (0, 1)),
    (TALL, (0, 1)),
    (HAT, (1, 2, 0, 3)),
    (CURL, (1, 2, 0, 3)),
]


@pytest.mark.parametrize(("task", "order"), CASES)
def test_the_overlap_is_what_sheet_and_tool_both_take(
    task: PlanTask, order: tuple[int, ...]
) -> None:
    """Oracle: the drawn section cut with the drawn tool, by shapely."""
    steps = blocked(task, *order)
    assert steps
    for step in steps:
        finding = step.findings[0]
        assert step.picture is not None
        assert finding.tool is not None
        (sheet,) = step.picture.picture.sheet_mm
        area = sum(Polygon(loop).area for loop in step.picture.overlap_mm)
        shared = (
            make_valid(Polygon(sheet)).intersection(tool_shape(step.picture, finding.tool)).area
        )
        assert area == pytest.approx(shared, rel=0.02, abs=0.05)


@pytest.mark.parametrize(("task", "order"), CASES)
def test_the_overlap_is_as_deep_as_the_finding_says(task: PlanTask, order: tuple[int, ...]) -> None:
    """Deepest point of the overlap below the tool's or the sheet's outline; 0.1 mm skin each."""
    for step in blocked(task, *order):
        finding = step.findings[0]
        assert step.picture is not None
        assert finding.amount is not None
        assert finding.tool is not None
        (sheet,) = step.picture.picture.sheet_mm
        tool = tool_shape(step.picture, finding.tool)
        depth_mm = 0.0
        for loop in step.picture.overlap_mm:
            inside = Polygon(loop).boundary.segmentize(0.5)
            for boundary in (tool.boundary, Polygon(sheet).boundary):
                points = [Point(at) for at in inside.coords]
                depth_mm = max(depth_mm, *(boundary.distance(point) for point in points))
        assert depth_mm == pytest.approx(finding.amount.value, abs=1.2)


def test_a_flat_part_shows_the_wall_that_goes_through_the_punch() -> None:
    (step,) = blocked(BOX, 0, 1, 2, 3)
    assert step.findings[0].code == "meets_punch"
    assert step.picture is not None
    punch = tool_shape(step.picture, "straight")
    assert step.picture.overlap_mm
    for loop in step.picture.overlap_mm:
        assert Polygon(loop).within(punch.buffer(0.1))


def test_a_part_that_meets_itself_shows_where_its_halves_cross() -> None:
    ring = profile_task([40.0, 60.0, 30.0, 60.0, 40.0], [90.0] * 4, punches=(goose_neck(),))
    found = [
        step
        for step in blocked(ring, 0, 1, 2, 3)
        if any(finding.code == "meets_itself" for finding in step.findings)
    ]
    assert found
    amounts = [
        finding.amount.value
        for step in found
        for finding in step.findings
        if finding.code == "meets_itself" and finding.amount
    ]
    assert min(amounts) >= 0.2 - 1e-9  # the skin taken off both halves is given back


def test_a_step_without_a_contact_shows_the_sheet_and_no_finger() -> None:
    narrow = profile_task([40.0, 60.0], [90.0], width_mm=20.0)  # less than one finger width
    (step,) = blocked(narrow, 0)
    assert step.findings[0].code == "no_gauge_contact"
    assert step.picture is not None
    assert step.picture.overlap_mm == ()
    assert step.picture.picture.finger_mm == ()
    assert step.picture.picture.sheet_mm


def test_a_step_that_comes_too_early_has_no_position_to_show() -> None:
    from server.planning.plan_task import Wishes

    wished = replace(HAT, wishes=Wishes(before=((3, 2),)))
    (step, *_) = blocked(wished, 2, 0, 3, 1)
    assert step.findings[0].code == "too_early"
    assert step.picture is None
