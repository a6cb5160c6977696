"""Practice: the same seed is the same day, corrections help, and a crash breaks nothing."""

import pytest

from server.errors import ShopError
from server.mechanics.air_bend import bending, depth_for_angle
from server.mechanics.control_reading import y_reading
from server.mechanics.learned_family import BendKey, multipliers_known
from server.mechanics.material import Material
from server.mechanics.practice import (
    PracticeBend,
    PracticeBrake,
    PracticeStroke,
    practice_bend,
    practice_brake,
)
from server.mechanics.setup_belief import believe_setup
from server.mechanics.setup_fit import MeasuredBend
from server.mechanics.tooling import Die, Punch, YSense

STEEL = Material(youngs_modulus_mpa=210_000.0, yield_strength_mpa=290.0, tensile_strength_mpa=420.0)
DIE, PUNCH = Die("V16", 16.0, 84.0, 1.5), Punch("P", 1.0, 84.0)


def day(seed: int, y_sense: YSense = 1) -> PracticeBrake:
    return practice_brake(
        seed=str(seed), book=STEEL, thickness_mm=2.0, tolerance_mm=0.11, y_sense=y_sense
    )


def bent(brake: PracticeBrake, part: int, y_mm: float) -> PracticeBend:
    return practice_bend(
        brake=brake,
        stroke=PracticeStroke(part, 1, y_mm, 48.0, 96.0),
        die=DIE,
        punch=PUNCH,
    )


def test_the_same_seed_and_keys_read_the_same_and_another_part_reads_otherwise() -> None:
    assert bent(day(5), 1, 106.2) == bent(day(5), 1, 106.2)
    assert bent(day(5), 1, 106.2) != bent(day(5), 2, 106.2)
    assert day(5) != day(6)


@pytest.mark.parametrize("sense", [1, -1])
def test_deeper_bends_more_on_either_sense_of_the_reading(sense: YSense) -> None:
    brake = day(7, sense)
    angles = [bent(brake, 1, 100.0 + sense * travel).true.bend_angle_deg for travel in (5, 6, 6.3)]
    assert angles == sorted(angles)
    assert angles[0] > 40.0


@pytest.mark.parametrize("seed", range(6))
def test_a_learner_who_follows_the_learned_rule_gets_there(seed: int) -> None:
    brake = day(seed)
    measured_mm = sum(brake.edges_mm) / len(brake.edges_mm)
    sheet = bending(thickness_mm=measured_mm, material=STEEL, die=DIE, punch=PUNCH)
    key = BendKey("steel", "S", 2.0, 16.0)
    known = multipliers_known(learned=[], key=key, lot_code="practice")
    trials: list[MeasuredBend] = []
    for part in range(1, 5):
        belief = believe_setup(known=known, trials=trials)
        depth_mm = belief.depth_mm(sheet, 90.0) if trials else depth_for_angle(sheet, 90.0)
        y_mm = y_reading(
            touch_off=brake.touch_off, y_sense=1, depth_mm=depth_mm, thickness_mm=measured_mm
        )
        made = bent(brake, part, y_mm)
        trials.append(MeasuredBend(sheet, depth_mm, made.bend_angle_deg, part, confirmed=True))
    assert made.true.bend_angle_deg == pytest.approx(90.0, abs=1.2)


def test_a_crash_says_what_would_have_happened_and_breaks_nothing() -> None:
    brake = practice_brake(seed="1", book=STEEL, thickness_mm=12.0, tolerance_mm=0.5)
    with pytest.raises(ShopError) as trouble:
        bent(brake, 1, 115.0)
    assert "nothing is broken" in str(trouble.value.remedy)
