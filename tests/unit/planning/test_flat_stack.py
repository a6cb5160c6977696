"""Gauging errors of folded flat parts: against profiles, by hand, and against moved lines."""

import math
from dataclasses import replace

import numpy as np
import pytest

from server.errors import ShopError
from server.geometry.folding import folded_poses
from server.geometry.generator import Wall, box, panel
from server.geometry.part import BendLine, FlatPart
from server.planning.error_stack import GaugingErrors
from server.planning.flat_measure import (
    faces_of,
    finished_poses,
    flat_of,
    in_words,
    size_between,
    sizes_across,
)
from server.planning.flat_stack import line_errors, stacked_between
from server.planning.gauge_stack import stacked
from server.planning.order_check import ChosenStep, check_order
from server.planning.plan_task import PlanTask
from server.planning.planner import plan
from server.planning.protecting import check_critical, plan_protecting
from server.planning.sequence import BendSequence
from tests.properties.planning_cases import as_flat_part
from tests.unit.planning.shop import FOLD, goose_neck, part_task, profile_task, straight

ERRORS = GaugingErrors(gauge_mm=0.1, blank_mm=0.2, flange_contact_mm=0.15)
CHANNEL = profile_task([40.0, 120.0, 40.0], [90.0, 90.0])
BOX = part_task(box(width_mm=200, depth_mm=150, height_mm=40, thickness_mm=2.0, fold=FOLD))


def arranged(task: PlanTask, *chosen: ChosenStep) -> BendSequence:
    made = check_order(task, list(chosen)).sequence
    assert made is not None
    return made


def planned(task: PlanTask) -> BendSequence:
    made = plan(task).sequence
    assert made is not None
    return made


@pytest.mark.parametrize(
    "ways", [("first", "second"), ("first", "first"), ("second", "second"), ("second", "first")]
)
def test_a_profile_as_faces_and_bends_has_the_stacks_of_the_profile(ways: tuple[str, str]) -> None:
    """Two programs: places along the flat, and motions of faces in space."""
    order = [ChosenStep(bend, "first" if way == "first" else "second") for bend, way in enumerate(ways)]  # fmt: skip
    section, folded = (arranged(task, *order) for task in (CHANNEL, as_flat_part(CHANNEL)))
    assert [one.contact.kind for one in section.steps] == [o.contact.kind for o in folded.steps]
    legs = sizes_across(folded.making)
    assert len(legs) == 3
    ends = {leg: find(legs, leg) for leg in range(3)}
    for leg, between in ends.items():
        one = stacked(section.making, section.order, leg, ERRORS)
        other = stacked(folded.making, folded.order, between, ERRORS)
        assert other.worst_mm == pytest.approx(one.worst_mm)
        assert other.statistical_mm == pytest.approx(one.statistical_mm)
        assert size_between(folded.making, between) == pytest.approx((40.0, 120.0, 40.0)[leg])
    over = stacked(section.making, section.order, (0, 2), ERRORS)
    faces = stacked(folded.making, folded.order, ("f1", "f3"), ERRORS)
    assert faces.worst_mm == pytest.approx(over.worst_mm)
    assert size_between(folded.making, ("f1", "f3")) == pytest.approx(120.0)


def find(legs: tuple[tuple[str, str], ...], leg: int) -> tuple[str, str]:
    """The size across a face of a channel that is this leg."""
    if leg == 1:
        return ("b1", "b2")
    return next(one for one in legs if one[1].startswith(f"e{leg + 1}"))


def test_every_wall_and_the_floor_of_a_box_can_be_measured() -> None:
    made = planned(BOX)
    found = sizes_across(made.making)
    sizes = sorted(round(size_between(made.making, one), 6) for one in found)
    assert sizes == [40.0, 40.0, 40.0, 40.0, 150.0, 200.0]
    assert in_words(found[0]).startswith("Bend 1 to ")


def test_walls_opposite_are_as_far_apart_as_the_floor_is_wide() -> None:
    made = planned(BOX)
    flat = flat_of(made.making)
    normals = [finished_poses(made.making)[face][:3, 2] for face in range(len(flat.faces))]
    pairs = [
        (first, last)
        for first in range(1, 5)
        for last in range(first + 1, 5)
        if abs(float(normals[first] @ normals[last])) > 0.999
    ]
    assert len(pairs) == 2
    for first, last in pairs:
        between = (f"f{first + 1}", f"f{last + 1}")
        floor = next(
            one for one in sizes_across(made.making)
            if set(one) == {f"b{first}", f"b{last}"}
        )  # fmt: skip
        assert size_between(made.making, between) == pytest.approx(size_between(made.making, floor))
        over = stacked_between(made.making, made.order, between, ERRORS)
        across = stacked_between(made.making, made.order, floor, ERRORS)
        assert over.worst_mm == pytest.approx(across.worst_mm)


