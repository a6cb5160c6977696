"""Many states asked at once answer as each by itself, and what encloses a half leaves nothing out."""

import random

import numpy as np
import pytest

from server.geometry.clearance import seen_in_machine
from server.planning.plan_task import PlanTask, ProfileShape, ShapeBend
from server.planning.planner import single_die_variants
from server.planning.profile_strokes import LAST, ProfileStrokes
from server.planning.stroke_tests import Ask
from tests.bench.plan_cases import drawn_profile
from tests.unit.planning.shop import BRAKE, STEEL, TOUCH_OFF
from tests.unit.planning.test_bend_way import ACUTE_DIE, ACUTE_PUNCH, FLATTENING, HEM, STEP

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
def test_arrays_answer_as_one_half_after_another(seed: int) -> None:
    many, single = strokes_of(seed), strokes_of(seed)
    rng = random.Random(seed)
    compared(many, single, [rng.getrandbits(9) for _ in range(4 * STATES)])


@pytest.mark.parametrize(
    "bends",
    [
        (HEM, ShapeBend(90.0), ShapeBend(-90.0), ShapeBend(45.0), HEM),
        (ShapeBend(90.0), ShapeBend(-180.0, "hem", gap_mm=2.0), ShapeBend(-60.0), HEM),
        (ShapeBend(90.0), ShapeBend(60.0, "bump", 25.0, step_deg=15.0), ShapeBend(-45.0), HEM),
        (ShapeBend(90.0), ShapeBend(90.0, "offset", outside_offset_mm=4.0), HEM),
    ],
)
def test_arrays_fold_hems_curves_and_offsets_alike(bends: tuple[ShapeBend, ...]) -> None:
    legs = (12.0, 60.0, 40.0, 45.0, 30.0)[: len(bends)]
    task = PlanTask(
        shape=ProfileShape(200.0, (*legs, 12.0), bends),
        thickness_mm=1.0,
        material=STEEL,
        brake=BRAKE,
        punches=(ACUTE_PUNCH,),
        dies=(ACUTE_DIE,),
        touch_off=TOUCH_OFF,
        keyed_exactly=True,
        flattening=FLATTENING,
        offset_tools=STEP,
    )
    many, single = (single_die_variants(task)[0][0].tests for _ in range(2))
    assert isinstance(many, ProfileStrokes)
    assert isinstance(single, ProfileStrokes)
    compared(many, single, list(range(1 << len(many.making.strokes))))


def compared(many: ProfileStrokes, single: ProfileStrokes, sets: list[int]) -> None:
    strokes = many.making.strokes
    punches = [stroke.punches for stroke in strokes]
    asks = [
        Ask(stroke.index, rear, [at for at, done in enumerate(sets) if done >> stroke.index & 1])
        for stroke in strokes
        for rear in (0, 1)
    ]
    found = 0
    for ask, offers in zip(asks, many.offers(sets, asks, punches), strict=True):
        rests = [sets[at] & ~(1 << ask.stroke) for at in ask.places]
        assert offers == single.contacts(rests, ask.stroke, ask.rear, punches[ask.stroke])
        for done, offer in zip(rests, offers, strict=True):
            for punch in offer[1] if offer else ():
                found += 1
                asked = (done, ask.stroke, ask.rear, punch)
                assert many.possible(*asked) == single.possible(*asked)
    assert found


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
