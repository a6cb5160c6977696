"""The simulated brake: true mechanics, published tolerances, the same day from the same seed."""

import math
import statistics
from random import Random

import pytest

from server.errors import ShopError
from server.mechanics.air_bend import air_bend
from server.mechanics.flat_length import FlatBend, flat_length
from server.mechanics.material import Material
from server.mechanics.sheet_tolerance import thickness_tolerance
from server.mechanics.simulated_brake import (
    TrueLot,
    TrueMaterial,
    TruePiece,
    TrueSetup,
    caliper_reading,
    protractor_reading,
    simulated_bend,
    simulated_lot,
    simulated_material,
    simulated_piece,
    simulated_setup,
    strength_sd,
)
from server.mechanics.tooling import Die, Punch

STEEL = Material(youngs_modulus_mpa=210_000.0, yield_strength_mpa=290.0, tensile_strength_mpa=420.0)
DIE, PUNCH = Die("V16", 16.0, 84.0, 1.5), Punch("P", 1.0, 84.0)
PLAIN = TrueMaterial(STEEL, 1.0, 1.0, 0.42)


def bent(tip_travel_mm: float, **changes: float) -> float:
    """Angle of a plain sheet with something changed."""
    piece = TruePiece(changes.get("thickness_mm", 2.0), changes.get("springback_factor", 1.0))
    return simulated_bend(
        piece=piece,
        lot=TrueLot(PLAIN, 2.0, 0.0, changes.get("radius_factor", 1.0), 1.0),
        setup=TrueSetup(changes.get("offset_mm", 0.0), 0.0, changes.get("touched_mm", 2.0)),
        die=DIE,
        punch=PUNCH,
        tip_travel_mm=tip_travel_mm,
        x_mm=50.0,
        blank_mm=100.0,
    ).bend_angle_deg


def test_without_scatter_it_bends_what_the_mechanics_say() -> None:
    told = air_bend(
        thickness_mm=2.0,
        bend_length_mm=100.0,
        bend_angle_deg=90.0,
        material=STEEL,
        die=DIE,
        punch=PUNCH,
    )
    assert bent(told.depth_mm) == pytest.approx(90.0, abs=1e-9)


def test_the_legs_are_those_of_the_flat_length() -> None:
    """100 mm of sheet bent at its middle: both legs, less one deduction, are the sheet again."""
    made = simulated_bend(
        piece=TruePiece(2.0, 1.0),
        lot=TrueLot(PLAIN, 2.0, 0.0, 1.0, 1.0),
        setup=TrueSetup(0.0, 0.0, 2.0),
        die=DIE,
        punch=PUNCH,
        tip_travel_mm=6.0,
        x_mm=40.0,
        blank_mm=100.0,
    )
    flat = flat_length(
        thickness_mm=2.0,
        legs_mm=(made.gauged_leg_mm, made.other_leg_mm),
        legs_are="outside",
        bends=[FlatBend(made.bend_angle_deg, 2.56, 0.42)],
    )
    assert flat.flat_length_mm == pytest.approx(100.0, abs=1e-9)
    assert flat.bend_lines_mm[0] == pytest.approx(40.0, abs=1e-9)


@pytest.mark.parametrize(
    ("changes", "closes"),
    [
        ({"offset_mm": 0.1}, True),
        ({"thickness_mm": 2.05}, True),
        ({"springback_factor": 1.3}, False),
        ({"radius_factor": 1.2}, True),
        ({"thickness_mm": 2.1, "touched_mm": 2.1}, True),
    ],
)
def test_every_scatter_moves_the_angle_the_way_it_really_does(
    changes: dict[str, float], closes: bool
) -> None:
    assert (bent(6.2, **changes) > bent(6.2)) is closes


def test_a_tip_that_stays_above_the_sheet_bends_nothing() -> None:
    assert bent(-5.0) == 0.0
    assert bent(1.0, touched_mm=5.0) == 0.0


def test_a_travel_beyond_the_die_is_refused_like_a_crash() -> None:
    with pytest.raises(ShopError) as trouble:
        simulated_bend(
            piece=TruePiece(12.0, 1.0),
            lot=TrueLot(PLAIN, 12.0, 0.0, 1.0, 1.0),
            setup=TrueSetup(0.0, 0.0, 12.0),
            die=DIE,
            punch=PUNCH,
            tip_travel_mm=12.0,
            x_mm=50.0,
            blank_mm=100.0,
        )
    assert trouble.value.code == "too_deep"


def test_the_same_seed_is_the_same_day() -> None:
    def day(seed: int) -> list[float]:
        chance = Random(seed)
        metal = simulated_material(chance=chance, book=STEEL)
        lot = simulated_lot(chance=chance, metal=metal, thickness_mm=2.0, tolerance_mm=0.11)
        piece = simulated_piece(chance=chance, lot=lot)
        setup = simulated_setup(chance=chance, touch_off_on="sheet", touched_sheet=piece)
        return [
            metal.radius_factor,
            lot.thickness_mm,
            piece.thickness_mm,
            setup.offset_mm,
            protractor_reading(chance=chance, bend_angle_deg=90.0),
            caliper_reading(chance=chance, length_mm=50.0),
        ]

    assert day(4) == day(4)
    assert day(4) != day(5)


def test_lots_stay_inside_the_tolerance_of_en_10131() -> None:
    """EN 10131:2006 table 1: 2.00 mm cold rolled, 1250 wide: plus or minus 0.11."""
    tolerance_mm = thickness_tolerance(standard="EN 10131", thickness_mm=2.0, width_mm=1250.0)
    assert tolerance_mm == 0.11
    chance = Random(11)
    means = [
        simulated_lot(
            chance=chance, metal=PLAIN, thickness_mm=2.0, tolerance_mm=tolerance_mm
        ).thickness_mm
        for _ in range(3000)
    ]
    assert max(abs(mean - 2.0) for mean in means) <= tolerance_mm
    assert statistics.pstdev(means) == pytest.approx(tolerance_mm / 2.5, rel=0.06)


def test_lots_differ_in_strength_as_the_standards_range_says() -> None:
    """EN 10025-2: S235JR 360 to 510 MPa, taken as four standard deviations."""
    sd_ratio = strength_sd(tensile_min_mpa=360.0, tensile_max_mpa=510.0)
    chance = Random(12)
    logs = [
        math.log(
            simulated_lot(
                chance=chance,
                metal=PLAIN,
                thickness_mm=2.0,
                tolerance_mm=0.11,
                strength_sd_ratio=sd_ratio,
            ).springback_factor
        )
        for _ in range(3000)
    ]
    assert statistics.pstdev(logs) == pytest.approx(sd_ratio, rel=0.06)


def test_readings_come_in_the_instruments_steps_and_never_below_nothing() -> None:
    chance = Random(13)
    for _ in range(200):
        read_deg = protractor_reading(chance=chance, bend_angle_deg=0.1, resolution_deg=0.5)
        assert read_deg >= 0.0
        assert read_deg % 0.5 == 0.0
        assert caliper_reading(chance=chance, length_mm=0.001, sd_mm=0.05) >= 0.0
    with pytest.raises(ShopError):
        protractor_reading(chance=chance, bend_angle_deg=90.0, resolution_deg=0.0)
