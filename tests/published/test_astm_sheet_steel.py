"""ASTM A36, A1011, A653 and A240, sheet steel strengths (from memory).

The SI editions round each value by itself, so a ksi value agrees when ours rounds to it.
"""

from server.units.imperial import ksi_from_mpa
from tests.published.cases import Case, each
from tests.published.material_table import number

CODE = {
    "ASTM A1011 CS Type B (typical)": "A1011 CS Type B",
    "ASTM A653 SS Grade 33": "A653 SS33",
    "ASTM A240 316": "A240 316",
}


def ksi(code: str, column: str) -> int:
    return round(ksi_from_mpa(number(code, column)))


@each("MAT-23")
def test_strengths_of_a36_in_both_units(case: Case) -> None:
    code = case.inputs["material"]
    case.check(
        Fy_min_ksi=ksi(code, "yield_min_mpa"),
        Fy_min_MPa=number(code, "yield_min_mpa"),
        Fu_min_ksi=ksi(code, "tensile_min_mpa"),
        Fu_max_ksi=ksi(code, "tensile_max_mpa"),
    )


@each("MAT-25")
def test_typical_range_of_commercial_hot_rolled_sheet(case: Case) -> None:
    code = CODE[case.inputs["material"]]
    case.check(
        Fy_typ_min_ksi=ksi(code, "yield_min_mpa"),
        Fy_typ_max_ksi=ksi(code, "yield_max_mpa"),
        El_typ_min=number(code, "elongation_min_percent"),
    )


@each("MAT-26")
def test_strengths_of_structural_galvanized_sheet(case: Case) -> None:
    code = CODE[case.inputs["material"]]
    case.check(
        Fy_min_ksi=ksi(code, "yield_min_mpa"),
        Fu_min_ksi=ksi(code, "tensile_min_mpa"),
        El_min=number(code, "elongation_min_percent"),
    )


@each("MAT-28")
def test_strengths_of_316_sheet(case: Case) -> None:
    code = CODE[case.inputs["material"]]
    case.check(
        Fy_min_MPa=number(code, "yield_min_mpa"),
        Fu_min_MPa=number(code, "tensile_min_mpa"),
        El_min=number(code, "elongation_min_percent"),
    )
