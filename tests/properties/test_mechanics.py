"""What must hold for every bend, whatever its numbers: found by hypothesis, with fixed seeds."""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from server.mechanics.air_bend import (
    Bending,
    angles_for_depth,
    bending,
    depth_for_angle,
    depths_for_angles,
    loaded_bend_angle,
    springback_at,
)
from server.mechanics.bend_allowance import bend_allowance
from server.mechanics.flat_length import FlatBend, flat_length
from server.mechanics.inside_radius import loaded_inside_radius
from server.mechanics.material import Material
from server.mechanics.ram_depth import (
    largest_loaded_angle,
    loaded_angle_from_depth,
    minimum_flange,
    ram_depth,
    ram_depth_per_degree,
    shoulder_centre,
    straight_flank,
)
from server.mechanics.springback import released_inside_radius, springback, unloading_curvature
from server.mechanics.tooling import Die, Punch

BELOW_THE_LIMIT = 0.98
"""At the roll-up itself the depth is flat in the angle, so no inverse can be exact there."""


@st.composite
def sheets(draw: st.DrawFn) -> tuple[Bending, float]:
    """A sheet in a die, and the largest angle under load that goes in it."""
    thickness = draw(st.floats(0.4, 12.0))
    die = Die(
        "V",
        v_opening_mm=thickness * draw(st.floats(5.0, 14.0)),
        angle_deg=draw(st.floats(26.0, 90.0)),
        shoulder_radius_mm=thickness * draw(st.floats(0.0, 1.0)),
    )
    strength = draw(st.floats(60.0, 900.0))
    metal = Material(
        youngs_modulus_mpa=draw(st.sampled_from([69_000.0, 110_000.0, 210_000.0])),
        yield_strength_mpa=strength * draw(st.floats(0.3, 1.0)),
        tensile_strength_mpa=strength,
        radius_ratio=draw(st.floats(0.1, 0.25)),
    )
    punch = Punch("P", tip_radius_mm=thickness * draw(st.floats(0.0, 2.0)), angle_deg=26.0)
    sheet = bending(thickness_mm=thickness, material=metal, die=die, punch=punch)
    most = largest_loaded_angle(
        shoulder_centre_mm=sheet.shoulder_centre_mm,
        roll_radius_mm=sheet.roll_radius_mm,
        die_angle_deg=die.angle_deg,
    )
    assume(most > 20.0)
    return sheet, most


shares = st.floats(0.0, 1.0)


def depth(sheet: Bending, loaded_deg: float) -> float:
    return ram_depth(
        loaded_bend_angle_deg=loaded_deg,
        shoulder_centre_mm=sheet.shoulder_centre_mm,
        roll_radius_mm=sheet.roll_radius_mm,
    )


@given(sheets())
def test_a_flat_sheet_needs_no_travel(made: tuple[Bending, float]) -> None:
    sheet, _ = made
    assert depth(sheet, 0.0) == 0.0
    assert depth_for_angle(sheet, 0.0) == 0.0
    assert angles_for_depth(sheet, 0.0) == (0.0, 0.0)


@given(sheets(), shares, shares)
def test_a_deeper_stroke_never_bends_less(
    made: tuple[Bending, float], first: float, second: float
) -> None:
    sheet, most = made
    less, more = sorted((first * most, second * most))
    assert depth(sheet, less) <= depth(sheet, more)
    slope = ram_depth_per_degree(
        loaded_bend_angle_deg=more,
        shoulder_centre_mm=sheet.shoulder_centre_mm,
        roll_radius_mm=sheet.roll_radius_mm,
    )
    assert slope >= -1e-12


@given(sheets(), shares)
def test_the_angle_of_the_depth_of_an_angle_is_that_angle(
    made: tuple[Bending, float], share: float
) -> None:
    sheet, most = made
    loaded_deg = share * BELOW_THE_LIMIT * most
    back = loaded_angle_from_depth(
        depth_mm=depth(sheet, loaded_deg),
        shoulder_centre_mm=sheet.shoulder_centre_mm,
        roll_radius_mm=sheet.roll_radius_mm,
    )
    assert back == pytest.approx(loaded_deg, abs=1e-9)


