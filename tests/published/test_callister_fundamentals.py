"""W. D. Callister, Fundamentals of Materials Science and Engineering, 2nd ed., p. 199: hardening.

Read there. Another textbook gives other values for the same metals: data to about a quarter.
"""

import pytest

from server.mechanics.hardening import get_hardening
from tests.published.cases import Case, each

METAL = {
    "Low-carbon steel annealed (Callister)": "low-carbon steel annealed",
    "Copper annealed (Callister)": "copper annealed",
}


@each("MAT-NK-8", "MAT-NK-10")
def test_hardening_data_of_the_tensile_table(case: Case) -> None:
    found = get_hardening(METAL[case.inputs["material"]])
    case.check(n=found.exponent_ratio, K_MPa=found.strength_coefficient_mpa)


def test_two_textbooks_agree_on_low_carbon_steel_to_a_quarter() -> None:
    first = get_hardening("low-carbon steel annealed")
    second = get_hardening("low-carbon steel annealed (second source)")
    assert first.strength_coefficient_mpa == pytest.approx(
        second.strength_coefficient_mpa, rel=0.25
    )
    assert first.exponent_ratio == pytest.approx(second.exponent_ratio, rel=0.25)
