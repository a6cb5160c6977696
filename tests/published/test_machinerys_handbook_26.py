"""Machinery's Handbook, 26th to 28th ed., "Bending Sheet Metal" (coefficients from memory).

The straight-stock formulas and their example; and a table of K-factors that credits the handbook's
26th ed., whose scatter shows that it was measured: there our material table has to lie inside it.
"""

import pytest

from server.mechanics.bend_allowance import straight_stock_bend_allowance
from server.mechanics.k_factor import k_factor_from_allowance
from server.units.length import inches_from_mm, mm_from_inches
from tests.published.cases import Case, each
from tests.published.material_table import material_row

STOCK = {
    "soft steel / half-hard copper, brass / aluminium": (
        "half-hard copper or brass, soft steel, aluminium"
    ),
    "half-hard copper & brass, soft steel, aluminium": (
        "half-hard copper or brass, soft steel, aluminium"
    ),
    "soft brass / soft copper": "soft brass or copper",
}
SHEET = {
    "aluminium": "5052-H32",
    "cold-rolled steel": "A1008 CS",
    "stainless steel": "A240 304",
}


def allowance_in(case: Case, angle_deg: float, radius_in: float) -> float:
    return inches_from_mm(
        straight_stock_bend_allowance(
            bend_angle_deg=angle_deg,
            inside_radius_mm=mm_from_inches(radius_in),
            thickness_mm=mm_from_inches(case.inputs["T_in"]),
            stock=STOCK[case.inputs["material"]],
        )
    )


@each("FL-MH-01")
def test_the_handbooks_example_of_a_clip_with_two_bends(case: Case) -> None:
    first, second = (allowance_in(case, bend["deg"], bend["R_in"]) for bend in case.inputs["bends"])
    total = case.inputs["straight_in"] + first + second
    case.check(bend1_in=first, bend2_in=second, total_in=total)


@each("FL-MH-02", "FL-MH-03")
def test_each_class_of_stock_means_its_own_k_factor(case: Case) -> None:
    sharp_in = allowance_in(case, 90.0, 0.0)
    case.check(
        BA_in=allowance_in(case, case.inputs["bend_deg"], case.inputs["R_in"]),
        K_equiv=k_factor_from_allowance(
            bend_allowance_mm=sharp_in,
            bend_angle_deg=90.0,
            inside_radius_mm=0.0,
            thickness_mm=case.inputs["T_in"],
        ),
    )


def test_hard_stock_means_a_k_factor_of_0_452() -> None:
    allowance = straight_stock_bend_allowance(
        bend_angle_deg=90.0,
        inside_radius_mm=0.0,
        thickness_mm=1.0,
        stock="hard copper, bronze, cold rolled steel, spring steel",
    )
    k_factor = k_factor_from_allowance(
        bend_allowance_mm=allowance, bend_angle_deg=90.0, inside_radius_mm=0.0, thickness_mm=1.0
    )
    assert k_factor == pytest.approx(0.452, abs=0.0005)


@each("K-TAB-")
def test_our_k_factor_lies_within_the_scatter_of_the_measured_table(case: Case) -> None:
    case.check(K=float(material_row(SHEET[case.inputs["material"]])["k_factor"]))
