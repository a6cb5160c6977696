"""Typical values of aluminium sheet: a mill's data sheet (6061-T6) and the Aluminum Association's
typical properties (1100-O), both read.
"""

from server.mechanics.material_standard import standard_value
from server.units.imperial import ksi_from_mpa
from tests.published.cases import Case, each
from tests.published.material_table import number


@each("MAT-31")
def test_expected_values_of_6061_t6(case: Case) -> None:
    code = case.inputs["material"]
    case.check(
        UTS_MPa=number(code, "tensile_typical_mpa"),
        YS_MPa=number(code, "yield_typical_mpa"),
        E_GPa=number(code, "youngs_modulus_mpa") / 1000,
        density=number(code, "density_kg_m3"),
        El=standard_value(material=code, quantity="elongation_typical_percent", thickness_mm=2.0),
    )


@each("MAT-33")
def test_expected_strengths_of_1100_o(case: Case) -> None:
    code = case.inputs["material"]
    case.check(
        UTS_ksi=round(ksi_from_mpa(number(code, "tensile_typical_mpa"))),
        YS_ksi=round(ksi_from_mpa(number(code, "yield_typical_mpa"))),
    )
