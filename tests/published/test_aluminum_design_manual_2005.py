"""The Aluminum Association, Aluminum Design Manual (January 2005).

Part VII, table 3-1: least inside radii for 90 degree cold bends; table 3.3-1M: least strengths.
"""

from fractions import Fraction

import pytest

from server.errors import ShopError
from server.mechanics.minimum_radius import aluminium_minimum_radius_ratio
from server.units.length import mm_from_inches
from tests.published.cases import Case, each
from tests.published.material_table import number


@each("MINR-AL-")
def test_least_radius_by_alloy_temper_and_thickness(case: Case) -> None:
    thickness_mm = mm_from_inches(float(Fraction(case.inputs["thickness_in"])))
    case.check(
        r_min_over_t=aluminium_minimum_radius_ratio(
            alloy=case.inputs["alloy"], thickness_mm=thickness_mm
        )
    )


def test_the_table_ends_at_a_quarter_inch() -> None:
    with pytest.raises(ShopError, match="1/4 in"):
        aluminium_minimum_radius_ratio(alloy="5052-H32", thickness_mm=8.0)


@each("MAT-30")
def test_least_strengths_and_modulus_of_5052_h32(case: Case) -> None:
    code = case.inputs["material"]
    case.check(
        Ftu_MPa=number(code, "tensile_min_mpa"),
        Fty_MPa=number(code, "yield_min_mpa"),
        E_MPa=number(code, "youngs_modulus_mpa"),
    )
