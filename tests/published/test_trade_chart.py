"""A fabricator's published air-bend chart in mm, mild steel, 90 degrees (seen second-hand).

Deductions for the usual V: 1/V6 1.74, 1.5/V12 2.84, 2/V16 3.80, 3/V25 5.76. Ours take the natural
radius of 0.16 V and K 0.42 of the material table; charts of shops differ by 10 to 15 %, this one by
less than 1 %.
"""

import pytest

from server.mechanics.inside_radius import loaded_inside_radius
from tests.published.cases import ask_flat
from tests.published.material_table import number

SHEET = "S235JR"


@pytest.mark.parametrize(
    ("thickness_mm", "v_opening_mm", "deduction_mm"),
    [(1.0, 6.0, 1.74), (1.5, 12.0, 2.84), (2.0, 16.0, 3.80), (3.0, 25.0, 5.76)],
)
def test_deductions_of_mild_steel_over_the_usual_v(
    thickness_mm: float, v_opening_mm: float, deduction_mm: float
) -> None:
    radius_mm = loaded_inside_radius(
        punch_tip_radius_mm=0.0,
        radius_ratio=number(SHEET, "radius_ratio"),
        v_opening_mm=v_opening_mm,
    )
    flat = ask_flat(
        thickness_mm=thickness_mm,
        legs_mm=[100.0, 100.0],
        bends=[
            {
                "bend_angle_deg": 90,
                "inside_radius_mm": radius_mm,
                "k_factor": number(SHEET, "k_factor"),
            }
        ],
    )
    assert flat["bends"][0]["bend_deduction_mm"] == pytest.approx(deduction_mm, rel=0.01)
