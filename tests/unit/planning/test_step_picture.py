"""Pictures of a step: sheet on the die and on the shoulders, tip on the sheet, gauge on the edge."""

import pickle

import pytest
from shapely.geometry import Point, Polygon

from server.geometry.generator import box
from server.planning.planner import plan
from tests.unit.planning.shop import FOLD, part_task, profile_task


def test_before_the_stroke_the_sheet_lies_on_the_die_under_the_tip_and_against_the_finger() -> None:
    made = plan(profile_task([40.0, 60.0], [90.0]))
    assert made.sequence is not None
    step = made.sequence.steps[0]
    sheet = Polygon(step.before.sheet_mm[0])
    assert sheet.bounds[1] == pytest.approx(0.0, abs=1e-9)
    assert sheet.bounds[3] == pytest.approx(2.0)
    assert sheet.bounds[2] == pytest.approx(step.target.x_mm)
    assert min(y for _, y in step.before.punch_mm) == pytest.approx(2.0)
    assert min(x for x, _ in step.before.finger_mm) == pytest.approx(step.target.x_mm)
    assert step.before.contact_mm == pytest.approx((step.target.x_mm, 2.0))


def test_under_load_the_sheet_touches_both_shoulders_and_the_tip() -> None:
    """The outer face is tangent to the shoulder arcs: it touches the die and goes no deeper."""
    made = plan(profile_task([40.0, 60.0], [90.0]))
    assert made.sequence is not None
    after = made.sequence.steps[0].after
    sheet, die, punch = (
        Polygon(after.sheet_mm[0]), Polygon(after.die_mm), Polygon(after.punch_mm),
    )  # fmt: skip
    assert after.half_angle_deg == pytest.approx(
        made.sequence.steps[0].target.loaded_bend_angle_deg / 2
    )
    assert sheet.distance(die) < 0.03
    assert sheet.intersection(die).area < 0.05
    assert sheet.distance(Point(0.0, after.tip_y_mm)) < 0.03
    assert sheet.intersection(punch).area < 0.05


def test_formed_flanges_move_with_their_half() -> None:
    made = plan(profile_task([30.0, 60.0, 40.0], [90.0, -90.0]))
    assert made.sequence is not None
    second = made.sequence.steps[1]
    before, after = Polygon(second.before.sheet_mm[0]), Polygon(second.after.sheet_mm[0])
    assert before.area == pytest.approx(after.area, rel=5e-3)
    assert before.bounds[3] != pytest.approx(after.bounds[3])


def test_a_flat_part_is_cut_through_its_bend_and_shown_as_a_silhouette() -> None:
    part = box(width_mm=200, depth_mm=150, height_mm=40, thickness_mm=2.0, fold=FOLD, relief_mm=2)
    made = plan(part_task(part))
    assert made.sequence is not None
    last = made.sequence.steps[-1]
    cut = max(Polygon(loop).bounds[3] for loop in last.before.sheet_mm)
    seen = max(Polygon(loop).bounds[3] for loop in last.before.silhouette_mm)
    assert seen == pytest.approx(40.0, abs=0.3)
    assert cut <= seen + 1e-6
    assert all(Polygon(loop).is_valid for loop in (*last.after.sheet_mm, *last.after.silhouette_mm))


def test_pictures_sent_elsewhere_are_drawn_first_and_leave_the_planner_behind() -> None:
    made = plan(profile_task([30.0, 60.0, 40.0], [90.0, -90.0]))
    assert made.sequence is not None
    pictures = made.sequence.steps[1].pictures
    assert "drawn" not in vars(pictures)
    sent = pickle.loads(pickle.dumps(pictures))
    assert list(vars(sent)) == ["drawn"]
    assert sent == pictures
