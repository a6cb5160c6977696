"""Hems, bumped radii, bottomed and offset bends, planned."""

import itertools
from dataclasses import replace
from typing import Any

import pytest
from shapely.geometry import LineString, Polygon

from server.errors import ShopError
from server.geometry.generator import Wall, panel
from server.geometry.part import Face, FlatPart
from server.mechanics.bump_bend import bump_bend
from server.mechanics.hem import hem
from server.mechanics.tooling import Die, Punch
from server.planning.plan_task import (
    FlatShape,
    FlatShapeBend,
    PlanTask,
    ProfileShape,
    ShapeBend,
    ToolPair,
    Way,
)
from server.planning.planner import Plan, plan
from server.planning.step_picture import StepPicture
from tests.unit.planning.shop import BRAKE, FOLD, STEEL, TOUCH_OFF, die, part_task, straight

ACUTE_PUNCH = Punch(
    "acute", 0.8, 28.0, rating_kn_per_m=1000.0,
    profile_mm=((0.0, 0.0), (6.0, 24.0), (6.0, 120.0), (-6.0, 120.0), (-6.0, 24.0)),
)  # fmt: skip
ACUTE_DIE = Die(
    "V8-30", 8.0, 30.0, 1.0, rating_kn_per_m=1000.0,
    profile_mm=((-13, 0), (-4, 0), (0, -14.9), (4, 0), (13, 0), (13, -80), (-13, -80)),
)  # fmt: skip
FLATTENING = ToolPair(
    Punch("flat", 2.0, 90.0, rating_kn_per_m=2000.0,
          profile_mm=((-10, 0), (10, 0), (10, 80), (-10, 80))),
    Die("flat die", 20.0, 90.0, 1.0, rating_kn_per_m=2000.0,
        profile_mm=((-20, 0), (20, 0), (20, -60), (-20, -60))),
)  # fmt: skip
STEP = ToolPair(
    Punch("step punch", 1.0, 90.0, rating_kn_per_m=2000.0,
          profile_mm=((0, 0), (8, 0), (8, 80), (-8, 80), (-8, 4), (0, 4))),
    Die("step die", 12.0, 90.0, 1.0, rating_kn_per_m=2000.0, v_depth_mm=4.0,
        profile_mm=((-20, 0), (0, 0), (0, -4), (20, -4), (20, -60), (-20, -60))),
)  # fmt: skip


def made(legs: list[float], bends: list[ShapeBend], **changes: Any) -> Plan:
    fields: dict[str, Any] = {
        "thickness_mm": 1.0, "punches": (ACUTE_PUNCH,), "dies": (ACUTE_DIE,),
        "flattening": FLATTENING, "offset_tools": STEP,
    }  # fmt: skip
    fields.update(changes)
    return plan(
        PlanTask(
            shape=ProfileShape(200.0, tuple(legs), tuple(bends)),
            material=STEEL,
            brake=BRAKE,
            touch_off=TOUCH_OFF,
            keyed_exactly=True,
            **fields,
        )
    )


HEM = ShapeBend(180.0, "hem")


def test_a_hem_is_an_acute_hit_and_then_flattened_with_other_tools() -> None:
    found = made([12.0, 60.0], [HEM])
    assert found.sequence is not None
    assert [step.what for step in found.sequence.steps] == ["acute", "flatten"]
    assert found.sequence.cost.tool_changes == 1
    flatten = found.sequence.steps[1]
    assert flatten.target.y_mm is None
    assert flatten.target.force_kn == pytest.approx(
        5.0 * found.sequence.steps[0].target.force_kn, rel=1e-9
    )


def test_the_flat_of_a_hem_loses_its_deduction() -> None:
    """Both legs to the fold's outside, less the mechanics' deduction of about 0.43 t."""
    found = made([12.0, 60.0], [HEM])
    assert found.sequence is not None
    formed = hem(
        thickness_mm=1.0, bend_length_mm=200.0, material=STEEL, die=ACUTE_DIE, punch=ACUTE_PUNCH
    )
    assert found.sequence.flat_length_mm == pytest.approx(72.0 - formed.bend_deduction_mm)


def test_a_hem_without_flattening_tools_says_so() -> None:
    found = made([12.0, 60.0], [HEM], flattening=None)
    assert {finding.code for finding in found.blockers} == {"no_flattening_tools"}


def test_the_fold_of_a_closed_hem_may_be_gauged() -> None:
    found = made([12.0, 60.0, 40.0, 12.0], [HEM, ShapeBend(90.0), HEM])
    assert found.sequence is not None
    last = found.sequence.steps[-1]
    assert last.bends == (1,)
    assert last.contact.kind == "edge"


