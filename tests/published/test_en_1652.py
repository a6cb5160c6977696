"""EN 1652, copper and copper alloy sheet: Cu-ETP R240, CuZn37 R300 (from memory)."""

from tests.published.cases import Case, each
from tests.published.material_table import number


@each("MAT-35")
def test_limits_of_half_hard_copper(case: Case) -> None:
    code = case.inputs["material"]
    case.check(
        Rm_min=number(code, "tensile_min_mpa"),
        Rm_max=number(code, "tensile_max_mpa"),
        Rp02_min=number(code, "yield_min_mpa"),
        A_min=number(code, "elongation_min_percent"),
    )


@each("MAT-36")
def test_limits_of_soft_brass(case: Case) -> None:
    code = case.inputs["material"]
    case.check(
        Rm_min=number(code, "tensile_min_mpa"),
        Rm_max=number(code, "tensile_max_mpa"),
        Rp02_max=number(code, "yield_max_mpa"),
        A_min=number(code, "elongation_min_percent"),
    )
