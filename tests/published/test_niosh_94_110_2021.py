"""DHHS (NIOSH) Publication 94-110, Revised NIOSH Lifting Equation, rev. 9/2021.

The load constant and a solved problem were read. Example 1 of the manual, "loading punch press
stock", is remembered in US units; the manual's metric constants differ from its US ones by rounding
(25 cm against 10 in, 23 kg against 51 lb), hence 5 %.
"""

import pytest

from server.mechanics.handling import (
    LOAD_CONSTANT_KG,
    check_handling,
    recommended_weight_limit,
)
from server.units.imperial import KG_PER_POUND, pounds_from_kg
from server.units.length import mm_from_inches
from tests.published.cases import Case, each


@each("SAF-06")
def test_the_load_constant_is_the_most_one_person_lifts(case: Case) -> None:
    case.check(
        load_constant_kg=LOAD_CONSTANT_KG,
        load_constant_lb=round(pounds_from_kg(LOAD_CONSTANT_KG)),
    )
    at_best = recommended_weight_limit(
        horizontal_cm=25,
        vertical_cm=75,
        travel_cm=25,
        asymmetry_deg=0,
        frequency_factor=1.0,
        coupling_factor=1.0,
    )
    assert at_best == pytest.approx(LOAD_CONSTANT_KG)


@each("SAF-07")
def test_the_solved_lifting_problem(case: Case) -> None:
    inputs = case.inputs
    limit_kg = recommended_weight_limit(
        horizontal_cm=inputs["H_cm"],
        vertical_cm=inputs["V_cm"],
        travel_cm=inputs["D_cm"],
        asymmetry_deg=inputs["A_deg"],
        frequency_factor=inputs["FM"],
        coupling_factor=inputs["CM"],
    )
    case.check(RWL_kg=limit_kg, LI=inputs["load_kg"] / limit_kg)


@pytest.mark.parametrize(
    ("vertical_in", "coupling", "limit_lb"), [(15.0, 0.95, 16.3), (63.0, 1.0, 14.5)]
)
def test_example_1_loading_punch_press_stock(
    vertical_in: float, coupling: float, limit_lb: float
) -> None:
    limit_kg = recommended_weight_limit(
        horizontal_cm=mm_from_inches(23.0) / 10,
        vertical_cm=mm_from_inches(vertical_in) / 10,
        travel_cm=mm_from_inches(48.0) / 10,
        asymmetry_deg=0,
        frequency_factor=1.0,
        coupling_factor=coupling,
    )
    assert limit_kg == pytest.approx(limit_lb * KG_PER_POUND, rel=0.05)


def test_a_part_over_the_load_constant_is_a_caution_and_a_lighter_one_is_not() -> None:
    def codes(mass_kg: float) -> list[str]:
        found = check_handling(
            mass_kg=mass_kg, longest_leg_mm=50.0, depth_mm_per_deg=0.13, ram_speed_mm_per_s=10.0
        )
        return [finding.code for finding in found]

    assert codes(LOAD_CONSTANT_KG + 0.1) == ["heavy_lift"]
    assert codes(LOAD_CONSTANT_KG) == []
