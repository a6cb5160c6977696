"""Tabellenbuch Metall, Europa-Lehrmittel: blank lengths with the correction v, and springback.

The table of v for 90 degrees is rounded to 0.1 mm and partly from memory. In the springback table
the factors were read and the column heads r2/s remembered.
"""

from server.mechanics.springback import (
    handbook_springback_factor,
    loaded_angle_by_factor,
    tool_radius_by_factor,
)
from tests.published.cases import Case, ask_flat, each


def corner(case: Case) -> dict[str, object]:
    return {
        "bend_angle_deg": 180 - case.inputs["beta_opening_deg"],
        "inside_radius_mm": case.inputs["r_mm"],
        "rule": "din6935",
    }


@each("DIN-04")
def test_the_cover_plates_blank_is_its_legs_less_two_corrections(case: Case) -> None:
    inputs = case.inputs
    flat = ask_flat(
        thickness_mm=inputs["s_mm"],
        legs_mm=[inputs["a_mm"], inputs["b_mm"], inputs["c_mm"]],
        bends=[corner(case)] * inputs["n"],
    )
    case.check(v_mm=flat["bends"][0]["bend_deduction_mm"], L_mm=flat["flat_length_mm"])


@each("DIN-V-")
def test_the_table_of_corrections_for_90_degrees(case: Case) -> None:
    flat = ask_flat(thickness_mm=case.inputs["s_mm"], legs_mm=[100.0, 100.0], bends=[corner(case)])
    case.check(v_mm=flat["bends"][0]["bend_deduction_mm"])


@each("SB-KR-")
def test_springback_factor_gives_the_angle_and_the_tool_radius(case: Case) -> None:
    inputs = case.inputs
    factor = handbook_springback_factor(
        material=inputs["material"], radius_to_thickness_ratio=inputs["r2_over_s"]
    )
    case.check(
        kR=factor,
        alpha1_deg=loaded_angle_by_factor(
            bend_angle_deg=inputs["alpha2_deg"], springback_factor=factor
        ),
        r1_mm=tool_radius_by_factor(
            inside_radius_mm=inputs["r2_over_s"] * inputs["s_mm"],
            springback_factor=factor,
            thickness_mm=inputs["s_mm"],
        ),
    )
