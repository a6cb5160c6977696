"""The search: bounds never overestimate, dominance and order of work change nothing."""

import itertools
from dataclasses import replace

import pytest

from server.planning.bound import NoBound, PoseBound, TableBound
from server.planning.layers import LayerSearch
from server.planning.order import Costs, order_cost
from server.planning.order_check import ChosenStep, check_order
from server.planning.plan_task import PlanTask
from server.planning.planner import single_die_variants
from server.planning.profile_strokes import ProfileStrokes
from server.planning.search import Bound, Found, Search
from server.settings import HandlingSeconds
from tests.unit.planning.shop import profile_task

PARTS = [
    profile_task([30.0, 40.0, 60.0, 40.0, 30.0], [-90.0, 90.0, 90.0, -90.0]),
    profile_task([14.0, 40.0, 80.0, 40.0, 14.0], [90.0, 90.0, 90.0, 90.0]),
    profile_task([30.0, 60.0, 80.0, 60.0, 40.0], [90.0, 90.0, -90.0, 90.0]),
    profile_task([30.0, 60.0, 80.0, 40.0, 60.0, 30.0], [45.0, 90.0, -45.0, 90.0, -90.0]),
]


def run(task: PlanTask, kind: str, *, dominance: bool = True) -> tuple[Found, Bound]:
    (variant, *_), _ = single_die_variants(task)
    tests = variant.tests
    assert isinstance(tests, ProfileStrokes)
    bound: Bound = NoBound()
    if kind == "table":
        bound = TableBound(tests, variant.costs, variant.rears)
    elif kind == "pose":
        bound = PoseBound(tests, variant.costs, variant.rears)
    search = Search(
        tests, variant.costs, variant.punches, bound, variant.rears, dominance=dominance
    )
    return search.run(), bound


@pytest.mark.parametrize("task", PARTS)
def test_every_bound_leads_to_the_same_cost_and_better_ones_to_less_work(task: PlanTask) -> None:
    found = {kind: run(task, kind)[0] for kind in ("none", "pose", "table")}
    seconds = {one.seconds for one in found.values()}
    assert len({None if s is None else round(s, 9) for s in seconds}) == 1
    assert found["table"].states <= found["pose"].states <= found["none"].states


@pytest.mark.parametrize("task", PARTS)
def test_dominance_changes_the_work_not_the_answer(task: PlanTask) -> None:
    with_it, _ = run(task, "pose")
    without, _ = run(task, "pose", dominance=False)
    assert with_it.seconds == pytest.approx(without.seconds)
    assert with_it.states <= without.states


@pytest.mark.parametrize("task", PARTS)
@pytest.mark.parametrize("kind", ["pose", "table"])
def test_no_bound_overestimates_any_possible_order(task: PlanTask, kind: str) -> None:
    """Along every possible order, what a bound says is needed before each stroke is never more than
    what the order takes until then."""
    found, bound = run(task, kind)
    if found.seconds is not None:
        assert bound.whole_s() <= found.seconds + 1e-9
    (variant, *_), _ = single_die_variants(task)
    for order in itertools.permutations(range(task.bend_count)):
        checked = check_order(task, [ChosenStep(bend) for bend in order])
        if checked.sequence is None:
            continue
        made = checked.sequence.order
        done = 0
        for number, placed in enumerate(made):
            taken = order_cost(made[: number + 1], variant.costs).seconds
            taken -= variant.costs.stroke_s(placed.contact)
            least = bound.before_s(done, placed.stroke, placed.rear, placed.pose)
            assert least <= taken + 1e-6
            done |= 1 << placed.stroke


@pytest.mark.parametrize("task", PARTS)
@pytest.mark.parametrize("kind", ["none", "pose"])
def test_layers_that_keep_all_prove_the_optimum_and_narrow_ones_a_bound(
    task: PlanTask, kind: str
) -> None:
    best, bound = run(task, kind)
    optimum_s = float("inf") if best.seconds is None else best.seconds
    (variant, *_), _ = single_die_variants(task)
    for width in (1, 2, 4, 8, 1000):
        search = Search(variant.tests, variant.costs, variant.punches, bound, variant.rears)
        made = LayerSearch(search, width).run()
        assert made.bound_s <= optimum_s + 1e-9
        assert made.seconds >= optimum_s - 1e-9
        if made.order is not None:
            assert order_cost(made.order, variant.costs).seconds == made.seconds
        if width == 1000:
            assert made.seconds == pytest.approx(optimum_s)
            assert made.bound_s == pytest.approx(optimum_s)


def test_a_pass_that_runs_out_of_work_still_finds_an_order_and_a_bound_below_it() -> None:
    task = PARTS[3]
    best, bound = run(task, "pose")
    (variant, *_), _ = single_die_variants(task)
    search = Search(variant.tests, variant.costs, variant.punches, bound, variant.rears)
    made = LayerSearch(search, 1000, most_work=1).run()
    assert made.order is not None
    assert best.seconds is not None
    assert bound.whole_s() <= made.bound_s <= best.seconds + 1e-9


def test_a_search_cut_short_gives_a_bound_below_the_optimum() -> None:
    task = PARTS[3]
    best, _ = run(task, "pose")
    (variant, *_), _ = single_die_variants(task)
    search = Search(variant.tests, variant.costs, variant.punches, variant.bound, variant.rears)
    cut = search.run(most_states=5)
    assert cut.seconds is None
    assert not cut.proven
    assert best.seconds is not None
    assert 0.0 < cut.bound_s <= best.seconds + 1e-9


def test_an_order_not_better_than_a_known_one_is_not_looked_for() -> None:
    task = PARTS[0]
    best, _ = run(task, "table")
    assert best.seconds is not None
    (variant, *_), _ = single_die_variants(task)
    search = Search(
        variant.tests, variant.costs, variant.punches, variant.bound, variant.rears,
        better_than_s=best.seconds,
    )  # fmt: skip
    found = search.run()
    assert found.seconds is None
    assert found.bound_s == pytest.approx(best.seconds)


def test_the_cost_of_an_order_is_the_sum_of_the_documents_weights() -> None:
    task = PARTS[0]
    found, _ = run(task, "table")
    costs = Costs(HandlingSeconds(), 10.0)
    counted = order_cost(found.order, costs)
    moves = sum(
        0.5 + abs(b.pose.x_mm - a.pose.x_mm) / 100.0
        for a, b in itertools.pairwise(found.order)
        if a.pose.x_mm != b.pose.x_mm
    )
    expected = (
        6.0 * 4
        + 2.0 * counted.flange_contacts
        + 12.0 * counted.turns_over
        + 8.0 * counted.turns_end_for_end
        + moves
    )
    assert counted.seconds == pytest.approx(expected)


def test_a_tool_change_counts_once_and_a_station_not_on_top() -> None:
    task = PARTS[0]
    found, _ = run(task, "table")
    first = found.order[0].pose
    costs = Costs(HandlingSeconds(), 0.0)
    other = replace(first, tools="other / V16", station=3)
    assert costs.move_s(first, other) == 300.0
    assert costs.move_s(first, replace(first, station=3)) == 3.0
