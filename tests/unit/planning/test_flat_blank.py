"""Flat parts in their die: folded they have the sizes asked for, whatever the die takes."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import translate

from server.errors import ShopError
from server.geometry.cutout import Cutout
from server.geometry.generator import Wall
from server.geometry.part import FlatPart
from server.planning.blank import DrawnBend, DrawnProfile, SheetInTools, profile_blank
from server.planning.drawn_flat import (
    FLAT_STARTERS,
    BracketSizes,
    DrawnFlat,
    DrawnFlatPart,
    PanelSizes,
    Pattern,
    PatternLine,
    SteppedSizes,
    Tab,
    drawn_flat_of,
    plain_of_flat,
)
from server.planning.flat_blank import FlatBlank, flat_blank, whole_outline
from server.planning.flat_change import (
    as_pattern,
    turned_over,
    with_cutout,
    with_row,
    without_cutout,
)
from server.planning.making import fits_of_die, make
from server.planning.plan_task import FlatShape
from tests.unit.planning.shop import STEEL, die, part_task, straight

SHEET = SheetInTools(2.0, STEEL, die(16.0), straight())
SQUARE = DrawnBend(90.0)
TORN = DrawnFlat(
    Pattern(
        ((0.0, 0.0), (80.0, 0.0), (80.0, 30.0), (160.0, 30.0), (160.0, 120.0), (0.0, 120.0)),
        (PatternLine(((0.0, 30.0), (80.0, 30.0)), SQUARE),),
    )
)
CLOSED = Pattern(
    ((0.0, 0.0), (100.0, 0.0), (100.0, 240.0), (0.0, 240.0)),
    tuple(PatternLine(((0.0, at), (100.0, at)), SQUARE) for at in (60.0, 120.0, 180.0)),
)


def levels(blank: FlatBlank) -> set[tuple[str, str]]:
    return {(one.level, one.code) for one in blank.findings}


def box(**changes: object) -> DrawnFlat:
    sizes = PanelSizes(200.0, 120.0, (Wall(40.0),) * 4, 2.0)
    return DrawnFlat(replace(sizes, **changes))  # type: ignore[arg-type]


@pytest.mark.parametrize("name", list(FLAT_STARTERS))
@pytest.mark.parametrize("v_mm", [12.0, 20.0])
def test_every_starter_folds_to_one_size_in_every_die(name: str, v_mm: float) -> None:
    blank = flat_blank(FLAT_STARTERS[name], replace(SHEET, die=die(v_mm)))
    match FLAT_STARTERS[name].form:
        case PanelSizes() as form:
            high = max(wall.height_mm for wall in form.walls)
            asked = (form.width_mm, form.depth_mm, high)
        case BracketSizes() as form:
            asked = (form.width_mm, form.depth_mm, max(tab.height_mm for tab in form.tabs))
        case SteppedSizes() as form:
            asked = (
                math.fsum(length for length, _ in form.steps),
                form.depth_mm,
                max(high for _, high in form.steps),
            )
        case _:
            asked = (160.0, 90.0, 30.0)
    assert blank.folded_mm == pytest.approx(asked, abs=1e-6)


@settings(max_examples=30)
@given(
    st.floats(80.0, 400.0),
    st.floats(80.0, 400.0),
    st.floats(25.0, 90.0),
    st.sampled_from([12.0, 16.0, 20.0]),
)
def test_any_box_folds_to_the_sizes_typed_and_keeps_its_metal(
    width_mm: float, depth_mm: float, height_mm: float, v_mm: float
) -> None:
    drawn = box(width_mm=width_mm, depth_mm=depth_mm, walls=(Wall(height_mm),) * 4)
    blank = flat_blank(drawn, replace(SHEET, die=die(v_mm)))
    assert blank.folded_mm == pytest.approx((width_mm, depth_mm, height_mm), abs=1e-6)
    # one rectangle less a square notch at each corner, by the generator's own rule
    notch_mm = (blank.size_mm[0] * blank.size_mm[1] - blank.area_mm2) / 4
    assert notch_mm > 0.0
    assert whole_outline(blank.part).area == pytest.approx(blank.area_mm2, rel=1e-6)
    assert blank.mass_kg == pytest.approx(blank.area_mm2 * 2.0 * 7850e-9, rel=1e-6)


def test_a_pattern_with_one_bend_is_the_same_blank_as_its_profile() -> None:
    pattern = Pattern(
        ((0.0, 0.0), (300.0, 0.0), (300.0, 100.0), (0.0, 100.0)),
        (PatternLine(((0.0, 40.0), (300.0, 40.0)), SQUARE),),
    )
    flat = flat_blank(DrawnFlat(pattern), SHEET)
    profile = profile_blank(drawn=DrawnProfile(300.0, (40.0, 60.0), (SQUARE,)), sheet=SHEET)
    assert flat.area_mm2 == pytest.approx(profile.area_mm2)
    assert flat.bends[0].use == profile.bends[0].use
    assert flat.folded_mm == pytest.approx((300.0, 60.0, 40.0), abs=1e-6)


def test_a_pattern_that_is_the_blank_keeps_its_size_and_the_part_follows() -> None:
    outline = ((0.0, 0.0), (160.0, 0.0), (160.0, 120.0), (0.0, 120.0))
    line = PatternLine(((0.0, 30.0), (160.0, 30.0)), SQUARE)
    blank = flat_blank(DrawnFlat(Pattern(outline, (line,), "blank")), SHEET)
    deduction_mm = blank.bends[0].use.bend_deduction_mm
    assert blank.size_mm == pytest.approx((160.0, 120.0))
    assert blank.folded_mm == pytest.approx(
        (160.0, 90.0 + deduction_mm / 2, 30.0 + deduction_mm / 2), abs=1e-6
    )


def test_holes_are_cut_and_pierced_and_cost_no_more_metal() -> None:
    hole = Cutout("rectangle", (100.0, 60.0), 30.0, 20.0)
    bare, holed = flat_blank(box(), SHEET), flat_blank(replace(box(), cutouts=(hole,)), SHEET)
    assert bare.area_mm2 - holed.area_mm2 == pytest.approx(600.0)
    assert holed.cut_length_mm - bare.cut_length_mm == pytest.approx(100.0)
    assert (bare.pierces_count, holed.pierces_count) == (1, 2)


def test_the_planner_folds_the_very_blank_that_was_drawn() -> None:
    blank = flat_blank(box(), SHEET)
    shape = blank.shape
    assert isinstance(shape, FlatShape)
    task = replace(part_task(blank.part), shape=shape)
    made = make(task, [fits_of_die(task, task.dies[0])[0]] * len(shape.bends))
    assert isinstance(made.sheet, FlatPart)
    for drawn, planned in zip(blank.part.bends, made.sheet.bends, strict=True):
        assert planned.allowance_mm == pytest.approx(drawn.allowance_mm)
        assert planned.inside_radius_mm == pytest.approx(drawn.inside_radius_mm)


@pytest.mark.parametrize(
    ("drawn", "level", "code"),
    [
        (box(walls=(Wall(8.0),) * 4), "stop", "flange_too_short"),
        (TORN, "caution", "relief_not_wide_enough"),
        (
            replace(box(), cutouts=(Cutout("round", (100.0, 9.0), 8.0, 8.0),)),
            "caution",
            "hole_near_bend",
        ),
        (
            DrawnFlat(CLOSED),
            "stop",
            "runs_into_itself",
        ),
    ],
)
def test_what_speaks_against_a_part_is_found(drawn: DrawnFlat, level: str, code: str) -> None:
    assert (level, code) in levels(flat_blank(drawn, SHEET))


@pytest.mark.parametrize(
    ("drawn", "where"),
    [
        (box(width_mm=8.0), "width_mm"),
        (box(walls=(Wall(3.0),) * 4), "walls.0.height_mm"),
        (box(walls=(Wall(40.0), Wall(40.0), Wall(40.0, 2.0), Wall(40.0))), "walls.2.return_mm"),
        (
            DrawnFlat(BracketSizes(160.0, 90.0, (Tab(0.0, 50.0, 30.0),), 2.0)),
            "tabs.0",
        ),
        (replace(box(), cutouts=(Cutout("round", (2.0, 2.0), 30.0, 30.0),)), "cutouts.0"),
    ],
)
def test_sizes_that_cannot_be_made_name_their_field(drawn: DrawnFlat, where: str) -> None:
    with pytest.raises(ShopError) as trouble:
        flat_blank(drawn, SHEET)
    assert trouble.value.where == where


@pytest.mark.parametrize("name", list(FLAT_STARTERS))
def test_a_drawn_flat_part_is_kept_whole(name: str) -> None:
    part = DrawnFlatPart(
        replace(
            FLAT_STARTERS[name],
            cutouts=(Cutout("slot", (1.0, 2.0), 9.0, 4.0, 30.0),),
            grain="u",
        ),
        "BX-1",
        "box",
        "DC01",
        1.5,
        "D12",
        None,
        0.41,
    )
    assert drawn_flat_of(plain_of_flat(part)) == part


@pytest.mark.parametrize("name", [name for name in FLAT_STARTERS if name != "free pattern"])
@pytest.mark.parametrize("v_mm", [12.0, 20.0])
def test_a_made_part_as_a_pattern_is_the_same_blank_and_folds_the_same(
    name: str, v_mm: float
) -> None:
    sheet = replace(SHEET, die=die(v_mm))
    hole = Cutout("round", (40.0, 45.0), 10.0, 10.0)
    drawn = replace(FLAT_STARTERS[name], cutouts=(hole,))
    made = flat_blank(drawn, sheet)
    again = flat_blank(as_pattern(drawn, made), sheet)
    assert again.folded_mm == pytest.approx(made.folded_mm, abs=2e-3)
    assert again.area_mm2 == pytest.approx(made.area_mm2, abs=0.5)
    assert again.size_mm == pytest.approx(made.size_mm, abs=2e-3)
    assert len(again.bends) == len(made.bends)
    # the very same metal, hole included, wherever the drawing's corner lies (shapely)
    shapes = [whole_outline(blank.part) for blank in (again, made)]
    at_zero = [translate(one, -one.bounds[0], -one.bounds[1]) for one in shapes]
    apart = at_zero[0].symmetric_difference(at_zero[1]).area
    assert apart < 0.5


def test_the_other_side_twice_is_the_same_part() -> None:
    drawn = FLAT_STARTERS["panel"]
    assert turned_over(turned_over(drawn)) == drawn
    assert flat_blank(turned_over(drawn), SHEET).area_mm2 == flat_blank(drawn, SHEET).area_mm2


@pytest.mark.parametrize("name", list(FLAT_STARTERS))
def test_one_more_of_anything_can_still_be_made(name: str) -> None:
    drawn = with_cutout(with_row(FLAT_STARTERS[name]), "slot")
    assert len(flat_blank(drawn, SHEET).bends) >= len(flat_blank(FLAT_STARTERS[name], SHEET).bends)
    assert without_cutout(drawn, 0).cutouts == ()
