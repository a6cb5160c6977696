"""Windows of strokes: against the true seconds of every state of small parts, never above."""

import itertools
import math

import pytest

from server.planning import window_bound
from server.planning.bound import PoseBound
from server.planning.order import Pose
from server.planning.planner import single_die_variants
from server.planning.precedence import later_by_rear, later_strokes
from server.planning.variant import Variant
from server.planning.window_bound import WindowBound
from tests.bench.plan_cases import drawn_part

Before = dict[tuple[int, int, int], tuple[Pose, float]]


def true_before(variant: Variant) -> Before:
    """Least seconds of turns, gauge and strokes until a stroke may begin, by trying every order.

    Forward from the flat sheet over (strokes made, next stroke, half behind), with the part's own
    tests; tools and stations are left out, so it is at most what an order takes. Of states from which
    the part can still be finished.
    """
    tests, costs = variant.tests, variant.costs
    strokes = tests.making.strokes
    found: Before = {}
    for made in range(1 << len(strokes)):
        for stroke in strokes:
            if made >> stroke.index & 1:
                continue
            for rear in variant.rears[stroke.index]:
                contact = tests.contact(made, stroke.index, rear)
                if contact is None or not any(
                    tests.possible(made, stroke.index, rear, punch)
                    for punch in variant.punches[stroke.index]
                ):
                    continue
                direction = tests.directions[stroke.index][rear]
                pose = Pose(0 if stroke.sign > 0 else 1, direction, contact.x_mm, "", 0)
                ways = [
                    seconds + costs.handling.stroke_s + costs.move_s(before, pose)
                    for last, half in itertools.product(range(len(strokes)), (0, 1))
                    if made >> last & 1
                    for before, seconds in [
                        found.get((made & ~(1 << last), last, half), (pose, math.inf))
                    ]
                ]
                least_s = min(ways, default=math.inf) if made else 0.0
                if least_s < math.inf:
                    found[made, stroke.index, rear] = (pose, least_s)
    finished = {(1 << len(strokes)) - 1}
    for made, last, _ in sorted(found, reverse=True):
        if made | 1 << last in finished:
            finished.add(made)
    return {key: one for key, one in found.items() if key[0] | 1 << key[1] in finished}


@pytest.mark.parametrize("seed", [0, 2, 3])
@pytest.mark.parametrize("whole", [True, False], ids=["one window", "small windows"])
def test_no_state_of_a_part_needs_less_than_its_windows_say(
    seed: int, whole: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    if not whole:
        monkeypatch.setattr(window_bound, "MOST_WHOLE", 2)
        monkeypatch.setattr(window_bound, "FIRST_SIZE", 3)
    (variant, *_), _ = single_die_variants(drawn_part(seed, 7))
    tests, costs, rears = variant.tests, variant.costs, variant.rears
    by_rear = later_by_rear(tests, variant.punches, rears)
    later = later_strokes(by_rear)
    base = PoseBound(tests, costs, rears, later)
    bound = WindowBound(tests, costs, rears, later, base, by_rear)
    assert len(bound.windows) == (1 if whole else window_bound.KEPT)
    states = true_before(variant)
    more = 0
    for (made, stroke, rear), (pose, seconds) in states.items():
        least_s = bound.before_s(made, stroke, rear, pose)
        assert least_s <= seconds + 1e-6
        more += least_s > base.before_s(made, stroke, rear, pose) + 1e-6
    assert more  # or the windows are of no use
    full = (1 << len(rears)) - 1
    ends = [
        seconds + costs.handling.stroke_s
        for (made, stroke, _), (_, seconds) in states.items()
        if made | 1 << stroke == full
    ]
    assert base.whole_s() <= bound.whole_s() <= min(ends) + 1e-6


def test_the_same_part_gets_the_same_windows() -> None:
    chosen = []
    for _ in range(2):
        (variant, *_), _ = single_die_variants(drawn_part(1, 13))
        tests, costs, rears = variant.tests, variant.costs, variant.rears
        base = PoseBound(tests, costs, rears)
        windows = WindowBound(tests, costs, rears, (0,) * len(rears), base).windows
        chosen.append([(one.strokes, one.whole_s) for one in windows])
    assert chosen[0] == chosen[1]
    assert all(len(strokes) == window_bound.FIRST_SIZE + 2 for strokes, _ in chosen[0])
