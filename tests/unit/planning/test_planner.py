"""Plans of hand-made parts whose answers are known."""

import itertools
from dataclasses import replace

import pytest

from server.errors import ShopError
from server.geometry.generator import Wall, box, bracket, panel
from server.geometry.part import BendLine, Face, FlatPart
from server.mechanics.tooling import Finger, Punch
from server.planning.order_check import ChosenStep, check_order
from server.planning.plan_task import FlatShape, ProfileShape, Wishes
from server.planning.planner import Plan, plan, plan_with_attempts
from server.planning.search import Progress
from tests.bench.plan_cases import drawn_part
from tests.unit.planning.shop import (
    BRAKE,
    FOLD,
    HOLDER,
    deduction_mm,
    die,
    goose_neck,
    part_task,
    profile_task,
    straight,
)


def order(made: Plan) -> list[int]:
    assert made.sequence is not None
    return [step.bends[0] for step in made.sequence.steps]


def codes(made: Plan) -> set[str]:
    assert made.sequence is None
    assert made.blockers, "never an empty no"
    return {finding.code for finding in made.blockers}


# --- answers worked by hand -------------------------------------------------------------------


def test_an_angle_is_one_stroke_gauged_at_leg_less_half_the_deduction() -> None:
    task = profile_task([40.0, 60.0], [90.0])
    made = plan(task)
    assert made.sequence is not None
    assert made.proven
    assert made.sequence.cost.seconds == pytest.approx(6.0)
    step = made.sequence.steps[0]
    gauged = {"first": 40.0, "second": 60.0}[step.rear]
    assert step.target.x_mm == pytest.approx(gauged - deduction_mm(task) / 2, abs=1e-6)
    assert step.target.check is not None
    assert step.target.check.outside_mm == pytest.approx(gauged, abs=1e-6)


def test_a_z_is_turned_over_once_and_the_gauge_moves_once() -> None:
    """6 + 6 strokes, 6 (1 + m/10) for turning over, 0.5 + |dX|/100 between both free edges."""
    task = profile_task([40.0, 60.0, 40.0], [90.0, -90.0])
    made = plan(task)
    assert made.sequence is not None
    cost = made.sequence.cost
    assert (cost.turns_over, cost.turns_end_for_end, cost.gauge_moves) == (1, 0, 1)
    flat = 140.0 - 2 * deduction_mm(task)
    mass = flat * 200.0 * 2.0 * 7.85e-6
    near = 40.0 - deduction_mm(task) / 2
    far = flat - near
    by_hand = 12.0 + 6.0 * (1 + mass / 10) + 0.5 + (far - near) / 100
    assert cost.seconds == pytest.approx(by_hand, abs=1e-6)


def test_the_side_that_closes_faces_up() -> None:
    made = plan(profile_task([40.0, 60.0, 40.0], [90.0, -90.0]))
    assert made.sequence is not None
    up = {step.bends[0]: step.side_up for step in made.sequence.steps}
    assert up == {0: "A", 1: "B"}


def test_a_hat_is_made_crown_side_first_and_needs_a_flange_contact() -> None:
    made = plan(profile_task([30.0, 40.0, 60.0, 40.0, 30.0], [-90.0, 90.0, 90.0, -90.0]))
    assert made.sequence is not None
    assert made.proven
    assert made.sequence.cost.turns_over == 2
    assert [step.contact.kind for step in made.sequence.steps].count("flange") == 1


def possible_orders(task, die_name: str | None = None):  # type: ignore[no-untyped-def]
    count = task.bend_count
    return [
        found
        for found in itertools.permutations(range(count))
        if check_order(task, [ChosenStep(bend) for bend in found], die=die_name).possible
    ]


