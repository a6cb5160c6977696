"""EN 10088-2, stainless sheet, product form C (cold rolled strip): 1.4301, 1.4404 (from memory)."""

from tests.published.cases import Case, each
from tests.published.material_table import number


@each("MAT-15", "MAT-16")
def test_limits_of_austenitic_sheet(case: Case) -> None:
    code = case.inputs["material"].split()[0]
    case.check(
        Rp02_min=number(code, "yield_min_mpa"),
        Rm_min=number(code, "tensile_min_mpa"),
        Rm_max=number(code, "tensile_max_mpa"),
        A_min=number(code, "elongation_min_percent"),
    )
