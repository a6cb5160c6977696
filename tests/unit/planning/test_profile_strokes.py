"""Many states asked at once answer as each by itself, and what encloses a half leaves nothing out."""

import random

import numpy as np
import pytest

from server.geometry.clearance import seen_in_machine
from server.planning.planner import single_die_variants
from server.planning.profile_strokes import LAST, ProfileStrokes
from tests.bench.plan_cases import drawn_profile

STATES = 40


def strokes_of(seed: int) -> ProfileStrokes:
    (variant, *_), _ = single_die_variants(drawn_profile(seed, 9))
    assert isinstance(variant.tests, ProfileStrokes)
    return variant.tests


@pytest.mark.parametrize("seed", range(4))
def test_offers_leave_out_only_what_is_blocked(seed: int) -> None:
    many, single = strokes_of(seed), strokes_of(seed)
    rng = random.Random(seed)
    blocked = 0
    for stroke in many.making.strokes:
        states = [rng.getrandbits(9) & ~(1 << stroke.index) for _ in range(STATES)]
        for rear in (0, 1):
            offers = many.contacts(states, stroke.index, rear, stroke.punches)
            for done, offer in zip(states, offers, strict=True):
                contact = single.contact(done, stroke.index, rear)
                possible = [
                    punch
                    for punch in stroke.punches
                    if contact is not None and single.possible(done, stroke.index, rear, punch)
                ]
                if offer is None:
                    assert not possible
                    blocked += 1
                else:
                    assert offer[0] == contact
                    assert set(possible) <= set(offer[1])
    assert blocked


@pytest.mark.parametrize("seed", range(4))
def test_every_piece_lies_within_what_encloses_it(seed: int) -> None:
    tests = strokes_of(seed)
    rng = random.Random(seed)
    for stroke in tests.making.strokes:
        for half in tests._halves[stroke.index]:
            for _ in range(STATES):
                node = half.node(rng.getrandbits(9))
                own, every = half.solid(node), half.pieces(node)
                low_x, low_y, high_x, high_y = node.box
                assert own[..., 0].min() >= low_x - 1e-9
                assert own[..., 0].max() <= high_x + 1e-9
                assert own[..., 1].min() >= low_y - 1e-9
                assert own[..., 1].max() <= high_y + 1e-9
                assert every[..., 0].max() <= node.farthest_mm + 1e-9
                assert every[..., 1].min() >= node.lowest_mm - 1e-9
                after = seen_in_machine(every, stroke.swing, LAST, front=False)
                assert np.min(after[..., 0]) >= node.least_across_mm - 1e-9
