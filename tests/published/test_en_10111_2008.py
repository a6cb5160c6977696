"""EN 10111:2008, hot rolled low carbon steel sheet for cold forming: DD13 (from memory)."""

from server.mechanics.material_standard import standard_value
from tests.published.cases import Case, each
from tests.published.material_table import number


@each("MAT-13")
def test_limits_of_dd13_by_thickness(case: Case) -> None:
    code = case.inputs["material"]
    thin, thick = (
        standard_value(material=code, quantity="yield_max_mpa", thickness_mm=thickness_mm)
        for thickness_mm in (1.5, 4.0)
    )
    assert thick == number(code, "yield_max_mpa")
    case.check(
        ReL_min=number(code, "yield_min_mpa"),
        ReL_max_1to2=thin,
        ReL_max_2to11=thick,
        Rm_max=number(code, "tensile_max_mpa"),
    )
