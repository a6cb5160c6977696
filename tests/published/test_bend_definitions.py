"""The definitions themselves, worked by hand: no standard needed, and none would differ.

BA = rad(A)(r + K t), OSSB = tan(A/2)(r + t), BD = 2 OSSB - BA, flat = a + b - BD; a bend line lies
half its allowance past the straight; m = L W t rho; and a bend of no thickness and no radii goes as
deep as the triangle between its contacts.
"""

import pytest

from server.mechanics.handling import sheet_mass
from server.mechanics.ram_depth import die_room, ram_depth, shoulder_centre
from tests.published.cases import Case, ask, ask_flat, each


@each("FL-DER-02", "FL-DER-04", "FL-DER-06", "FL-DER-08")
def test_allowance_setback_deduction_and_flat_of_one_bend(case: Case) -> None:
    inputs = case.inputs
    flat = ask_flat(
        thickness_mm=inputs["T_mm"],
        legs_mm=inputs["legs_outside_apex_mm"],
        bends=[
            {
                "bend_angle_deg": inputs["bend_deg"],
                "inside_radius_mm": inputs["R_mm"],
                "k_factor": inputs["K"],
                "dimension_to": "apex",
            }
        ],
    )
    bend = flat["bends"][0]
    case.check(
        BA_mm=bend["bend_allowance_mm"],
        OSSB_mm=bend["outside_setback_mm"],
        BD_mm=bend["bend_deduction_mm"],
        flat_mm=flat["flat_length_mm"],
    )


@each("GP-03")
def test_bend_lines_of_a_channel_from_either_edge(case: Case) -> None:
    inputs = case.inputs
    flat = ask_flat(
        thickness_mm=inputs["T_mm"],
        legs_mm=inputs["outside_mm"],
        bends=[
            {"bend_angle_deg": angle, "inside_radius_mm": inputs["R_mm"], "k_factor": inputs["K"]}
            for angle in inputs["bends_deg"]
        ],
    )
    length_mm, (first_mm, second_mm) = flat["flat_length_mm"], flat["bend_lines_mm"]
    case.check(
        flat_mm=length_mm,
        gauge1_mm=first_mm,
        gauge2_flip_mm=length_mm - second_mm,
        gauge2_same_end_mm=second_mm,
    )
    assert first_mm + second_mm == pytest.approx(length_mm, abs=1e-9)


@each("MASS-")
def test_mass_of_a_sheet(case: Case) -> None:
    inputs = case.inputs
    case.check(
        mass_kg=sheet_mass(
            area_mm2=inputs["L_mm"] * inputs["W_mm"],
            thickness_mm=inputs["t_mm"],
            density_kg_m3=inputs["density_kg_m3"],
        )
    )


@each("GEO-")
def test_depth_of_a_bend_without_thickness_or_radii(case: Case) -> None:
    inputs = case.inputs
    opening_mm, included_deg = inputs["V_mm"], inputs["included_deg"]
    centre_mm = shoulder_centre(
        v_opening_mm=opening_mm, die_angle_deg=included_deg, shoulder_radius_mm=0.0
    )
    case.check(
        depth_mm=ram_depth(
            loaded_bend_angle_deg=180.0 - included_deg,
            shoulder_centre_mm=centre_mm,
            roll_radius_mm=0.0,
        )
    )
    case.check(depth_mm=die_room(v_opening_mm=opening_mm, die_angle_deg=included_deg))


@each("GEO-")
def test_depth_of_an_almost_vanishing_sheet_through_the_contract(case: Case) -> None:
    inputs = case.inputs
    asked = ask(
        "airbend",
        {
            "thickness_mm": 1e-6,
            "bend_length_mm": 100,
            "bend_angle_deg": 180 - inputs["included_deg"],
            "material": {
                "youngs_modulus_mpa": 210000,
                "yield_strength_mpa": 235,
                "tensile_strength_mpa": 360,
            },
            "die": {
                "v_opening_mm": inputs["V_mm"],
                "angle_deg": inputs["included_deg"],
                "shoulder_radius_mm": 0,
            },
            "punch": {"tip_radius_mm": 0, "angle_deg": inputs["included_deg"]},
            "loaded_inside_radius_mm": 1e-6,
            "springback_deg": 0,
        },
    )
    case.check(depth_mm=asked["tip_below_die_top_mm"])
