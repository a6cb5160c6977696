"""EN 10025-2:2019, hot rolled structural steel: S235JR (values read in several copies)."""

from server.mechanics.material_standard import standard_value
from tests.published.cases import Case, each
from tests.published.material_table import number


@each("MAT-01")
def test_limits_density_and_modulus_of_s235jr(case: Case) -> None:
    code = case.inputs["material"]
    thin_mm, thick_mm = 2.0, 20.0
    assert number(code, "tensile_min_mpa") == standard_value(
        material=code, quantity="tensile_min_mpa", thickness_mm=thin_mm
    )
    case.check(
        ReH_min_MPa_to16mm=number(code, "yield_min_mpa"),
        ReH_min_16_40=standard_value(
            material=code, quantity="yield_min_mpa", thickness_mm=thick_mm
        ),
        Rm_min_3to100=number(code, "tensile_min_mpa"),
        Rm_max_3to100=number(code, "tensile_max_mpa"),
        Rm_min_below3=standard_value(
            material=code, quantity="tensile_min_mpa", thickness_mm=thin_mm
        ),
        Rm_max_below3=standard_value(
            material=code, quantity="tensile_max_mpa", thickness_mm=thin_mm
        ),
        density=number(code, "density_kg_m3"),
        E_GPa=number(code, "youngs_modulus_mpa") / 1000,
    )