def test_a_bumped_radius_takes_its_hits_side_by_side() -> None:
    curve = ShapeBend(90.0, "bump", inside_radius_mm=60.0, step_deg=6.0)
    punches, dies = (straight(width_mm=12.0),), (die(16.0),)
    found = made([100.0, 100.0], [curve], thickness_mm=2.0, punches=punches, dies=dies)
    assert found.sequence is not None
    formed = bump_bend(
        thickness_mm=2.0, bend_length_mm=200.0, bend_angle_deg=90.0, inside_radius_mm=60.0,
        material=STEEL, die=dies[0], punch=punches[0], step_deg=6.0, k_factor=0.5,
    )  # fmt: skip
    assert len(found.sequence.steps) == len(formed.hits) == 15
    xs = [step.target.x_mm for step in found.sequence.steps]
    pitches = {round(a - b, 6) for a, b in itertools.pairwise(xs)}
    assert len(pitches) == 1
    assert abs(pitches.pop()) == pytest.approx(formed.bend_allowance_mm / 15, abs=1e-5)
    assert found.sequence.flat_length_mm == pytest.approx(200.0 - formed.bend_deduction_mm)


def test_a_bottomed_bend_takes_the_dies_angle_and_its_multiple_of_force() -> None:
    square = Die("V12-90", 12.0, 89.0, 1.0, rating_kn_per_m=3000.0, profile_mm=die(12.0).profile_mm)
    tools: dict[str, Any] = {"thickness_mm": 1.5, "punches": (straight(),), "dies": (square,)}
    bottomed = made([40.0, 60.0], [ShapeBend(90.0, "bottoming")], **tools)
    air = made([40.0, 60.0], [ShapeBend(90.0)], **{**tools, "dies": (die(12.0),)})
    assert bottomed.sequence is not None
    assert air.sequence is not None
    target = bottomed.sequence.steps[0].target
    assert target.loaded_bend_angle_deg == pytest.approx(91.0)
    assert target.force_kn > 3.0 * air.sequence.steps[0].target.force_kn


def flat_tray(bend: ShapeBend, **changes: Any) -> PlanTask:
    """A plate with two walls, both bent in one way."""
    walls = [Wall(40), None, Wall(40), None]
    task = part_task(panel(width_mm=200, depth_mm=120, walls=walls, thickness_mm=2.0, fold=FOLD))
    assert isinstance(task.shape, FlatShape)
    bends = tuple(replace(one, bend=bend) for one in task.shape.bends)
    return replace(task, shape=replace(task.shape, bends=bends), **changes)


def test_walls_of_a_flat_part_may_be_bottomed() -> None:
    """180 - 84 in a die of 84 degrees, whatever the sheet would spring back."""
    strong: dict[str, Any] = {
        "brake": replace(BRAKE, max_force_kn=3000.0, max_line_load_kn_per_m=3000.0),
        "punches": (replace(straight(), rating_kn_per_m=3000.0),),
        "dies": (replace(die(), rating_kn_per_m=3000.0),),
    }
    ways: tuple[tuple[Way, float], ...] = (("bottoming", 96.0), ("air", 90.0))
    found = {way: plan(flat_tray(ShapeBend(angle, way), **strong)) for way, angle in ways}
    forces = {}
    for way, one in found.items():
        assert one.sequence is not None
        assert one.proven
        assert {step.bends for step in one.sequence.steps} == {(0,), (1,)}
        forces[way] = one.sequence.steps[0].target.force_kn
    assert forces["bottoming"] > 3.0 * forces["air"]
    assert found["bottoming"].sequence is not None
    for step in found["bottoming"].sequence.steps:
        assert step.target.loaded_bend_angle_deg == pytest.approx(96.0)


def safety_edge(gap_mm: float = 0.0) -> PlanTask:
    """A panel of 160 x 90 with a wall of 30 and, on the other side, a hem of 12, in acute tools."""
    hem_mm, wall_mm, depth_mm = 11.785, 29.0, 90.0
    lines = (hem_mm, hem_mm + depth_mm)
    faces = (
        Face(((0.0, lines[0]), (160.0, lines[0]), (160.0, lines[1]), (0.0, lines[1]))),
        Face(((3.0, 0.0), (157.0, 0.0), (157.0, lines[0]), (3.0, lines[0]))),
        Face(((0.0, lines[1]), (160.0, lines[1]), (160.0, lines[1] + wall_mm),
              (0.0, lines[1] + wall_mm))),
    )  # fmt: skip
    bends = (
        FlatShapeBend(((3.0, lines[0]), (157.0, lines[0])), (0, 1), replace(HEM, gap_mm=gap_mm)),
        FlatShapeBend(((0.0, lines[1]), (160.0, lines[1])), (0, 2), ShapeBend(90.0)),
    )
    return PlanTask(
        shape=FlatShape(faces, bends), thickness_mm=1.0, material=STEEL, brake=BRAKE,
        punches=(ACUTE_PUNCH,), dies=(ACUTE_DIE,), touch_off=TOUCH_OFF, keyed_exactly=True,
        flattening=FLATTENING, offset_tools=STEP,
    )  # fmt: skip


