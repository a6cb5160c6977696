"""FAA AC 43.13-1B, Acceptable Methods, Techniques and Practices (1998), table 4-7, p. 4-15.

The setback chart's K for each degree, printed to four figures.
"""

from server.mechanics.bend_allowance import outside_setback, setback_coefficient
from server.units.length import inches_from_mm, mm_from_inches
from tests.published.cases import Case, all_cases, each

CHART = tuple(case.id for case in all_cases() if case.id[:4] == "KCH-" and case.id[4:].isdigit())


@each(*CHART)
def test_the_setback_charts_k_is_the_tangent_of_half_the_bend_angle(case: Case) -> None:
    case.check(K=setback_coefficient(bend_angle_deg=case.inputs["bend_deg"]))


@each("KCH-SB1")
def test_setback_is_the_charts_k_times_radius_and_thickness(case: Case) -> None:
    setback_mm = outside_setback(
        bend_angle_deg=case.inputs["bend_deg"],
        inside_radius_mm=mm_from_inches(case.inputs["R_in"]),
        thickness_mm=mm_from_inches(case.inputs["T_in"]),
    )
    case.check(setback_in=inches_from_mm(setback_mm))
