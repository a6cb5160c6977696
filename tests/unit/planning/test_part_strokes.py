"""Strokes of flat parts: what the clearance sees, said in words and amounts."""

from dataclasses import replace

import pytest

from server.geometry.generator import Wall, box, panel
from server.planning.part_strokes import PartStrokes
from server.planning.plan_task import PlanTask
from server.planning.planner import single_die_variants
from server.planning.variant import Variant, prepare_stations
from tests.unit.planning.shop import BRAKE, FOLD, HOLDER, part_task

TRAY = box(width_mm=200, depth_mm=150, height_mm=40, thickness_mm=2.0, fold=FOLD, relief_mm=1.5)


def variant_of(task: PlanTask) -> Variant:
    (variant, *_), _ = single_die_variants(task)
    prepare_stations(variant)
    return variant


def strokes_of(task: PlanTask) -> PartStrokes:
    tests = variant_of(task).tests
    assert isinstance(tests, PartStrokes)
    return tests


def test_walls_standing_at_both_ends_limit_the_tool() -> None:
    task = part_task(TRAY)
    tests = strokes_of(task)
    punch = task.punches[0]
    free = tests.needs(0, 0, 0, punch)
    boxed = tests.needs(0b1010, 0, 0, punch)
    assert free is not None
    assert boxed is not None
    assert free[0][0].most_mm == float("inf")
    inside_mm = 200.0 - 2 * 2.0
    fillet_mm = FOLD.inside_radius_mm  # the walls' roots round off toward the tool's end
    assert inside_mm - 2.0 - 2 * fillet_mm < boxed[0][0].most_mm <= inside_mm - 2.0


def test_every_way_the_rear_may_point_has_its_own_number() -> None:
    tests = strokes_of(part_task(TRAY))
    ways = [tests.directions[stroke] for stroke in range(4)]
    assert len({way for pair in ways for way in pair}) == 4
    assert ways[0] == tuple(reversed(ways[2]))


def test_a_side_wall_swings_into_the_holder() -> None:
    tall = box(
        width_mm=200, depth_mm=150, height_mm=120, thickness_mm=2.0, fold=FOLD, relief_mm=1.5
    )
    task = part_task(tall, brake=replace(BRAKE, holder_mm=HOLDER))
    tests = strokes_of(task)
    found = tests.findings(0b1010, 0, 0, task.punches[0])
    meeting = next(one for one in found if one.code == "meets_holder")
    assert meeting.amount is not None
    assert meeting.amount.value > 10.0
    assert "face" in str(meeting.what)
    assert meeting.frees


def test_opposite_walls_do_not_hinder_each_other() -> None:
    task = part_task(TRAY)
    tests = strokes_of(task)
    assert tests.contact(0b0100, 0, 1) is not None
    assert tests.stations(0b0100, 0, 1, task.punches[0])


def test_a_wall_already_standing_is_gauged_on_its_outer_face() -> None:
    task = part_task(
        panel(width_mm=200, depth_mm=100, walls=[Wall(40), None, Wall(40), None],
              thickness_mm=2.0, fold=FOLD)
    )  # fmt: skip
    tests = strokes_of(task)
    other = tests.contact(0b10, 0, 0)
    assert other is not None
    assert other.kind == "flange"
    bend = task.shape.bends[0].line_mm  # type: ignore[union-attr]
    from_line = 100.0 - (FOLD.inside_radius_mm + 2.0) + FOLD.allowance_mm / 2
    assert bend[0][1] == 0.0
    assert other.x_mm == pytest.approx(from_line, abs=0.1)


def test_two_fingers_stand_on_a_long_edge() -> None:
    tests = strokes_of(part_task(TRAY))
    contact = tests.contact(0, 0, 1)
    assert contact is not None
    assert len(contact.fingers_mm) == 2
    assert contact.fingers_mm[1] - contact.fingers_mm[0] > 100.0


def test_a_narrow_flange_has_no_room_for_its_shoulder() -> None:
    low = box(width_mm=200, depth_mm=150, height_mm=9, thickness_mm=2.0, fold=FOLD, relief_mm=1.5)
    task = part_task(low)
    tests = strokes_of(task)
    found = tests.findings(0, 0, 0, task.punches[0])
    assert {one.code for one in found} >= {"flange_too_short"}
