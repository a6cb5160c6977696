"""EN 10149-2:2013, thermomechanically rolled cold-forming steels: S315MC to S700MC.

S315MC, S420MC and S460MC were read in a supplier's copy; S700MC and all advised radii are from
memory.
"""

from server.mechanics.material_standard import standard_value
from tests.published.cases import Case, each
from tests.published.material_table import number


def limits(case: Case) -> dict[str, float]:
    code = case.inputs["material"]
    assert number(code, "elongation_min_percent") == standard_value(
        material=code, quantity="elongation_a80_min_percent", thickness_mm=2.0
    )
    return {
        "ReH_min": number(code, "yield_min_mpa"),
        "Rm_min": number(code, "tensile_min_mpa"),
        "Rm_max": number(code, "tensile_max_mpa"),
        "A80_min_below3": number(code, "elongation_min_percent"),
        "A5_min": standard_value(
            material=code, quantity="elongation_a5_min_percent", thickness_mm=3.0
        ),
        "bend180_mandrel_over_t": standard_value(
            material=code, quantity="mandrel_180_ratio", thickness_mm=3.0
        ),
    }


@each("MAT-03", "MAT-05", "MAT-06")
def test_limits_and_bend_test_of_the_mild_grades(case: Case) -> None:
    case.check(**limits(case))


@each("MAT-08")
def test_limits_bend_test_and_least_radii_of_s700mc(case: Case) -> None:
    code = case.inputs["material"]
    case.check(
        **limits(case),
        ri_min_over_t_to3=number(code, "minimum_radius_ratio_to_3mm"),
        ri_min_over_t_3to6=number(code, "minimum_radius_ratio_3_to_6mm"),
        ri_min_over_t_over6=number(code, "minimum_radius_ratio_over_6mm"),
    )
