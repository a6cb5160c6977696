"""F. J. Gardiner, "The springback of metals", Trans. ASME 79 (1957) 1-9.

The elastic-perfectly-plastic strip in pure bending, worked by hand from its cubic for three sheets.
"""

from server.mechanics.springback import (
    elastic_plastic_radius_ratio,
    loaded_angle_by_factor,
    springback_factor_from_radii,
)
from tests.published.cases import Case, each


@each("SB-DER-01", "SB-DER-03", "SB-DER-05")
def test_ratio_of_radii_factor_and_overbend(case: Case) -> None:
    inputs = case.inputs
    ratio = elastic_plastic_radius_ratio(
        loaded_inside_radius_mm=inputs["Ri_mm"],
        thickness_mm=inputs["T_mm"],
        yield_strength_mpa=inputs["Y_MPa"],
        youngs_modulus_mpa=inputs["E_MPa"],
    )
    factor = springback_factor_from_radii(
        loaded_inside_radius_mm=inputs["Ri_mm"],
        released_inside_radius_mm=inputs["Ri_mm"] / ratio,
        thickness_mm=inputs["T_mm"],
    )
    overbend_deg = loaded_angle_by_factor(bend_angle_deg=90.0, springback_factor=factor) - 90.0
    x = inputs["Ri_mm"] * inputs["Y_MPa"] / (inputs["E_MPa"] * inputs["T_mm"])
    case.check(x=x, Ri_over_Rf=ratio, Ks=factor, overbend_for_90_deg=overbend_deg)


def test_a_strip_that_stayed_elastic_springs_back_flat() -> None:
    assert (
        elastic_plastic_radius_ratio(
            loaded_inside_radius_mm=1000.0,
            thickness_mm=1.0,
            yield_strength_mpa=300.0,
            youngs_modulus_mpa=210000.0,
        )
        == 0.0
    )
