"""The blank of a drawn profile, by every way of bending: the same flat the planner makes it from."""

import math
from dataclasses import replace

import pytest

from server.geometry.profile import section_outline
from server.mechanics.tooling import Die, Punch
from server.planning.bend_way import Fit
from server.planning.blank import (
    DIN_K,
    Blank,
    DrawnBend,
    DrawnProfile,
    SheetInTools,
    as_drawn,
    profile_blank,
    reasons_of_blank,
)
from server.planning.making import make
from server.planning.plan_task import ProfileShape, ToolPair
from tests.unit.planning.shop import BRAKE, STEEL, die, profile_task, straight

ACUTE = SheetInTools(
    1.5,
    STEEL,
    Die("V12 acute", 12.0, 30.0, 1.5, rating_kn_per_m=900.0),
    Punch("acute", 0.8, 28.0, rating_kn_per_m=900.0),
)
USUAL = SheetInTools(2.0, STEEL, die(16.0), straight())


def blank_of(legs_mm: tuple[float, ...], *bends: DrawnBend, sheet: SheetInTools = USUAL) -> Blank:
    return profile_blank(drawn=DrawnProfile(200.0, legs_mm, bends), sheet=sheet)


def codes(blank: Blank) -> set[tuple[str, str]]:
    return {(one.level, one.code) for one in blank.findings}


@pytest.mark.parametrize(
    ("legs", "bends", "sheet"),
    [
        ((40, 60, 30), (DrawnBend(90), DrawnBend(-60)), USUAL),
        ((40, 60), (DrawnBend(135, dimension_to="tangent"),), USUAL),
        ((20, 60), (DrawnBend(180, way="hem"),), ACUTE),
        ((20, 60, 40), (DrawnBend(-180, way="hem", gap_mm=2.0), DrawnBend(90)), ACUTE),
        ((50, 50), (DrawnBend(30, way="offset", outside_offset_mm=8.0),), USUAL),
        ((80, 80), (DrawnBend(90, 60.0, way="bump", step_deg=6.0),), USUAL),
        ((80, 80), (DrawnBend(-88, 40.0, way="bump", step_deg=10.0),), USUAL),
    ],
)
def test_the_drawing_and_the_planner_make_one_flat(
    legs: tuple[float, ...], bends: tuple[DrawnBend, ...], sheet: SheetInTools
) -> None:
    blank = blank_of(legs, *bends, sheet=sheet)
    task = replace(
        profile_task((1, 1), (90,)),
        shape=ProfileShape(200.0, legs, tuple(bend.shape_bend for bend in bends)),
        thickness_mm=sheet.thickness_mm,
        punches=(sheet.punch,),
        dies=(sheet.die,),
    )
    planned = make(task, [Fit(sheet.die, (sheet.punch,))] * len(bends))
    assert blank.length_mm == pytest.approx(planned.flat_length_mm, abs=1e-9)
    assert blank.profile == planned.sheet


def test_a_closed_hem_takes_0_43_of_the_thickness() -> None:
    """trade.md: deduction about 0.43 t (2 t - pi t / 2)."""
    blank = blank_of((20, 60), DrawnBend(180, way="hem"), sheet=ACUTE)
    assert 80 - blank.length_mm == pytest.approx(1.5 * (2 - math.pi / 2))
    assert blank.bends[0].hit_count == 2


@pytest.mark.parametrize(("step_deg", "hits"), [(2.0, 45), (6.0, 15)])
def test_a_radius_of_100_takes_as_many_hits_as_the_trade_says(step_deg: float, hits: int) -> None:
    """trade.md: R100 t3: 2 deg 45 hits, 6 deg 15 hits."""
    sheet = SheetInTools(3.0, STEEL, die(25.0), straight(tip_mm=3.0))
    bend = DrawnBend(90, 100.0, way="bump", step_deg=step_deg)
    blank = blank_of((150, 150), bend, sheet=sheet)
    assert blank.bends[0].hit_count == hits
    assert len(blank.profile.bends) == hits
    assert blank.bends[0].inside_radius_mm == 100.0
    coarse = ("note", "facets_show") in codes(blank)
    assert coarse == (step_deg > 2.0)


def test_a_hem_without_acute_tools_or_flange_is_refused_by_its_numbers() -> None:
    blunt = blank_of((20, 60), DrawnBend(180, way="hem"))
    assert ("stop", "not_acute_enough") in codes(blunt)
    short = blank_of((6, 60), DrawnBend(180, way="hem"), sheet=ACUTE)
    assert ("stop", "flange_too_short") in codes(short)
    long = blank_of((25, 60), DrawnBend(180, way="hem"), sheet=ACUTE)
    assert ("stop", "flange_too_short") not in codes(long)
    assert ("stop", "no_flattening_tools") in codes(long)
    pair = ToolPair(Punch("F", 0.0, 90.0), Die("F", 20.0, 90.0, 1.0))
    owned = blank_of((25, 60), DrawnBend(180, way="hem"), sheet=replace(ACUTE, flattening=pair))
    assert ("stop", "no_flattening_tools") not in codes(owned)


def test_bottoming_in_a_die_of_another_angle_is_refused() -> None:
    blank = blank_of((40, 60), DrawnBend(90, way="bottoming"))
    assert ("stop", "die_fixes_angle") in codes(blank)
    right = replace(USUAL, die=Die("V12-90", 12.0, 89.0, 1.0, rating_kn_per_m=2000.0),
                    punch=Punch("P", 1.5, 88.0, rating_kn_per_m=2000.0))  # fmt: skip
    good = blank_of((40, 60), DrawnBend(90, way="bottoming"), sheet=right)
    assert not any(level == "stop" for level, _ in codes(good))
    assert good.bends[0].inside_radius_mm == 1.5  # the punch's tip stays in it


def test_an_offset_takes_its_own_length_besides_its_legs() -> None:
    blank = blank_of((50, 50), DrawnBend(90, way="offset", outside_offset_mm=14.0))
    own = blank.length_mm - 100
    assert own > 0
    reasons = reasons_of_blank(blank=blank, thickness_mm=2.0, k=DIN_K, die=USUAL.die)
    assert reasons[1].result.value == pytest.approx(-own)
    assert reasons[0].result.value == pytest.approx(blank.length_mm)


def test_force_of_bottoming_is_checked_against_the_brake() -> None:
    weak = replace(USUAL, brake=replace(BRAKE, max_force_kn=40.0))
    blank = blank_of((40, 60), DrawnBend(90, way="coining"), sheet=weak)
    assert any(
        "force" in code or "brake" in code for level, code in codes(blank) if level == "stop"
    )


def test_a_curve_of_many_hits_is_drawn_as_one_bend() -> None:
    bends = (DrawnBend(90), DrawnBend(90, 60.0, way="bump", step_deg=6.0), DrawnBend(-90))
    blank = blank_of((40, 90, 90, 40), *bends)
    section = as_drawn(section_outline(blank.profile), bends)
    assert [leg.index for leg in section.legs] == [0, 1, 2, 3]
    assert [bend.index for bend in section.bends] == [0, 1, 2]
    last = section_outline(blank.profile).legs[-1]
    assert section.legs[-1].end_mm == last.end_mm
