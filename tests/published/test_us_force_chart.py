"""The US chart form of the bending force, 575 t^2/V short tons a foot at 60 ksi, and its scaling.

Common practice without one source; two published charts' texts scale other metals by the ratio of
tensile strengths. NIST SP 811 for the units.
"""

import pytest

from server.mechanics.bend_force import (
    US_CHART_COEFFICIENT,
    bending_line_load,
    governing_line_load,
    v_bending_coefficient,
)
from server.mechanics.inside_radius import SIXTY_KSI_MPA
from server.units.imperial import short_tons_per_foot_from_kn_per_m
from server.units.length import mm_from_inches
from tests.published.cases import Case, each


def tons_per_foot(*, tensile_mpa: float, thickness_in: float, opening_in: float) -> float:
    thickness_mm, opening_mm = mm_from_inches(thickness_in), mm_from_inches(opening_in)
    return short_tons_per_foot_from_kn_per_m(
        bending_line_load(
            coefficient_ratio=v_bending_coefficient(
                rule="us_chart", thickness_mm=thickness_mm, v_opening_mm=opening_mm
            ),
            tensile_strength_mpa=tensile_mpa,
            thickness_mm=thickness_mm,
            v_opening_mm=opening_mm,
        )
    )


@each("BF-575-01")
def test_eighth_inch_over_an_inch_takes_nine_tons_a_foot(case: Case) -> None:
    inputs = case.inputs
    load = tons_per_foot(
        tensile_mpa=SIXTY_KSI_MPA * inputs["material_factor"],
        thickness_in=inputs["t_in"],
        opening_in=inputs["V_in"],
    )
    case.check(tons_per_ft=load, tons=load * inputs["L_ft"])


@each("BF-EQ-01")
def test_the_chart_is_the_usual_formula_with_a_coefficient_of_1_6(case: Case) -> None:
    case.check(C_equiv=US_CHART_COEFFICIENT)


@each("BF-AMT-03")
def test_stainless_takes_the_charts_tons_times_the_ratio_of_strengths(case: Case) -> None:
    strong, base = (float(part) for part in case.inputs["ratio"].split("/"))
    share = tons_per_foot(tensile_mpa=strong, thickness_in=0.1, opening_in=1.0) / tons_per_foot(
        tensile_mpa=base, thickness_in=0.1, opening_in=1.0
    )
    case.check(tons=case.inputs["base_tons_mild"] * share)


@each("BF-RAT-01")
def test_force_grows_with_tensile_strength(case: Case) -> None:
    strong = bending_line_load(
        coefficient_ratio=1.4,
        tensile_strength_mpa=case.inputs["target_UTS"],
        thickness_mm=2.0,
        v_opening_mm=16.0,
    )
    mild = bending_line_load(
        coefficient_ratio=1.4,
        tensile_strength_mpa=case.inputs["base_UTS"],
        thickness_mm=2.0,
        v_opening_mm=16.0,
    )
    case.check(ratio=strong / mild)


@pytest.mark.parametrize("v_to_thickness", [6.0, 8.0, 10.0, 12.0])
def test_limits_are_checked_with_the_highest_of_the_rules(v_to_thickness: float) -> None:
    governing = governing_line_load(
        tensile_strength_mpa=400.0, thickness_mm=2.0, v_opening_mm=2.0 * v_to_thickness
    )
    for rule in ("lange", "groover", "us_chart"):
        one = bending_line_load(
            coefficient_ratio=v_bending_coefficient(
                rule=rule,
                thickness_mm=2.0,
                v_opening_mm=2.0 * v_to_thickness,
            ),
            tensile_strength_mpa=400.0,
            thickness_mm=2.0,
            v_opening_mm=2.0 * v_to_thickness,
        )
        assert one <= governing * (1 + 1e-12)
