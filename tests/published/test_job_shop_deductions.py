"""A job shop's published bend deductions of cold rolled steel, tested by bending (read there).

Coined bends keep the punch radius, so their K-factor is the shop's own and the arithmetic has to
give the printed deduction. Air bends are measured only: our natural radius of the V common practice
advises has to come near them, and the punch's own radius would not.
"""

import pytest

from server.mechanics.inside_radius import loaded_inside_radius
from server.mechanics.v_opening import advised_v_opening
from server.units.length import inches_from_mm, mm_from_inches
from tests.published.cases import Case, ask_flat, cases, each, mm
from tests.published.material_table import number

SHEET = "A1008 CS"


def deduction_in(thickness_in: float, radius_mm: float, k_factor: float) -> float:
    flat = ask_flat(
        thickness_mm=mm_from_inches(thickness_in),
        legs_mm=mm(4.0, 4.0),
        bends=[{"bend_angle_deg": 90, "inside_radius_mm": radius_mm, "k_factor": k_factor}],
    )
    return inches_from_mm(flat["bends"][0]["bend_deduction_mm"])


@each("BD-SHOP-")
def test_coined_deductions_follow_from_the_shops_k_factors(case: Case) -> None:
    inputs = case.inputs
    case.check(BD_in=deduction_in(inputs["T_in"], mm_from_inches(inputs["R_in"]), inputs["K"]))


@each("BD-AIR-")
def test_air_bends_come_near_the_measured_deductions_by_their_natural_radius(case: Case) -> None:
    thickness_in = case.inputs["T_in"]
    radius_mm = loaded_inside_radius(
        punch_tip_radius_mm=mm_from_inches(case.inputs["R_in"]),
        radius_ratio=number(SHEET, "radius_ratio"),
        v_opening_mm=advised_v_opening(thickness_mm=mm_from_inches(thickness_in)),
    )
    case.check(BD_in=deduction_in(thickness_in, radius_mm, number(SHEET, "k_factor")))


def test_the_punchs_own_radius_would_miss_the_thickest_air_bend() -> None:
    (case,) = cases("BD-AIR-06")
    by_punch_in = deduction_in(
        case.inputs["T_in"], mm_from_inches(case.inputs["R_in"]), number(SHEET, "k_factor")
    )
    with pytest.raises(AssertionError):
        case.check(BD_in=by_punch_in)


@each("GP-01")
def test_the_bend_line_lies_half_a_deduction_inside_the_outside_flange(case: Case) -> None:
    (measured,) = cases("BD-SHOP-13")
    assert measured.expected["BD_in"] == case.inputs["BD_in"]
    flat = ask_flat(
        thickness_mm=mm_from_inches(case.inputs["T_in"]),
        legs_mm=mm(case.inputs["flange_outside_in"], 2.0),
        bends=[
            {
                "bend_angle_deg": 90,
                "inside_radius_mm": mm_from_inches(case.inputs["R_in"]),
                "k_factor": measured.inputs["K"],
            }
        ],
    )
    case.check(gauge_to_bend_line_in=inches_from_mm(flat["bend_lines_mm"][0]))
