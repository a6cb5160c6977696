"""A kept sequence on another sheet. Story 1 of the shop's stories: a repeat with a thicker lot."""

from collections.abc import Sequence
from dataclasses import replace

import pytest

from server.mechanics.air_bend import air_bend, bending, depth_for_angle
from server.mechanics.bend_allowance import bend_allowance, outside_setback
from server.mechanics.control_reading import TouchOff, y_reading
from server.mechanics.material import Material
from server.mechanics.tooling import Punch
from server.planning.at_thickness import KeptStep, OnSheet, SheetInHand, at_thickness
from server.planning.plan_task import PlanTask
from server.planning.planner import plan
from server.units.length import mm_from_inches
from tests.unit.planning.eleven_gauge import ELEVEN_GAUGE_MM, K_FACTOR, PUNCH, STEEL, V1
from tests.unit.planning.shop import BRAKE, die, profile_task, straight

THICKER_MM = ELEVEN_GAUGE_MM + mm_from_inches(0.006)  # the mill's upper limit of 11 gauge
STORY = profile_task(
    [40.0, 120.0, 60.0],
    [90.0, -45.0],
    thickness_mm=ELEVEN_GAUGE_MM,
    material=STEEL,
    punches=(PUNCH,),
    dies=(V1,),
    k_factor=K_FACTOR,
)


def kept(task: PlanTask) -> list[KeptStep]:
    made = plan(task).sequence
    assert made is not None
    return [
        KeptStep(
            step.number,
            step.bends[0],
            step.rear,
            step.punch,
            step.die,
            step.target.x_mm,
            step.target.depth_mm,
            step.target.loaded_bend_angle_deg,
            step.target.force_kn,
        )
        for step in made.steps
    ]


def on(
    task: PlanTask, thickness_mm: float, material: Material = STEEL, blank_mm: float | None = None
) -> OnSheet:
    return at_thickness(
        task, kept(task), SheetInHand(thickness_mm, material, "lot L2"), blank_mm=blank_mm
    )


def numbers(found: OnSheet) -> Sequence[set[str]]:
    return [{change.number for change in step.changes} for step in found.steps]


def test_the_same_sheet_changes_nothing() -> None:
    found = on(STORY, ELEVEN_GAUGE_MM)
    assert not found.blocked
    assert numbers(found) == [set(), set()]
    assert all(step.reasons == () for step in found.steps)


def test_a_thicker_lot_gets_the_depth_the_mechanics_give_for_it() -> None:
    """Oracle: the bending of one sheet by itself, which knows nothing of sequences."""
    found = on(STORY, THICKER_MM)
    sheet = bending(thickness_mm=THICKER_MM, material=STEEL, die=V1, punch=PUNCH)
    for step in found.steps:
        assert step.target is not None
        by_itself = depth_for_angle(sheet, step.target.bend_angle_deg)
        assert step.target.depth_mm == pytest.approx(by_itself, abs=1e-9)


def test_x_follows_the_deduction_of_the_thicker_sheet() -> None:
    """Gauged on its own edge a leg's bend line lies at leg - setback + half the allowance."""
    found = on(STORY, THICKER_MM)
    square = next(
        step
        for step in found.steps
        if step.target and step.target.bend_angle_deg == 90.0 and step.target.x_mm < 60.0
    )
    assert square.target is not None
    bent = air_bend(
        thickness_mm=THICKER_MM,
        bend_length_mm=200.0,
        bend_angle_deg=90.0,
        material=STEEL,
        die=V1,
        punch=PUNCH,
    )
    sizes = {
        "bend_angle_deg": 90.0,
        "inside_radius_mm": bent.inside_radius_mm,
        "thickness_mm": THICKER_MM,
    }
    setback = outside_setback(**sizes, to_tangent=False)
    allowance = bend_allowance(**sizes, k_factor=K_FACTOR)
    changed = {change.number: change for change in square.changes}
    assert changed["X"].now.value < changed["X"].before.value
    assert changed["X"].now.value == pytest.approx(40.0 - setback + allowance / 2, abs=1e-6)


def test_a_reading_kept_from_the_thin_sheet_would_over_bend_as_the_trade_says() -> None:
    """Band, not equality: about 34 degrees x dt/t at V = 8 t with Y kept (derived in trade.md)."""
    found = on(STORY, THICKER_MM)
    touch_off = TouchOff("die", 100.0, 5.0)
    for before, step in zip(kept(STORY), found.steps, strict=True):
        assert step.target is not None
        assert step.depth_mm_per_deg is not None
        assert before.depth_mm is not None
        if step.target.bend_angle_deg != 90.0:
            continue
        old, new = (
            y_reading(touch_off=touch_off, y_sense=1, depth_mm=depth, thickness_mm=thick)
            for depth, thick in (
                (before.depth_mm, ELEVEN_GAUGE_MM),
                (step.target.depth_mm or 0.0, THICKER_MM),
            )
        )
        too_deep_deg = (old - new) / step.depth_mm_per_deg
        rule_deg = 34.0 * (THICKER_MM - ELEVEN_GAUGE_MM) / ELEVEN_GAUGE_MM
        assert 0.6 * rule_deg < too_deep_deg < 1.4 * rule_deg


