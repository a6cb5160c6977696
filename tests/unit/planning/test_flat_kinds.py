"""Flat parts with hems, offsets and bumped curves: their blank and lines are those of the profile."""

import itertools
from dataclasses import replace

import pytest

from server.actions.work_out_flat import part_of_faces, plain_flat_faces
from server.errors import ShopError
from server.files.flat_dxf import write_flat_dxf
from server.geometry.folding import folded_poses
from server.geometry.part import BendLine, Face, FlatPart, bend_tree, checked_part, flat_area
from server.geometry.zoned_part import Zone, zoned_part
from server.mechanics.bump_bend import bump_bend
from server.planning.blank import DrawnBend, DrawnProfile, SheetInTools, profile_blank
from server.planning.drawn_flat import BracketSizes, DrawnFlat, Pattern, PatternLine, Tab
from server.planning.flat_blank import FlatBlank, flat_blank
from tests.properties.kind_cases import ACUTE_DIE, ACUTE_PUNCH, FLATTENING, offset_pair
from tests.unit.planning.shop import STEEL, die, straight

LAYER_ITSELF = 1
THIN = SheetInTools(
    1.0, STEEL, ACUTE_DIE, ACUTE_PUNCH, flattening=FLATTENING, offset_tools=offset_pair(4.0)
)
USUAL = SheetInTools(2.0, STEEL, die(16.0), straight(), offset_tools=offset_pair(6.0))
HEM = DrawnBend(180.0, way="hem")
CASES = [
    ((16.0, 60.0), (HEM,), THIN),
    ((16.0, 60.0, 40.0), (replace(HEM, bend_angle_deg=-180.0, gap_mm=2.0), DrawnBend(90.0)), THIN),
    ((50.0, 50.0), (DrawnBend(60.0, way="offset", outside_offset_mm=5.0),), THIN),
    ((50.0, 70.0, 30.0), (DrawnBend(-90.0, way="offset", outside_offset_mm=8.0), DrawnBend(90.0)), USUAL),
    ((90.0, 80.0), (DrawnBend(90.0, 60.0, way="bump", step_deg=6.0),), USUAL),
]  # fmt: skip


def as_pattern(legs: tuple[float, ...], bends: tuple[DrawnBend, ...]) -> DrawnFlat:
    """Outside legs side by side; a bend line where two of them meet."""
    at = list(itertools.accumulate((0.0, *legs)))
    lines = tuple(
        PatternLine(((0.0, v), (120.0, v)), bend) for v, bend in zip(at[1:-1], bends, strict=True)
    )
    return DrawnFlat(Pattern(((0.0, 0.0), (120.0, 0.0), (120.0, at[-1]), (0.0, at[-1])), lines))


def made(legs: tuple[float, ...], bends: tuple[DrawnBend, ...], sheet: SheetInTools) -> FlatBlank:
    return flat_blank(as_pattern(legs, bends), sheet)


@pytest.mark.parametrize(("legs", "bends", "sheet"), CASES)
def test_a_rectangle_with_lines_is_the_same_blank_as_its_profile(
    legs: tuple[float, ...], bends: tuple[DrawnBend, ...], sheet: SheetInTools
) -> None:
    profile = profile_blank(drawn=DrawnProfile(120.0, legs, bends), sheet=sheet)
    blank = made(legs, bends, sheet)
    assert blank.area_mm2 == pytest.approx(profile.area_mm2)
    assert max(v for face in blank.part.faces for _, v in face.outline_mm) - min(
        v for face in blank.part.faces for _, v in face.outline_mm
    ) == pytest.approx(profile.length_mm)
    edge = min(v for face in blank.part.faces for _, v in face.outline_mm)
    lines = sorted(line.line_mm[0][1] - edge for line in blank.zoned.part.bends)
    mirrored = sorted(profile.length_mm - line for line in lines)
    drawn = sorted(profile.profile.bend_lines_mm)
    assert lines == pytest.approx(drawn) or mirrored == pytest.approx(drawn)
    assert {one.code for one in blank.findings if one.level == "stop"} == {
        one.code for one in profile.findings if one.level == "stop"
    }


def test_folded_an_offset_steps_by_its_size_and_keeps_its_halves_parallel() -> None:
    blank = made((50.0, 50.0), (DrawnBend(60.0, way="offset", outside_offset_mm=5.0),), THIN)
    part = blank.zoned.part
    poses = folded_poses(part, {zone: one.bend_angle_deg for zone, one in enumerate(part.bends)})
    steps = sorted(abs(float(poses[face][2, 3])) for face in range(2))
    assert poses[0][:3, :3] == pytest.approx(poses[1][:3, :3])
    assert steps == pytest.approx([0.0, 4.0])
    assert blank.folded_mm[2] == pytest.approx(5.0)


