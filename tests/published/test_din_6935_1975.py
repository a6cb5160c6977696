"""DIN 6935 (1975-10), cold bending of flat rolled steel: flat length, least radii, angle deviations.

Formulas and the worked example as printed in Tabellenbuch Metall; the table of least radii from a
worksheet's copy; the angle deviations from memory. DIN gives the included angle ("opening") and
measures the legs of a bend past 90 degrees to the outer tangent, not to the mold lines' meeting.
"""

import math
from typing import Any

import pytest

from server.mechanics.general_tolerance import din6935_angle_tolerance
from server.mechanics.k_factor import din6935_correction, din6935_k_factor
from server.mechanics.minimum_radius import din6935_minimum_radius
from tests.published.cases import Case, all_cases, ask_flat, each

BY_RULE = ("DIN-06", "DIN-08", "DIN-10", "DIN-11")
CORRECTION = ("DIN-14", "DIN-16", "DIN-18")
STRENGTHS = {
    "Rm<=390": (200.0, 390.0),
    "390<Rm<=490": (391.0, 490.0),
    "490<Rm<=640": (491.0, 640.0),
}


def angle(case: Case, **bend: object) -> Any:
    inputs = case.inputs
    return ask_flat(
        thickness_mm=inputs["s_mm"],
        legs_mm=[inputs["a_mm"], inputs["b_mm"]],
        bends=[
            {
                "bend_angle_deg": 180 - inputs["beta_opening_deg"],
                "inside_radius_mm": inputs["r_mm"],
                **bend,
            }
        ],
    )


@each("DIN-01")
def test_the_worked_example_with_its_rounded_correction(case: Case) -> None:
    flat = angle(case, k_factor=case.inputs["k"] / 2)
    length_mm = flat["flat_length_mm"]
    case.check(
        v_mm=flat["bends"][0]["bend_deduction_mm"],
        L_mm=length_mm,
        L_rounded_mm=math.ceil(length_mm),
    )


@each("DIN-02")
def test_the_correction_of_the_worked_example_by_formula(case: Case) -> None:
    case.check(
        k=din6935_correction(inside_radius_mm=case.inputs["r_mm"], thickness_mm=case.inputs["s_mm"])
    )


@each(*BY_RULE)
def test_deduction_over_the_three_ranges_of_the_opening(case: Case) -> None:
    flat = angle(case, rule="din6935")
    case.check(v_mm=flat["bends"][0]["bend_deduction_mm"], L_mm=flat["flat_length_mm"])


@each("DIN-13")
def test_one_part_stated_to_the_apex_has_the_same_flat(case: Case) -> None:
    inputs = case.inputs
    to_apex = ask_flat(
        thickness_mm=inputs["s_mm"],
        legs_mm=[inputs["a_apex_mm"], inputs["b_apex_mm"]],
        bends=[
            {
                "bend_angle_deg": inputs["bend_deg"],
                "inside_radius_mm": inputs["r_mm"],
                "k_factor": inputs["K"],
                "dimension_to": "apex",
            }
        ],
    )
    case.check(BD_mm=to_apex["bends"][0]["bend_deduction_mm"], flat_mm=to_apex["flat_length_mm"])
    further = (inputs["r_mm"] + inputs["s_mm"]) * (math.tan(math.radians(60)) - 1)
    to_tangent = ask_flat(
        thickness_mm=inputs["s_mm"],
        legs_mm=[inputs["a_apex_mm"] - further, inputs["b_apex_mm"] - further],
        bends=[
            {
                "bend_angle_deg": inputs["bend_deg"],
                "inside_radius_mm": inputs["r_mm"],
                "k_factor": inputs["K"],
            }
        ],
    )
    assert to_tangent["flat_length_mm"] == pytest.approx(to_apex["flat_length_mm"], abs=1e-9)


@each(*CORRECTION)
def test_correction_and_k_factor_by_radius_over_thickness(case: Case) -> None:
    ratio = case.inputs["r_over_s"]
    case.check(
        k=din6935_correction(inside_radius_mm=ratio, thickness_mm=1.0),
        K_factor=din6935_k_factor(inside_radius_mm=ratio, thickness_mm=1.0),
    )


@each("MINR-DIN-")
def test_least_radius_over_the_whole_cell_of_the_table(case: Case) -> None:
    inputs = case.inputs
    for strength in STRENGTHS[inputs["Rm_class_MPa"]]:
        for thickness in (inputs["thickness_over_mm"] + 0.01, inputs["thickness_to_mm"]):
            case.check(
                r_min_mm=din6935_minimum_radius(
                    tensile_strength_mpa=strength, thickness_mm=thickness
                )
            )


def test_along_the_rolling_direction_or_past_120_the_next_thicker_row_holds() -> None:
    across = din6935_minimum_radius(tensile_strength_mpa=360.0, thickness_mm=4.0)
    along = din6935_minimum_radius(tensile_strength_mpa=360.0, thickness_mm=3.0, bend_line="along")
    folded = din6935_minimum_radius(
        tensile_strength_mpa=360.0, thickness_mm=3.0, bend_angle_deg=121.0
    )
    assert across == along == folded == 5.0


@each("TOL-D-")
def test_permissible_angle_deviation_by_the_shorter_leg(case: Case) -> None:
    over, to = case.inputs["shorter_leg_over_mm"], case.inputs["to_mm"]
    for leg in (over + 0.01, to if to is not None else over + 1000.0):
        case.check(pm_deg=din6935_angle_tolerance(shorter_leg_mm=leg))


def test_every_case_named_din_is_one_of_ours_or_the_handbooks() -> None:
    here = {"DIN-01", "DIN-02", "DIN-13", *BY_RULE, *CORRECTION}
    named = {case.id for case in all_cases() if case.id[:4] == "DIN-" and case.id[4:].isdigit()}
    assert named - here == {"DIN-04"}  # test_tabellenbuch_metall.py
