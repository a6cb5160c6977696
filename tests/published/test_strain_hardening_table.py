"""A public encyclopedia's table of strain hardening exponents, sigma = K eps^n (read there)."""

from server.mechanics.hardening import get_hardening
from tests.published.cases import Case, each

METAL = {
    "Aluminium 1100-O": "1100-O",
    "5052-O": "5052-O",
    "6061-T6": "6061-T6",
    "Brass 70-30 annealed": "brass 70-30 annealed",
}


@each("MAT-NK-1", "MAT-NK-3", "MAT-NK-5", "MAT-NK-6")
def test_hardening_data_of_four_sheet_metals(case: Case) -> None:
    found = get_hardening(METAL[case.inputs["material"]])
    case.check(n=found.exponent_ratio, K_MPa=found.strength_coefficient_mpa)
