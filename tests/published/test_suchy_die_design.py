"""I. Suchy, Handbook of Die Design: the V-die force F = kV S W t^2 / L, kV 0.75 to 2.5.

Numbers from a stamping engineer's article (read there), whose finite element run came 9.5 % lower.
"""

from server.mechanics.bend_force import bending_line_load
from tests.published.cases import Case, each

N_PER_KGF = 9.80665  # exact by definition: standard gravity, NIST SP 811


@each("BF-SUC-01")
def test_force_in_kilograms_with_the_articles_coefficient(case: Case) -> None:
    inputs = case.inputs
    line_load = bending_line_load(
        coefficient_ratio=inputs["kV"],
        tensile_strength_mpa=inputs["S_kgf_mm2"] * N_PER_KGF,
        thickness_mm=inputs["t_mm"],
        v_opening_mm=inputs["V_mm"],
    )
    case.check(F_kgf=line_load * inputs["W_mm"] / N_PER_KGF)