def test_a_closed_hem_lies_on_the_sheet_and_an_open_one_keeps_its_gap() -> None:
    for gap_mm in (0.0, 2.0):
        blank = made((16.0, 60.0), (replace(HEM, gap_mm=gap_mm),), THIN)
        assert blank.folded_mm[2] == pytest.approx(2.0 + gap_mm)
        assert "runs_into_itself" not in {one.code for one in blank.findings}


def test_a_curve_is_marked_by_its_hits_and_takes_what_the_mechanics_say() -> None:
    bend = DrawnBend(90.0, 60.0, way="bump", step_deg=6.0)
    blank = made((90.0, 80.0), (bend,), USUAL)
    formed = bump_bend(
        thickness_mm=2.0, bend_length_mm=120.0, bend_angle_deg=90.0, inside_radius_mm=60.0,
        material=STEEL, die=USUAL.die, punch=USUAL.punch, step_deg=6.0, k_factor=0.5,
    )  # fmt: skip
    assert blank.size_mm[0] == pytest.approx(170.0 - formed.bend_deduction_mm)
    assert len(blank.zoned.part.bends) == len(formed.hits) == 15
    assert write_flat_dxf(blank.zoned.part).count(b"BEND_UP") == 15 + LAYER_ITSELF


def test_what_is_kept_of_a_revision_comes_back_with_its_lines() -> None:
    for legs, bends, sheet in CASES:
        blank = made(legs, bends, sheet)
        part = part_of_faces(plain_flat_faces(blank))
        assert len(part.bends) == len(blank.zoned.part.bends)
        assert flat_area(part) == pytest.approx(blank.area_mm2)


def test_hem_flanges_too_short_for_the_acute_hit_are_blocked_with_the_number() -> None:
    short = made((7.0, 60.0), (HEM,), THIN)
    assert ("stop", "flange_too_short") in {(one.level, one.code) for one in short.findings}
    lacking = made((16.0, 60.0), (HEM,), replace(THIN, flattening=None))
    assert ("stop", "no_flattening_tools") in {(one.level, one.code) for one in lacking.findings}


def test_tabs_by_dimensions_may_be_hems_but_not_offsets() -> None:
    sizes = BracketSizes(160.0, 90.0, (Tab(10.0, 150.0, 16.0),), 2.0)
    blank = flat_blank(DrawnFlat(sizes, bend=HEM), THIN)
    assert blank.folded_mm[2] == pytest.approx(2.0)
    assert blank.folded_mm[1] == pytest.approx(90.0)
    with pytest.raises(ShopError, match="offsets"):
        flat_blank(
            DrawnFlat(sizes, bend=DrawnBend(60.0, way="offset", outside_offset_mm=5.0)), THIN
        )


def test_a_hole_across_the_zones_of_a_curve_leaves_a_tree_of_strips() -> None:
    """The strip beside the window comes in two pieces; one of its lines closes the ring."""
    hole = ((50.0, 36.0), (70.0, 36.0), (70.0, 44.0), (50.0, 44.0))
    lower = ((0.0, 0.0), (120.0, 0.0), (120.0, 40.0), (70.0, 40.0), (70.0, 36.0), (50.0, 36.0),
             (50.0, 40.0), (0.0, 40.0))  # fmt: skip
    upper = ((0.0, 40.0), (50.0, 40.0), (50.0, 44.0), (70.0, 44.0), (70.0, 40.0), (120.0, 40.0),
             (120.0, 80.0), (0.0, 80.0))  # fmt: skip
    part = checked_part(
        FlatPart(
            2.0,
            (Face(lower), Face(upper)),
            (
                BendLine(((0.0, 40.0), (50.0, 40.0)), (0, 1), 30.0),
                BendLine(((70.0, 40.0), (120.0, 40.0)), (0, 1), 30.0),
            ),
        )
    )
    zones = [Zone(at_mm, 10.0, 20.0, 1.0) for at_mm in (-3.0, 0.0, 3.0)]
    zoned = zoned_part(part, [zones, zones])
    found = zoned.part
    assert len(found.strips) == 4
    assert len(found.bends) == 6
    assert len(found.twins) == 1
    assert flat_area(found) == pytest.approx(120.0 * 80.0 - 20.0 * 8.0)
    assert len(bend_tree(found)) == len(found.faces) - 1
    assert hole[0] not in found.faces[found.strips[0]].outline_mm
