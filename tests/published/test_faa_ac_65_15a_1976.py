"""FAA AC 65-15A, Airframe and Powerplant Mechanics Airframe Handbook (1976), ch. 5 (from memory).

"Formula 1", the allowance of a neutral line at mid-thickness, and one cell of the allowance chart.
"""

from server.mechanics.bend_allowance import bend_allowance, faa_bend_allowance
from server.units.length import inches_from_mm, mm_from_inches
from tests.published.cases import Case, each


@each("FL-FAA-04")
def test_formula_1_takes_the_neutral_line_at_mid_thickness(case: Case) -> None:
    allowance_mm = bend_allowance(
        bend_angle_deg=case.inputs["bend_deg"],
        inside_radius_mm=mm_from_inches(case.inputs["R_in"]),
        thickness_mm=mm_from_inches(case.inputs["T_in"]),
        k_factor=0.5,
    )
    case.check(BA_in=inches_from_mm(allowance_mm))


@each("FL-FAA-05")
def test_the_chart_gives_the_allowance_at_90_and_for_one_degree(case: Case) -> None:
    at_90, at_1 = (
        inches_from_mm(
            faa_bend_allowance(
                bend_angle_deg=angle,
                inside_radius_mm=mm_from_inches(case.inputs["R_in"]),
                thickness_mm=mm_from_inches(case.inputs["T_in"]),
            )
        )
        for angle in (90.0, 1.0)
    )
    case.check(BA_in=at_90, BA_per_deg_in=at_1)
