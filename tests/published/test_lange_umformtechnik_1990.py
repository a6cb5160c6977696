"""K. Lange (ed.), Umformtechnik, Blechbearbeitung, 2nd ed., Springer 1990: Oehler's V-die force.

As quoted with its worked example in a public forming handbook (read there).
"""

import pytest

from server.mechanics.bend_force import bending_line_load, bending_work, v_bending_coefficient
from tests.published.cases import Case, ask, each


@each("BF-OEH-01")
def test_oehlers_force_and_work_of_one_stroke(case: Case) -> None:
    inputs = case.inputs
    line_load = bending_line_load(
        coefficient_ratio=v_bending_coefficient(
            rule="lange", thickness_mm=inputs["s_mm"], v_opening_mm=inputs["V_mm"]
        ),
        tensile_strength_mpa=inputs["Rm_MPa"],
        thickness_mm=inputs["s_mm"],
        v_opening_mm=inputs["V_mm"],
    )
    force_n = line_load * inputs["L_mm"]
    work = bending_work(force_n=force_n, travel_mm=inputs["h_mm"], mean_ratio=inputs["mean_factor"])
    case.check(F_kN=force_n / 1000, work_J=work)


def test_the_same_force_through_the_contract() -> None:
    asked = ask(
        "airbend",
        {
            "thickness_mm": 1,
            "bend_length_mm": 100,
            "bend_angle_deg": 90,
            "material": {
                "youngs_modulus_mpa": 210000,
                "yield_strength_mpa": 200,
                "tensile_strength_mpa": 310,
            },
            "die": {"v_opening_mm": 10, "angle_deg": 85, "shoulder_radius_mm": 1},
            "punch": {"tip_radius_mm": 1, "angle_deg": 85},
        },
    )
    assert asked["force_n"] == pytest.approx(4340, abs=5)
    assert asked["force_kn_per_m"] == pytest.approx(43.4, abs=0.05)
