"""US Navy training manuals: NAVEDTRA 14119 Hull Maintenance Technician, ch. 13, p. 13-43, example 1;
and Aviation Structural Mechanic, "Bend allowance formula": (0.0173 R + 0.0078 T) N.

The first rounds pi/2 to 1.57 and truncates; the second is the FAA's formula with a rounder first
coefficient, so that the two agree to 0.75 % of the radius term.
"""

import pytest

from server.mechanics.bend_allowance import bend_allowance, faa_bend_allowance
from server.units.length import inches_from_mm, mm_from_inches
from tests.published.cases import Case, each


@each("FL-NAV-01")
def test_allowance_of_heavy_plate_runs_along_the_middle(case: Case) -> None:
    allowance_mm = bend_allowance(
        bend_angle_deg=case.inputs["bend_deg"],
        inside_radius_mm=mm_from_inches(case.inputs["R_in"]),
        thickness_mm=mm_from_inches(case.inputs["T_in"]),
        k_factor=case.inputs["K"],
    )
    case.check(BA_in=inches_from_mm(allowance_mm))


def test_the_structural_mechanics_formula_is_the_airframe_handbooks() -> None:
    navy_in = 0.229725  # (0.0173 x 0.125 + 0.0078 x 0.050) x 90
    ours_in = faa_bend_allowance(bend_angle_deg=90.0, inside_radius_mm=0.125, thickness_mm=0.050)
    assert ours_in - navy_in == pytest.approx((0.01743 - 0.0173) * 0.125 * 90.0, abs=1e-12)
    assert ours_in == pytest.approx(navy_in, rel=0.0075)