def test_every_changed_number_says_what_it_was_and_why() -> None:
    found = on(
        STORY, THICKER_MM, replace(STEEL, yield_strength_mpa=340.0, tensile_strength_mpa=440.0)
    )
    for step, before in zip(found.steps, kept(STORY), strict=True):
        changed = {change.number: change for change in step.changes}
        assert {"depth", "angle under load", "force", "X"} >= set(changed) >= {"depth", "force"}
        assert changed["depth"].before.value == before.depth_mm
        for change in step.changes:
            moved = change.now.value - change.before.value
            assert sum(part.value for _, part in change.because) == pytest.approx(moved, abs=2e-3)
        told = {reason.number: reason for reason in step.reasons}
        assert told["depth"].result == changed["depth"].now
        assert "lot L2" in told["depth"].rule
        names = [given.name for given in told["depth"].given]
        assert names[:3] == [
            "as it was planned",
            "thickness planned for",
            "thickness of this sheet",
        ]
        assert {"the thickness", "the strength of this lot"} <= set(names)


def test_a_stronger_lot_of_the_same_thickness_springs_back_more_and_goes_deeper() -> None:
    strong = replace(STEEL, yield_strength_mpa=340.0, tensile_strength_mpa=440.0)
    found = on(STORY, ELEVEN_GAUGE_MM, strong)
    for step in found.steps:
        changed = {change.number: change for change in step.changes}
        assert changed["depth"].now.value > changed["depth"].before.value
        assert changed["angle under load"].now.value > changed["angle under load"].before.value
        assert [words for words, _ in changed["depth"].because] == ["the strength of this lot"]


def test_a_step_over_its_limit_is_blocked_and_says_what_would_unblock_it() -> None:
    """F/L goes with t^2: a rating met at 2.0 mm is exceeded at 2.6 mm."""
    task = profile_task([40.0, 60.0], [90.0])
    made = plan(task).sequence
    assert made is not None
    just_enough = 1.2 * made.steps[0].target.force_kn / 0.2
    weak = replace(straight("weak"), rating_kn_per_m=just_enough)
    weak_task = replace(task, punches=(weak,))
    thin, thick = on(weak_task, 2.0, task.material), on(weak_task, 2.6, task.material)
    assert not thin.blocked
    assert thick.blocked
    (step,) = thick.steps
    assert step.target is None
    stop = step.findings[0]
    assert stop.level == "stop"
    assert stop.code == "line_load_over_punch"
    assert stop.frees is not None


def test_a_blocked_step_does_not_block_the_others() -> None:
    """The narrow die's rating is met by the thin sheet only; the wide die has room."""
    narrow, wide = replace(die(12.0), rating_kn_per_m=270.0), die(50.0)
    task = profile_task([11.0, 60.0, 70.0], [90.0, 90.0], dies=(narrow, wide))
    mixed = [replace(step, die="V50") if step.bend == 1 else step for step in kept(task)]
    thin, thick = (
        at_thickness(task, mixed, SheetInHand(t, task.material, "lot L2")) for t in (2.0, 2.3)
    )
    assert not thin.blocked
    blocked = [step for step in thick.steps if step.blocked]
    assert len(blocked) == 1
    assert blocked[0].findings[0].code == "line_load_over_die"
    others = [step for step in thick.steps if not step.blocked]
    assert others[0].target is not None
    assert others[0].target.depth_mm is not None


def test_the_blank_cut_for_the_thin_sheet_is_too_short_for_the_thick_one_or_too_long() -> None:
    blank_mm = plan(STORY).sequence.flat_length_mm  # type: ignore[union-attr]
    (told,) = on(STORY, THICKER_MM, blank_mm=blank_mm).findings
    assert told.code == "blank_for_other_thickness"
    found = on(STORY, THICKER_MM)
    assert told.amount is not None
    assert found.flat_length_mm is not None
    assert blank_mm is not None
    assert told.amount.value == pytest.approx(blank_mm - found.flat_length_mm)
    assert told.amount.value > 0.0  # a thicker sheet has larger deductions and wants less
    assert on(STORY, ELEVEN_GAUGE_MM, blank_mm=blank_mm).findings == ()


def test_a_sheet_the_formulas_refuse_blocks_every_step_in_words() -> None:
    found = on(STORY, 30.0)
    assert found.blocked
    assert all(step.findings[0].frees for step in found.steps)


def test_two_dies_stay_with_their_own_bends() -> None:
    narrow, wide = die(12.0), die(50.0)
    short = profile_task([11.0, 60.0, 70.0], [90.0, 90.0], dies=(narrow, wide), brake=BRAKE)
    steps = kept(replace(short, dies=(narrow,)))
    mixed = [replace(step, die="V50") if step.bend == 1 else step for step in steps]
    found = at_thickness(short, mixed, SheetInHand(2.1, short.material, "lot L2"))
    depth = {step.number: step.target.depth_mm for step in found.steps if step.target}
    assert set(depth) == {1, 2}
    by_number = {step.number: step for step in mixed}
    for number, depth_mm in depth.items():
        tool = {"V12": narrow, "V50": wide}[by_number[number].die]
        sheet = bending(
            thickness_mm=2.1, material=short.material, die=tool, punch=Punch("p", 1.0, 84.0)
        )
        assert depth_mm == pytest.approx(depth_for_angle(sheet, 90.0))