def test_returns_of_a_channel_come_before_their_flanges_in_any_interleaving() -> None:
    """Once a flange stands, its return can no longer be reached: of the 24 orders the 6 with bend 0
    before 1 and bend 3 before 2 remain."""
    task = profile_task([14.0, 40.0, 80.0, 40.0, 14.0], [90.0, 90.0, 90.0, 90.0])
    right = {
        found
        for found in itertools.permutations(range(4))
        if found.index(0) < found.index(1) and found.index(3) < found.index(2)
    }
    assert set(possible_orders(task)) == right
    assert tuple(order(plan(task))) in right


def test_a_step_with_a_lip_works_in_one_order_only() -> None:
    task = profile_task([18.0, 30.0, 50.0, 50.0], [-90.0, 90.0, 90.0])
    assert possible_orders(task) == [(0, 1, 2)]
    assert order(plan(task)) == [0, 1, 2]


def test_a_deep_channel_needs_a_goose_neck() -> None:
    task = profile_task([50.0, 40.0, 50.0], [90.0, 90.0])
    blocked = plan(task)
    assert codes(blocked) == {"meets_punch"}
    assert all(finding.tool == "straight" for finding in blocked.blockers)
    assert all(finding.amount and finding.amount.value > 1.0 for finding in blocked.blockers)
    both = plan(replace(task, punches=(straight(), goose_neck())))
    assert both.sequence is not None
    assert {step.punch for step in both.sequence.steps} == {"goose neck"}
    assert both.sequence.cost.tool_changes == 0


def test_a_deep_box_is_limited_by_the_punch_height() -> None:
    """Side walls as high as the punch swing into the holder: 90 deg turns the corner through the
    diagonal, so 120 mm walls do not clear a 120 mm punch, and clear a 200 mm one."""
    part = box(
        width_mm=200, depth_mm=150, height_mm=120, thickness_mm=2.0, fold=FOLD, relief_mm=1.5
    )
    held = replace(BRAKE, holder_mm=HOLDER)
    blocked = plan(part_task(part, brake=held))
    assert codes(blocked) == {"meets_holder"}
    high = replace(held, opening_mm=700.0)
    assert plan(part_task(part, brake=high, punches=(straight(height_mm=200.0),))).sequence


def test_an_opening_too_small_for_the_walls_blocks_the_box() -> None:
    part = box(width_mm=200, depth_mm=150, height_mm=60, thickness_mm=2.0, fold=FOLD, relief_mm=1.5)
    assert plan(part_task(part)).sequence is not None
    low = replace(BRAKE, opening_mm=120.0 + 60.0 + 30.0)
    assert codes(plan(part_task(part, brake=low))) == {"opening_too_small"}


TRAY = box(width_mm=200, depth_mm=150, height_mm=40, thickness_mm=2.0, fold=FOLD, relief_mm=1.5)


def test_a_tray_is_bent_with_tools_that_fit_between_its_walls() -> None:
    made = plan(part_task(TRAY))
    assert made.sequence is not None
    assert made.proven
    last = made.sequence.steps[-1]
    station = made.sequence.stations[last.station]
    inside_mm = {0: 200.0, 1: 150.0, 2: 200.0, 3: 150.0}[last.bends[0]] - 2 * 2.0
    assert station.punch_runs[0].length_mm <= inside_mm - 2.0 + 0.25


def test_a_tray_is_bent_from_the_segments_the_shop_owns() -> None:
    owned = (100.0, 50.0, 40.0, 20.0, 15.0, 10.0, 10.0)
    punch = replace(straight(), segments_mm=owned)
    made = plan(part_task(TRAY, punches=(punch,)))
    assert made.sequence is not None
    for station in made.sequence.stations:
        for run in station.punch_runs:
            assert sum(run.segments_mm) == pytest.approx(run.length_mm)
            assert all(piece in owned for piece in run.segments_mm)


def test_a_tray_without_fitting_segments_names_the_length_that_is_missing() -> None:
    punch = replace(straight(), segments_mm=(100.0, 300.0))
    made = plan(part_task(TRAY, punches=(punch,)))
    assert "no_tool_of_length" in codes(made)


