"""EN 485-2, aluminium sheet: strengths and advised inside radii for 90 degrees (from memory)."""

from server.mechanics.material_standard import standard_value
from tests.published.cases import Case, each
from tests.published.material_table import number

CODE = {
    "EN AW-1050A H14": "EN AW-1050A H14",
    "EN AW-5754 H22/H32": "EN AW-5754 H22",
    "EN AW-5083 O/H111": "EN AW-5083 H111",
}


@each("MAT-18", "MAT-20", "MAT-21")
def test_strengths_and_advised_radii(case: Case) -> None:
    code = CODE[case.inputs["material"]]
    thin, middle, thick = (
        standard_value(material=code, quantity="radius_90_ratio", thickness_mm=thickness_mm)
        for thickness_mm in (1.5, 3.0, 6.0)
    )
    case.check(
        Rm_min=number(code, "tensile_min_mpa"),
        Rm_max=number(code, "tensile_max_mpa"),
        Rp02_min=number(code, "yield_min_mpa"),
        ri90_t_05to15=thin,
        ri90_t_15to3=middle,
        ri90_t_3to6=thick,
    )
