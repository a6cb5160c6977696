"""S. Benson's press brake column in The Fabricator: natural radius as a share of V, springback.

"Predicting an air-formed sheet metal inside bend radius" and "Forming aluminum on the press brake:
bending soft, not sharp" were read; "Bending Basics: the hows and whys of springback" is remembered.
Springback values are the trade's bands at an inside radius of one thickness. They leave the V and
the temper open: we take V = 6 t, and soft copper. (For half-hard copper Tabellenbuch Metall's factor
of 0.98 means 1.8 degrees, so the sources differ there; see test_tabellenbuch_metall.py.)
"""

import pytest

from server.mechanics.air_bend import air_bend
from server.mechanics.inside_radius import loaded_inside_radius, radius_ratio_from_tensile
from server.mechanics.tooling import Die, Punch
from server.units.imperial import MPA_PER_KSI
from server.units.length import inches_from_mm, mm_from_inches
from tests.published.cases import Case, each
from tests.published.material_table import material

SHEET = {
    "cold-rolled steel": "A1008 CS",
    "304 stainless": "A240 304",
    "copper": "Cu-ETP R220",
}


@each("VR-BEN-1")
def test_radius_of_5052_is_its_share_of_the_v(case: Case) -> None:
    radius_mm = loaded_inside_radius(
        punch_tip_radius_mm=0.0,
        radius_ratio=case.inputs["percent"] / 100,
        v_opening_mm=mm_from_inches(case.inputs["V_in"]),
    )
    case.check(ir_in=inches_from_mm(radius_mm))


@each("VR-BEN-3")
def test_radius_of_soft_aluminium_by_proportion_to_its_strength(case: Case) -> None:
    ratio = radius_ratio_from_tensile(tensile_strength_mpa=13.0 * MPA_PER_KSI)
    case.check(ir_in=ratio * case.inputs["V_in"])


@pytest.mark.parametrize("thickness_mm", [1.0, 2.0, 3.0])
@each("SB-TR-")
def test_springback_at_90_with_a_radius_of_one_thickness(case: Case, thickness_mm: float) -> None:
    sheet = material(SHEET[case.inputs["material"]])
    bend = air_bend(
        thickness_mm=thickness_mm,
        bend_length_mm=100.0,
        bend_angle_deg=case.inputs["bend_deg"],
        material=sheet,
        die=Die("V", 6.0 * thickness_mm, 80.0, thickness_mm / 2),
        punch=Punch("P", thickness_mm / 2, 80.0),
        loaded_inside_radius_mm=thickness_mm,
    )
    case.check_inside(bend.springback_deg, least="springback_deg_min", most="springback_deg_max")