def test_a_part_longer_than_the_bed_is_blocked() -> None:
    assert "bend_longer_than_bed" in codes(plan(profile_task([40, 60], [90], width_mm=3000.0)))


def test_a_short_flange_asks_for_a_narrower_die_and_gets_it_when_there_is_one() -> None:
    task = profile_task([10.0, 60.0], [90.0])
    assert codes(plan(task)) == {"flange_too_short"}
    made = plan(replace(task, dies=(die(16.0), die(10.0))))
    assert made.sequence is not None
    assert made.sequence.steps[0].die == "V10"


def test_two_dies_share_a_part_when_neither_does_it_alone() -> None:
    """The short leg needs the narrow V, whose 88 degrees are too wide for the sharper bend."""
    narrow = replace(die(10.0), angle_deg=88.0)
    task = profile_task([10.0, 60.0, 60.0], [75.0, 92.0], dies=(die(16.0), narrow))
    assert codes(plan(replace(task, dies=(die(16.0),)))) == {"flange_too_short"}
    assert codes(plan(replace(task, dies=(narrow,)))) == {"angle_tighter_than_die"}
    made = plan(task)
    assert made.sequence is not None
    assert {s.bends[0]: s.die for s in made.sequence.steps} == {0: "V10", 1: "V16"}
    assert made.sequence.cost.tool_changes == 1
    assert made.sequence.cost.seconds > 300.0


def test_tabs_on_one_line_are_one_stroke_with_one_tool_over_the_gap() -> None:
    part = bracket(
        width_mm=200, depth_mm=80, tabs=[(20, 50, 30), (80, 120, 25)], thickness_mm=2.0,
        fold=FOLD, relief_mm=3,
    )  # fmt: skip
    made = plan(part_task(part))
    assert made.sequence is not None
    assert len(made.sequence.steps) == 1
    assert made.sequence.steps[0].bends == (0, 1)
    station = made.sequence.stations[0]
    assert station.punch_runs[0].length_mm == pytest.approx(100.0)


def test_a_tab_standing_in_the_line_leaves_a_gap_between_two_tools() -> None:
    """The middle tab is bent the other way first; then it stands between the outer two."""
    faces = (
        Face(((0, 0), (200, 0), (200, 80), (0, 80))),
        Face(((10, -30), (60, -30), (60, 0), (10, 0))),
        Face(((140, -30), (190, -30), (190, 0), (140, 0))),
        Face(((80, -30), (120, -30), (120, 4), (80, 4))),
    )
    base = Face(
        ((0, 0), (76, 0), (76, 8), (80, 8), (80, 4), (120, 4), (120, 8), (124, 8), (124, 0),
         (200, 0), (200, 80), (0, 80))
    )  # fmt: skip
    part = FlatPart(
        2.0,
        (base, *faces[1:]),
        (
            BendLine(((10, 0), (60, 0)), (0, 1), 90.0),
            BendLine(((140, 0), (190, 0)), (0, 2), 90.0),
            BendLine(((80, 4), (120, 4)), (0, 3), 90.0),
        ),
    )
    made = plan(part_task(part, wishes=Wishes(before=((2, 0),))))
    assert made.sequence is not None
    pair = next(step for step in made.sequence.steps if step.bends == (0, 1))
    station = made.sequence.stations[pair.station]
    assert len(station.punch_runs) == 2
    assert station.punch_offsets_mm[1] > station.punch_runs[0].length_mm


def test_a_flange_too_long_for_the_window_of_the_fingers_still_finds_its_edge() -> None:
    low = replace(BRAKE, finger=Finger(4.0, 15.0, 30.0))
    assert codes(plan(profile_task([40.0, 60.0], [90.0], brake=low))) == {"no_gauge_contact"}


def test_a_narrow_part_has_less_than_one_finger_width() -> None:
    assert codes(plan(profile_task([40.0, 60.0], [90.0], width_mm=20.0))) == {"no_gauge_contact"}


# --- wishes ----------------------------------------------------------------------------------


