"""EN 10130:2006 table 2, cold rolled low carbon steel for cold forming: DC03, DC04 (from memory)."""

from server.mechanics.material_standard import standard_value
from tests.published.cases import Case, each
from tests.published.material_table import number


def limits(case: Case) -> dict[str, float]:
    code = case.inputs["material"]
    return {
        "Re_max": number(code, "yield_max_mpa"),
        "Rm_min": number(code, "tensile_min_mpa"),
        "Rm_max": number(code, "tensile_max_mpa"),
        "A80_min": number(code, "elongation_min_percent"),
        "r90_min": standard_value(
            material=code, quantity="anisotropy_r90_min_ratio", thickness_mm=1.0
        ),
    }


@each("MAT-11")
def test_limits_of_dc03(case: Case) -> None:
    case.check(**limits(case))


@each("MAT-10")
def test_limits_of_dc04(case: Case) -> None:
    hardening = standard_value(
        material=case.inputs["material"], quantity="hardening_n90_min_ratio", thickness_mm=1.0
    )
    case.check(**limits(case), n90_min=hardening)
