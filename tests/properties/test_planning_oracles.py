"""The planner against planners that try everything, on random parts with fixed seeds.

`PLANNING_PROFILES` and `PLANNING_PARTS` in the environment ask for thousands instead of the few
that fit into every run.
"""

import math
from collections.abc import Iterable

import pytest

from server.errors import ShopError
from server.planning.planner import Plan, plan
from server.planning.taking_out import WayOut
from tests.properties.part_oracle import AmbiguousError, PartOracle
from tests.properties.planning_cases import (
    as_flat_part,
    count_of,
    part_task,
    profile_task,
    random_part,
    random_profile,
)
from tests.properties.planning_oracle import Case, Oracle

PROFILES = count_of("PLANNING_PROFILES", 150)
LARGER_PROFILES = max(12, PROFILES // 12)
BOTH_WAYS = max(40, PROFILES // 3)
PARTS = count_of("PLANNING_PARTS", 16)
SAME_S = 2e-3
"""Both sides draw rolled arcs with chords of their own: a contact on an arc may differ by some
hundredths of a millimetre, that is less than a thousandth of a second of gauge travel."""


def seconds_of(made: Plan) -> float:
    assert made.proven
    return made.sequence.cost.seconds if made.sequence is not None else math.inf


def same(first: float, second: float) -> bool:
    return first == second or abs(first - second) < SAME_S


def agree_on_profiles(cases: Iterable[tuple[int, Case]]) -> None:
    possible = blocked = 0
    for seed, case in cases:
        try:
            oracle = Oracle(case)
        except ShopError:  # a leg shorter than its bends: both refuse it
            assert plan(profile_task(case)).sequence is None
            continue
        expected, found = oracle.best(), seconds_of(plan(profile_task(case)))
        assert same(expected, found), f"seed {seed}: everything {expected}, planner {found}"
        possible += expected < math.inf
        blocked += expected == math.inf
    assert possible > 0
    assert blocked > 0


@pytest.mark.slow
def test_profiles_of_up_to_five_bends_agree_with_every_order_tried() -> None:
    agree_on_profiles((seed, random_profile(seed, 5)) for seed in range(PROFILES))


@pytest.mark.slow
def test_profiles_of_six_and_seven_bends_agree_with_every_set_tried() -> None:
    agree_on_profiles(
        (seed, random_profile(seed, 7, least_bends=6, easy=seed % 3 > 0))
        for seed in range(100_000, 100_000 + LARGER_PROFILES)
    )


@pytest.mark.slow
def test_a_profile_asked_as_faces_and_bends_gets_the_same_plan() -> None:
    """The fast way through the section and the general way through solids are two programs."""
    possible = 0
    for seed in range(200_000, 200_000 + BOTH_WAYS):
        task = profile_task(random_profile(seed, 4))
        try:
            other = as_flat_part(task)
        except ShopError:
            continue
        expected, found = seconds_of(plan(task)), seconds_of(plan(other))
        if expected < math.inf and found == math.inf:
            codes = {finding.code for finding in plan(other).blockers}
            assert "opening_too_small" in codes, f"seed {seed}"  # only parts are asked to come out
            continue
        assert same(expected, found), f"seed {seed}: section {expected}, solids {found}"
        possible += expected < math.inf
    assert possible > 0


@pytest.mark.slow
def test_folded_parts_agree_with_every_order_tried(monkeypatch: pytest.MonkeyPatch) -> None:
    """Taking the part out is not in the slow planner: it is tested by hand beside it."""
    monkeypatch.setattr(WayOut, "comes_out", lambda *_: True)
    possible = compared = seed = 0
    while compared < PARTS:
        case = random_part(seed)
        seed += 1
        if not 1 <= len(case.bends) <= 5:
            continue
        oracle = PartOracle(case)
        try:
            expected = oracle.best()
        except AmbiguousError:  # two contacts that slices cannot rank
            continue
        found = seconds_of(plan(part_task(case)))
        assert same(expected, found), f"seed {seed - 1}: everything {expected}, planner {found}"
        compared += 1
        possible += expected < math.inf
    assert possible > 0