@given(sheets(), shares)
def test_the_same_holds_after_release(made: tuple[Bending, float], share: float) -> None:
    sheet, most = made
    wanted_deg = share * BELOW_THE_LIMIT * (most - springback_at(sheet, most))
    assume(wanted_deg > 0.0)
    assume(loaded_bend_angle(sheet, wanted_deg) <= BELOW_THE_LIMIT * most)
    _, final_deg = angles_for_depth(sheet, depth_for_angle(sheet, wanted_deg))
    assert final_deg == pytest.approx(wanted_deg, abs=1e-9)


@given(sheets(), st.lists(shares, min_size=1, max_size=20))
def test_many_at_once_are_the_same_as_one_by_one(
    made: tuple[Bending, float], chosen: list[float]
) -> None:
    sheet, most = made
    wanted = np.array([share * 0.9 * most for share in chosen])
    assume(float(wanted.max()) + springback_at(sheet, most) < BELOW_THE_LIMIT * most)
    together = depths_for_angles(sheet, wanted)
    single = [depth_for_angle(sheet, float(angle)) for angle in wanted]
    assert together == pytest.approx(single, rel=1e-9, abs=1e-10)


@given(sheets(), st.lists(shares, min_size=2, max_size=8))
def test_every_formula_takes_arrays_as_it_takes_numbers(
    made: tuple[Bending, float], chosen: list[float]
) -> None:
    sheet, most = made
    loaded = np.array(chosen) * BELOW_THE_LIMIT * most
    centre, roll = sheet.shoulder_centre_mm, sheet.roll_radius_mm
    centres, rolls = np.full(loaded.shape, centre), np.full(loaded.shape, roll)

    def same(many: object, one_by_one: list[float]) -> None:
        assert many == pytest.approx(one_by_one, rel=1e-12, abs=1e-12)

    depths = ram_depth(
        loaded_bend_angle_deg=loaded, shoulder_centre_mm=centres, roll_radius_mm=rolls
    )
    same(depths, [depth(sheet, float(angle)) for angle in loaded])
    same(
        loaded_angle_from_depth(depth_mm=depths, shoulder_centre_mm=centres, roll_radius_mm=rolls),
        [
            loaded_angle_from_depth(
                depth_mm=float(value), shoulder_centre_mm=centre, roll_radius_mm=roll
            )
            for value in depths
        ],
    )
    flanks = straight_flank(
        loaded_bend_angle_deg=loaded, shoulder_centre_mm=centres, roll_radius_mm=rolls
    )
    same(
        flanks,
        [
            straight_flank(
                loaded_bend_angle_deg=float(angle), shoulder_centre_mm=centre, roll_radius_mm=roll
            )
            for angle in loaded
        ],
    )
    same(
        minimum_flange(
            loaded_bend_angle_deg=loaded, shoulder_centre_mm=centres, shoulder_radius_mm=centres / 9
        ),
        [
            minimum_flange(
                loaded_bend_angle_deg=float(angle),
                shoulder_centre_mm=centre,
                shoulder_radius_mm=centre / 9,
            )
            for angle in loaded
        ],
    )
    ones = np.ones(loaded.shape)
    lost = springback(
        loaded_bend_angle_deg=loaded,
        loaded_inside_radius_mm=ones * sheet.loaded_inside_radius_mm,
        thickness_mm=ones * sheet.thickness_mm,
        straight_flank_mm=flanks,
        unloading_curvature_per_mm=ones * sheet.unloading_curvature_per_mm,
    )
    same(lost, [springback_at(sheet, float(angle)) for angle in loaded])


