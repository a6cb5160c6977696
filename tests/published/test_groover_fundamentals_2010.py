"""M. P. Groover, Fundamentals of Modern Manufacturing, 4th ed. (2010), sec. 20.2 (from memory).

Example 20.2 and end-of-chapter problems with their published answers.
"""

import math

from server.mechanics.bend_allowance import bend_allowance, outside_setback
from server.mechanics.bend_force import (
    GROOVER_V_COEFFICIENT,
    bending_line_load,
    edge_bending_force,
)
from server.mechanics.k_factor import groover_k_factor
from server.units.length import inches_from_mm, mm_from_inches
from tests.published.cases import Case, ask, ask_flat, each


def flat_of_tangent_legs(case: Case, k_factor: float) -> tuple[float, float]:
    """(allowance, flat) of a part whose legs are given to the tangent points."""
    bend_deg, radius_mm = case.inputs["bend_deg"], case.inputs["R_mm"]
    setback_mm = outside_setback(
        bend_angle_deg=bend_deg,
        inside_radius_mm=radius_mm,
        thickness_mm=case.inputs["t_mm"],
        to_tangent=True,
    )
    flat = ask_flat(
        thickness_mm=case.inputs["t_mm"],
        legs_mm=[leg + setback_mm for leg in case.inputs["legs_tangent_mm"]],
        bends=[{"bend_angle_deg": bend_deg, "inside_radius_mm": radius_mm, "k_factor": k_factor}],
    )
    return flat["bends"][0]["bend_allowance_mm"], flat["flat_length_mm"]


@each("FL-GRV-01")
def test_example_20_2_a_blank_by_the_two_value_k_rule(case: Case) -> None:
    k_factor = groover_k_factor(
        inside_radius_mm=case.inputs["R_mm"], thickness_mm=case.inputs["t_mm"]
    )
    allowance_mm, blank_mm = flat_of_tangent_legs(case, k_factor)
    case.check(BA_mm=allowance_mm, blank_mm=blank_mm)


@each("FL-GRV-02")
def test_blank_of_a_bend_past_a_right_angle(case: Case) -> None:
    allowance_mm, blank_mm = flat_of_tangent_legs(case, case.inputs["K"])
    case.check(BA_mm=allowance_mm, blank_mm=blank_mm)


@each("FL-GRV-04")
def test_the_stop_stands_at_the_bend_line_of_a_symmetric_angle(case: Case) -> None:
    radius_mm = mm_from_inches(case.inputs["R_in"])
    thickness_mm = mm_from_inches(case.inputs["t_in"])
    blank_mm = mm_from_inches(case.inputs["blank_in"])
    allowance_mm = bend_allowance(
        bend_angle_deg=case.inputs["bend_deg"],
        inside_radius_mm=radius_mm,
        thickness_mm=thickness_mm,
        k_factor=case.inputs["K"],
    )
    leg_mm = (blank_mm - allowance_mm) / 2 + radius_mm + thickness_mm
    flat = ask_flat(
        thickness_mm=thickness_mm,
        legs_mm=[leg_mm, leg_mm],
        bends=[
            {
                "bend_angle_deg": case.inputs["bend_deg"],
                "inside_radius_mm": radius_mm,
                "k_factor": case.inputs["K"],
            }
        ],
    )
    assert math.isclose(flat["flat_length_mm"], blank_mm)
    case.check(
        BA_in=inches_from_mm(flat["bends"][0]["bend_allowance_mm"]),
        leg_tangent_in=inches_from_mm(flat["straights_mm"][0]),
        stop_from_edge_in=inches_from_mm(flat["bend_lines_mm"][0]),
    )


@each("BF-GRV-01", "BF-GRV-02")
def test_v_bending_force_with_the_constant_1_33(case: Case) -> None:
    inputs = case.inputs
    assert inputs["C"] == GROOVER_V_COEFFICIENT
    line_load = bending_line_load(
        coefficient_ratio=GROOVER_V_COEFFICIENT,
        tensile_strength_mpa=inputs["TS_MPa"],
        thickness_mm=inputs["t_mm"],
        v_opening_mm=inputs["V_mm"],
    )
    case.check(F_N=line_load * inputs["L_mm"])
    asked = ask(
        "airbend",
        {
            "thickness_mm": inputs["t_mm"],
            "bend_length_mm": inputs["L_mm"],
            "bend_angle_deg": 60.0,
            "material": {
                "youngs_modulus_mpa": 210000,
                "yield_strength_mpa": inputs["TS_MPa"],
                "tensile_strength_mpa": inputs["TS_MPa"],
            },
            "die": {"v_opening_mm": inputs["V_mm"], "angle_deg": 60, "shoulder_radius_mm": 1},
            "punch": {"tip_radius_mm": 1, "angle_deg": 60},
            "force_rule": "groover",
        },
    )
    case.check(F_N=asked["force_n"])


@each("BF-GRV-05")
def test_edge_bending_force_with_the_constant_0_33(case: Case) -> None:
    case.check(
        F_N=edge_bending_force(
            tensile_strength_mpa=case.inputs["TS_MPa"],
            bend_length_mm=case.inputs["L_mm"],
            thickness_mm=case.inputs["t_mm"],
            die_opening_mm=case.inputs["V_mm"],
        )
    )