def test_a_fixed_order_is_kept_and_costs_no_less() -> None:
    task = profile_task([30.0, 60.0, 80.0, 40.0], [90.0, 90.0, -90.0])
    best = plan(task)
    fixed = plan(replace(task, wishes=Wishes(fixed_order=(2, 0, 1))))
    assert order(fixed) == [2, 0, 1]
    assert best.sequence is not None
    assert fixed.sequence is not None
    assert fixed.sequence.cost.seconds >= best.sequence.cost.seconds - 1e-9


def test_this_before_that_and_gauge_from_this_edge_are_kept() -> None:
    task = profile_task(
        [30.0, 60.0, 80.0, 40.0],
        [90.0, -90.0, 90.0],
        wishes=Wishes(before=((1, 0),), gauge_from={2: "first"}),
    )
    made = plan(task)
    assert order(made).index(1) < order(made).index(0)
    assert made.sequence is not None
    assert next(s for s in made.sequence.steps if s.bends == (2,)).rear == "first"
    free = plan(replace(task, wishes=Wishes()))
    assert free.sequence is not None
    assert free.sequence.cost.seconds <= made.sequence.cost.seconds + 1e-9


@pytest.mark.parametrize(
    ("wishes", "code"),
    [
        (Wishes(fixed_order=(0, 7)), "no_such_bend"),
        (Wishes(fixed_order=(0, 0)), "bend_named_twice"),
        (Wishes(before=((0, 1), (1, 0))), "orders_contradict"),
        (Wishes(before=((0, 1),), fixed_order=(1, 0)), "orders_contradict"),
        (Wishes(gauge_from={5: "first"}), "no_such_bend"),
    ],
)
def test_wishes_that_cannot_be_meant_are_refused(wishes: Wishes, code: str) -> None:
    with pytest.raises(ShopError) as caught:
        plan(profile_task([40.0, 60.0, 40.0], [90.0, 90.0], wishes=wishes))
    assert caught.value.code == code


# --- search behaviour ------------------------------------------------------------------------


def test_the_same_task_gives_the_same_plan() -> None:
    task = profile_task([30.0, 60.0, 80.0, 60.0, 40.0], [90.0, 90.0, -90.0, 90.0])

    def told() -> list[tuple[object, ...]]:
        made = plan(task)
        assert made.sequence is not None
        return [(s.bends, s.rear, s.punch, s.target.x_mm) for s in made.sequence.steps]

    assert told() == told()


def test_a_part_without_bends_needs_no_steps() -> None:
    made = plan(profile_task([80.0], []))
    assert made.sequence is not None
    assert made.sequence.steps == ()
    assert made.sequence.cost.seconds == 0.0