def test_the_remaining_formulas_take_arrays_too() -> None:
    thickness = np.array([1.0, 2.0, 3.0])
    centre = shoulder_centre(
        v_opening_mm=8 * thickness,
        die_angle_deg=np.full(3, 86.0),
        shoulder_radius_mm=thickness / 2,
    )
    radius = loaded_inside_radius(
        punch_tip_radius_mm=np.ones(3), radius_ratio=np.full(3, 0.16), v_opening_mm=8 * thickness
    )
    curvature = unloading_curvature(
        flow_stress_mpa=np.full(3, 300.0),
        youngs_modulus_mpa=np.full(3, 210_000.0),
        poisson_ratio=np.full(3, 0.3),
        thickness_mm=thickness,
    )
    released = released_inside_radius(
        loaded_inside_radius_mm=radius, thickness_mm=thickness, lost_curvature_per_mm=curvature
    )
    allowance = bend_allowance(
        bend_angle_deg=np.full(3, 90.0),
        inside_radius_mm=released,
        thickness_mm=thickness,
        k_factor=np.full(3, 0.42),
    )
    for index, one in enumerate(thickness):
        t = float(one)
        assert centre[index] == shoulder_centre(
            v_opening_mm=8 * t, die_angle_deg=86.0, shoulder_radius_mm=t / 2
        )
        r = loaded_inside_radius(punch_tip_radius_mm=1.0, radius_ratio=0.16, v_opening_mm=8 * t)
        c = unloading_curvature(
            flow_stress_mpa=300.0, youngs_modulus_mpa=210_000.0, poisson_ratio=0.3, thickness_mm=t
        )
        after = released_inside_radius(
            loaded_inside_radius_mm=r, thickness_mm=t, lost_curvature_per_mm=c
        )
        assert released[index] == pytest.approx(after, rel=1e-14)
        assert allowance[index] == pytest.approx(
            bend_allowance(
                bend_angle_deg=90.0, inside_radius_mm=after, thickness_mm=t, k_factor=0.42
            ),
            rel=1e-14,
        )


bends = st.builds(
    FlatBend,
    bend_angle_deg=st.floats(-150.0, 150.0),
    inside_radius_mm=st.floats(0.1, 10.0),
    k_factor=st.one_of(st.none(), st.floats(0.2, 0.5)),
)


@given(
    thickness=st.floats(0.5, 6.0),
    drawn=st.lists(st.tuples(bends, st.floats(80.0, 500.0)), min_size=2, max_size=8),
    cut=st.integers(1, 7),
    share=st.floats(0.3, 0.7),
)
def test_a_part_cut_in_a_straight_leg_has_the_flat_of_its_two_halves(
    thickness: float, drawn: list[tuple[FlatBend, float]], cut: int, share: float
) -> None:
    chosen = [bend for bend, _ in drawn]
    legs = [length for _, length in drawn] + [100.0]
    where = min(cut, len(drawn) - 1)
    whole = flat_length(thickness_mm=thickness, legs_mm=legs, bends=chosen)
    near = flat_length(
        thickness_mm=thickness, legs_mm=[*legs[:where], legs[where] * share], bends=chosen[:where]
    )
    far = flat_length(
        thickness_mm=thickness,
        legs_mm=[legs[where] * (1 - share), *legs[where + 1 :]],
        bends=chosen[where:],
    )
    assert near.flat_length_mm + far.flat_length_mm == pytest.approx(whole.flat_length_mm, abs=1e-9)
    lines = [*near.bend_lines_mm, *(near.flat_length_mm + line for line in far.bend_lines_mm)]
    assert lines == pytest.approx(list(whole.bend_lines_mm), abs=1e-9)


@given(
    thickness=st.floats(0.5, 6.0),
    drawn=st.lists(st.tuples(bends, st.floats(80.0, 500.0)), max_size=8),
)
def test_a_part_read_from_its_other_end_has_the_same_flat(
    thickness: float, drawn: list[tuple[FlatBend, float]]
) -> None:
    chosen = [bend for bend, _ in drawn]
    legs = [length for _, length in drawn] + [100.0]
    there = flat_length(thickness_mm=thickness, legs_mm=legs, bends=chosen)
    back = flat_length(thickness_mm=thickness, legs_mm=legs[::-1], bends=chosen[::-1])
    assert back.flat_length_mm == pytest.approx(there.flat_length_mm, abs=1e-9)
    mirrored = [there.flat_length_mm - line for line in reversed(there.bend_lines_mm)]
    assert list(back.bend_lines_mm) == pytest.approx(mirrored, abs=1e-9)
    parts = math.fsum(there.straights_mm) + math.fsum(use.bend_allowance_mm for use in there.bends)
    assert parts == pytest.approx(there.flat_length_mm, abs=1e-9)


@given(thickness=st.floats(0.5, 6.0), bend=bends, extra=st.floats(0.0, 100.0))
def test_a_longer_leg_makes_the_flat_longer_by_as_much(
    thickness: float, bend: FlatBend, extra: float
) -> None:
    short = flat_length(thickness_mm=thickness, legs_mm=[100.0, 100.0], bends=[bend])
    long = flat_length(thickness_mm=thickness, legs_mm=[100.0, 100.0 + extra], bends=[bend])
    assert long.flat_length_mm - short.flat_length_mm == pytest.approx(extra, abs=1e-9)