def height_under_punch(picture: StepPicture) -> float:
    """How high the sheet stands in the middle of the flange [mm]."""
    middle = LineString([(5.0, -50.0), (5.0, 50.0)])
    tops = [middle.intersection(Polygon(loop)).bounds[3] for loop in picture.sheet_mm]
    return float(max(tops))


def test_a_hem_on_a_flat_part_is_hit_acute_and_then_flattened() -> None:
    task = safety_edge()
    found = plan(task)
    assert found.sequence is not None
    assert found.proven
    strokes = [(step.what, step.bends) for step in found.sequence.steps]
    assert strokes.index(("acute", (0,))) < strokes.index(("flatten", (0,)))
    assert {bends for _, bends in strokes} == {(0,), (1,)}
    flatten = next(step for step in found.sequence.steps if step.what == "flatten")
    assert (flatten.target.y_mm, flatten.punch, flatten.die) == (None, "flat", "flat die")
    assert flatten.target.x_exact_mm == pytest.approx(10.0)  # the fingers stay off the punch
    assert height_under_punch(flatten.after) == pytest.approx(2.0, abs=0.2)
    assert height_under_punch(flatten.before) > 2.5
    assert plan(replace(task, flattening=None)).sequence is None


def test_the_opening_of_a_hem_shows_in_its_last_picture() -> None:
    found = plan(safety_edge(gap_mm=2.0))
    assert found.sequence is not None
    flatten = next(step for step in found.sequence.steps if step.what == "flatten")
    assert height_under_punch(flatten.after) == pytest.approx(4.0, abs=0.2)


def test_bumped_tabs_on_one_line_are_made_by_the_same_hits() -> None:
    """Two tabs on one curve, one of them named the other way round."""
    curve = ShapeBend(60.0, "bump", inside_radius_mm=25.0, step_deg=15.0)
    faces = (
        Face(((0.0, 0.0), (160.0, 0.0), (160.0, 80.0), (0.0, 80.0))),
        Face(((5.0, -70.0), (60.0, -70.0), (60.0, 0.0), (5.0, 0.0))),
        Face(((100.0, -70.0), (155.0, -70.0), (155.0, 0.0), (100.0, 0.0))),
    )
    bends = (
        FlatShapeBend(((5.0, 0.0), (60.0, 0.0)), (0, 1), curve),
        FlatShapeBend(((155.0, 0.0), (100.0, 0.0)), (2, 0), curve),
    )
    task = replace(
        safety_edge(), shape=FlatShape(faces, bends), punches=(straight(),), dies=(die(10.0),)
    )
    found = plan(task)
    assert found.sequence is not None
    assert [step.bends for step in found.sequence.steps] == [(0, 1)] * 4
    xs = sorted(step.target.x_exact_mm for step in found.sequence.steps)
    gaps = {round(b - a, 4) for a, b in itertools.pairwise(xs)}
    assert len(gaps) == 1
    making = found.sequence.making
    assert all(len(stroke.zones) == 2 for stroke in making.strokes)
    for stroke in making.strokes:
        assert isinstance(making.sheet, FlatPart)
        heights = {round(making.sheet.bends[zone].line_mm[0][1], 6) for zone in stroke.zones}
        assert len(heights) == 1


def test_an_offset_is_one_stroke_and_its_tools_have_to_match() -> None:
    joggle = ShapeBend(60.0, "offset", outside_offset_mm=5.0)
    found = made([40.0, 60.0], [joggle])
    assert found.sequence is not None
    assert [step.what for step in found.sequence.steps] == ["offset"]
    wrong = made([40.0, 60.0], [ShapeBend(60.0, "offset", outside_offset_mm=8.0)])
    assert "offset_tool_depth" in {finding.code for finding in wrong.blockers}
    none = made([40.0, 60.0], [joggle], offset_tools=None)
    assert "no_offset_tools" in {finding.code for finding in none.blockers}


@pytest.mark.parametrize(
    ("bend", "code"),
    [
        (ShapeBend(90.0, "bump"), "radius_missing"),
        (ShapeBend(60.0, "offset"), "offset_missing"),
    ],
)
def test_a_bend_without_its_number_is_refused(bend: ShapeBend, code: str) -> None:
    with pytest.raises(ShopError) as caught:
        made([60.0, 60.0], [bend])
    assert caught.value.code == code