LONG = profile_task(
    [25.0, *([40.0] * 24), 25.0],
    [(-1.0) ** (i // 2) * 30.0 for i in range(25)],
    brake=replace(BRAKE, x_axis=replace(BRAKE.x_axis, most_mm=2000.0)),
)


def test_twenty_five_bends_have_a_plan_and_a_proven_gap() -> None:
    made = plan(LONG, work=8000)
    assert made.sequence is not None
    assert len(made.sequence.steps) == 25
    assert 0.0 < made.bound_s <= made.sequence.cost.seconds + 1e-9
    assert made.gap_ratio < 0.35


def test_a_long_flat_part_is_answered_within_the_work_allowed_and_the_same_again() -> None:
    """Its work counts clearance tests as well: states alone let it run five times as long."""
    task = drawn_part(2, 16)
    (made, attempts), again = plan_with_attempts(task, work=10_000), plan(task, work=10_000)
    assert made.sequence is not None
    assert again.sequence is not None
    assert again.sequence.steps == made.sequence.steps
    assert (again.bound_s, again.work) == (made.bound_s, made.work)
    assert not made.proven
    assert 0.0 < made.bound_s <= made.sequence.cost.seconds
    assert made.work > attempts[0].variant.tests.tests_made  # the states are counted on top
    assert made.work < 3 * 10_000  # what was begun is ended


def test_whoever_calls_may_stop_the_search() -> None:
    asked: list[Progress] = []

    def stop(progress: Progress) -> bool:
        asked.append(progress)
        return len(asked) < 3

    made = plan(LONG, keep_going=stop)
    assert len(asked) >= 3
    assert made.sequence is None
    assert not made.proven
    assert codes(made) == {"not_found"}


def test_more_strokes_than_are_planned_are_refused() -> None:
    many = profile_task([30.0] * 150, [10.0 * (-1) ** i for i in range(149)])
    with pytest.raises(ShopError) as caught:
        plan(many)
    assert caught.value.code == "too_many_strokes"


def test_heavier_parts_weigh_turns_more() -> None:
    light = plan(profile_task([40.0, 60.0, 40.0], [90.0, -90.0], width_mm=50.0))
    heavy = plan(profile_task([40.0, 60.0, 40.0], [90.0, -90.0], width_mm=2000.0))
    assert light.sequence is not None
    assert heavy.sequence is not None
    more_kg = heavy.sequence.mass_kg - light.sequence.mass_kg
    more_s = heavy.sequence.cost.seconds - light.sequence.cost.seconds
    assert more_s == pytest.approx(6.0 * more_kg / 10.0)


def test_changing_punches_is_taken_only_when_it_is_needed() -> None:
    """Two punches, each alone enough: no change. Tools change between strokes only for 300 s."""
    task = profile_task([40.0, 80.0, 40.0], [90.0, 90.0], punches=(straight(), straight("other")))
    made = plan(task)
    assert made.sequence is not None
    assert made.sequence.cost.tool_changes == 0


def test_a_rounder_punch_gives_another_blank_and_is_a_choice_of_its_own() -> None:
    round_tip = straight("round", tip_mm=4.0, width_mm=24.0)
    task = profile_task([40.0, 80.0, 40.0], [90.0, 90.0], punches=(straight(), round_tip))
    made = plan(task)
    assert made.sequence is not None
    assert len({step.punch for step in made.sequence.steps}) == 1


def test_a_panel_with_walls_and_returns_is_planned() -> None:
    part = panel(
        width_mm=400, depth_mm=300, walls=[Wall(60, 14), None, Wall(60, 14), None],
        thickness_mm=2.0, fold=FOLD,
    )  # fmt: skip
    made = plan(part_task(part))
    assert made.sequence is not None
    assert len(made.sequence.steps) == 4
    returns_first = order(made)
    assert returns_first.index(1) < returns_first.index(0)
    assert returns_first.index(3) < returns_first.index(2)


def test_no_tools_is_an_answer_too() -> None:
    made = plan(profile_task([40.0, 60.0], [90.0], punches=()))
    assert codes(made) == {"no_tools"}


def test_a_tool_without_rating_runs_no_job() -> None:
    unrated = Punch("unrated", 1.0, 84.0, profile_mm=straight().profile_mm)
    made = plan(profile_task([40.0, 60.0], [90.0], punches=(unrated,)))
    assert codes(made) == {"no_rating"}


def test_a_leg_the_die_cannot_make_blocks_that_die_only() -> None:
    shape = ProfileShape(200.0, (4.0, 60.0), profile_task([40, 60], [90]).shape.bends)  # type: ignore[arg-type]
    made = plan(replace(profile_task([40.0, 60.0], [90.0]), shape=shape))
    assert codes(made) == {"leg_too_short"}


def test_broken_outlines_are_refused_not_planned() -> None:
    crossed = Face(((0, 0), (50, 20), (50, 0), (0, 20)))
    task = part_task(TRAY)
    assert isinstance(task.shape, FlatShape)
    with pytest.raises(ShopError) as caught:
        plan(replace(task, shape=replace(task.shape, faces=(crossed, *task.shape.faces[1:]))))
    assert caught.value.code == "outline_crosses_itself"
