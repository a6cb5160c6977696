"""The planner against planners that try everything, on random parts with fixed seeds.

`PLANNING_PROFILES` and `PLANNING_PARTS` in the environment ask for thousands instead of the few
that fit into every run.
"""

import math
from collections.abc import Iterable
from dataclasses import replace

import pytest

from server.errors import ShopError
from server.planning.planner import Plan, plan
from server.planning.sequence import BendSequence
from server.planning.taking_out import WayOut
from tests.properties.kind_cases import as_faces, random_kind_part, random_kinds
from tests.properties.kind_oracle import KindOracle
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
KINDS = count_of("PLANNING_KINDS", 40)
KIND_PARTS = count_of("PLANNING_KIND_PARTS", 10)
MOST_KIND_STROKES = 5
SAME_S = 2e-3
"""Both sides draw rolled arcs with chords of their own: a contact on an arc may differ by some
hundredths of a millimetre, that is less than a thousandth of a second of gauge travel."""


def seconds_of(made: Plan) -> float:
    assert made.proven
    return made.sequence.cost.seconds if made.sequence is not None else math.inf


def same(first: float, second: float) -> bool:
    return first == second or abs(first - second) < SAME_S


CHORD_MM = 0.03
"""The planner draws arcs with chords of 15 degrees, the oracle with finer ones: sheet of a few
millimetres is seen up to so much thicker or thinner at a bend."""
MOST_BORDERLINE_SHARE = 1 / 300
HAIR_MM = 1e-3


def agree_on_profiles(cases: Iterable[tuple[int, Case]]) -> None:
    """Same seconds; else the planner's lie between those of a sheet a chord thinner and thicker."""
    possible = blocked = borderline = 0
    for seed, case in cases:
        try:
            oracle = Oracle(case)
        except ShopError:  # a leg shorter than its bends: both refuse it
            assert plan(profile_task(case)).sequence is None
            continue
        expected, found = oracle.best(), seconds_of(plan(profile_task(case)))
        if not same(expected, found):
            roomier = Oracle(case, erosion_mm=oracle.erosion_mm + CHORD_MM).best()
            tighter = Oracle(case, erosion_mm=oracle.erosion_mm - CHORD_MM).best()
            told = f"seed {seed}: everything {expected}, planner {found}"
            assert roomier - SAME_S <= found <= tighter + SAME_S, told
            borderline += 1
        possible += expected < math.inf
        blocked += expected == math.inf
    assert possible > 0
    assert blocked > 0
    assert borderline <= MOST_BORDERLINE_SHARE * (possible + blocked)


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
        told = f"seed {seed}: section {expected}, solids {found}"
        if not same(expected, found):  # a corner exactly as high as the finger: by rounding
            for by_mm in (-HAIR_MM, HAIR_MM):
                finger = replace(task.brake.finger, high_mm=task.brake.finger.high_mm + by_mm)
                brake = replace(task.brake, finger=finger)
                both = [seconds_of(plan(replace(one, brake=brake))) for one in (task, other)]
                assert same(*both), told
        possible += expected < math.inf
    assert possible > 0


def test_hems_offsets_and_curves_get_the_same_plan_on_a_flat_part() -> None:
    """Strokes, depths, forces, X and check dimensions too, where both choose the same order."""
    possible, ways = 0, set()
    for seed in range(KINDS):
        task = random_kinds(seed)
        try:
            other = as_faces(task)
        except ShopError:  # a leg shorter than its bends, or a curve that one air bend makes
            continue
        one, two = plan(task), plan(other)
        if one.sequence is not None and two.sequence is None:
            codes = {finding.code for finding in two.blockers}
            assert "opening_too_small" in codes, f"seed {seed}"  # only parts are asked to come out
            continue
        assert same(seconds_of(one), seconds_of(two)), f"seed {seed}"
        if one.sequence is None or two.sequence is None:
            continue
        possible += 1
        ways |= {step.what for step in one.sequence.steps}
        steps = [told(found.sequence) for found in (one, two) if found.sequence is not None]
        if [step[:4] for step in steps[0]] == [step[:4] for step in steps[1]]:
            for first, second in zip(*steps, strict=True):
                assert second[4:] == pytest.approx(first[4:], abs=0.02), f"seed {seed}"
    assert possible > KINDS // 3
    assert ways >= {"acute", "flatten", "offset", "bump", "air"}


@pytest.mark.slow
def test_hems_and_curves_on_folded_parts_agree_with_every_order_tried(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(WayOut, "comes_out", lambda *_: True)
    results: list[float] = []
    seed = 0
    while len(results) < KIND_PARTS:
        case, task = random_kind_part(seed)
        seed += 1
        try:
            oracle = KindOracle(case)
            if len(oracle.groups) > MOST_KIND_STROKES:
                continue
            expected = oracle.best()
        except AmbiguousError:  # two contacts that slices cannot rank
            continue
        found = seconds_of(plan(task))
        assert same(expected, found), f"seed {seed - 1}: everything {expected}, planner {found}"
        results.append(found)
    assert min(results) < math.inf
    assert max(results) == math.inf


def told(sequence: BendSequence) -> list[tuple[object, ...]]:
    """What each step is, then its numbers."""
    return [
        (
            step.what, step.bends, step.side_up, step.rear, step.target.x_exact_mm,
            step.target.depth_mm or 0.0, step.target.force_kn, step.target.loaded_bend_angle_deg,
            step.target.check.outside_mm if step.target.check else 0.0,
        )
        for step in sequence.steps
    ]  # fmt: skip


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