def shifted_part(part: FlatPart, zone: int, by_mm: float) -> FlatPart:
    """A part with one bend line moved across itself; faces and edges stay on the blank."""
    bends = list(part.bends)
    (u0, v0), (u1, v1) = bends[zone].line_mm
    x, y = part.across[zone]
    line = ((u0 + x * by_mm, v0 + y * by_mm), (u1 + x * by_mm, v1 + y * by_mm))
    bends[zone] = BendLine(
        line, bends[zone].faces, bends[zone].bend_angle_deg,
        bends[zone].inside_radius_mm, bends[zone].allowance_mm,
    )  # fmt: skip
    return replace(part, bends=tuple(bends))


def test_faces_move_as_much_as_when_each_line_is_truly_moved() -> None:
    """The shares of each line's error against folding a part whose line is moved by 0.01 mm."""
    made = planned(as_flat_part(profile_task([60.0, 80.0, 70.0, 60.0], [30.0, -60.0, 30.0])))
    part = flat_of(made.making)
    lines = line_errors(made.making, made.order, ERRORS)
    angles = [bend.bend_angle_deg for bend in part.bends]
    between = ("f1", "f4")
    assert faces_of(made.making, between) == (0, 3)
    stack = stacked_between(made.making, made.order, between, ERRORS)
    step_mm = 0.01

    def apart(one: FlatPart) -> float:
        poses = folded_poses(one, angles)
        middle = np.array([*part.faces[3].outline_mm[0], part.thickness_mm / 2])
        return float((poses[3][:3, :3] @ middle + poses[3][:3, 3])[2])

    shares: dict[str, float] = {}
    for zone, own in lines.items():
        slope = (apart(shifted_part(part, zone, step_mm)) - apart(part)) / step_mm
        for name, size in own.items():
            shares[name] = shares.get(name, 0.0) + slope * size
    gauges = {name: size for name, size in shares.items() if name.startswith("gauge")}
    for name, size in gauges.items():
        assert abs(stack.from_errors.get(name, 0.0)) == pytest.approx(abs(size), abs=1e-6)


def test_a_contact_on_the_edge_of_a_leaning_flange_carries_its_bend_line() -> None:
    """The edge moves with its blank by cos, with its bend line by 1 - cos."""
    task = as_flat_part(profile_task([20.0, 80.0, 60.0], [15.0, 60.0]))
    made = arranged(task, ChosenStep(0, "first"), ChosenStep(1, "first"))
    contact = made.steps[1].contact
    assert (contact.kind, contact.face) == ("edge", 0)
    shares = line_errors(made.making, made.order, ERRORS)[1]
    cos = math.cos(math.radians(15.0))
    own = f"gauge of stroke {made.order[0].stroke}"
    assert abs(shares[own]) == pytest.approx(ERRORS.gauge_mm * (1.0 - cos))
    (cut,) = [share for name, share in shares.items() if name.startswith("edge")]
    assert abs(cut) == pytest.approx(1.0)  # by the edge itself, and by the line gauged on it


def test_a_lip_gauged_on_its_own_mitred_edge_has_only_the_gauges_error() -> None:
    """Its corners are cut at 45 degrees: the slanting edges beside the gauged one do not count."""
    walls = [Wall(60.0, 25.0), Wall(60.0), Wall(60.0, 25.0), Wall(60.0)]
    tray = panel(width_mm=260, depth_mm=180, walls=walls, thickness_mm=2.0, fold=FOLD)
    made = planned(part_task(tray, punches=(straight(width_mm=14.0), goose_neck())))
    own = [
        stacked_between(made.making, made.order, between, ERRORS)
        for step in made.steps
        for between in sizes_across(made.making)
        if step.contact.kind == "edge"
        and between[0] == f"b{step.bends[0] + 1}"
        and between[1].startswith(f"e{step.contact.face + 1}")
    ]
    assert len(own) >= 2
    assert {round(stack.worst_mm, 9) for stack in own} == {ERRORS.gauge_mm}


def test_critical_sizes_of_a_box_get_contacts_that_hold_them_or_are_told() -> None:
    made = planned(BOX)
    floor = next(one for one in sizes_across(made.making) if one[1].startswith("b"))
    wide = stacked_between(made.making, made.order, floor, ERRORS).worst_mm
    assert check_critical(made, {floor: wide + 0.01}, ERRORS) == ()
    (told,) = check_critical(made, {floor: wide - 0.01}, ERRORS)
    assert told.code == "critical_leg_at_risk"
    better = plan_protecting(BOX, {floor: wide - 0.01}, errors=ERRORS).sequence
    assert better is not None
    assert stacked_between(better.making, better.order, floor, ERRORS).worst_mm <= wide


def test_sizes_that_are_none_are_refused() -> None:
    made = planned(BOX)
    for between in (("b1", "b9"), ("f1", "f9"), ("f1", "b1"), ("e1a", "x")):
        with pytest.raises(ShopError) as told:
            size_between(made.making, between)
        assert told.value.code == "no_such_size"
    with pytest.raises(ShopError) as told:
        size_between(made.making, ("f1", "f2"))
    assert told.value.code == "not_parallel"
