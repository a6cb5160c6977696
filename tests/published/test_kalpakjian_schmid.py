"""S. Kalpakjian, S. R. Schmid, Manufacturing Processes for Engineering Materials.

The springback problem (statement read, answer remembered), the strain of the outer fibre (16.4),
least radius from ductility (16.6) and hardening data of table 2.3 (both from memory).
"""

from server.mechanics.hardening import get_hardening
from server.mechanics.minimum_radius import (
    minimum_radius_ratio_from_ductility,
    outer_fibre_strain,
)
from server.mechanics.springback import elastic_plastic_radius_ratio
from tests.published.cases import Case, each

METAL = {
    "Low-carbon steel annealed (Kalpakjian)": "low-carbon steel annealed (second source)",
    "Copper annealed (Kalpakjian)": "copper annealed (second source)",
}


@each("SB-KAL-01")
def test_radius_after_release_of_20_gauge_sheet_over_a_half_inch(case: Case) -> None:
    inputs = case.inputs
    ratio = elastic_plastic_radius_ratio(
        loaded_inside_radius_mm=inputs["Ri_in"],
        thickness_mm=inputs["T_in"],
        yield_strength_mpa=inputs["Y_psi"],
        youngs_modulus_mpa=inputs["E_psi"],
    )
    case.check(Rf_in=inputs["Ri_in"] / ratio, Ri_over_Rf=ratio)


@each("MINR-KAL-")
def test_least_radius_from_the_reduction_of_area(case: Case) -> None:
    case.check(
        R_over_T=minimum_radius_ratio_from_ductility(
            reduction_of_area_percent=case.inputs["reduction_of_area_pct"]
        )
    )


@each("STR-01")
def test_a_radius_of_one_thickness_stretches_the_outer_face_by_a_third(case: Case) -> None:
    case.check(
        outer_fibre_strain=outer_fibre_strain(
            inside_radius_mm=case.inputs["R"], thickness_mm=case.inputs["T"]
        )
    )


@each("MAT-NK-11", "MAT-NK-13")
def test_hardening_data_of_table_2_3(case: Case) -> None:
    found = get_hardening(METAL[case.inputs["material"]])
    case.check(n=found.exponent_ratio, K_MPa=found.strength_coefficient_mpa)
