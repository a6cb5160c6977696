"""The material table and what the formulas take from it."""

from dataclasses import replace

import pytest

from server.errors import ShopError
from server.mechanics.air_bend import air_bend
from server.mechanics.bend_limits import BendCase, check_bend
from server.mechanics.hardening import (
    HARDENING,
    bending_flow_stress,
    get_hardening,
    hardened_flow_stress,
    strength_coefficient,
    tensile_strength_from_hardening,
)
from server.mechanics.inside_radius import RADIUS_RATIO_BY_FAMILY
from server.mechanics.material import Material
from server.mechanics.material_standard import STANDARD_VALUES, standard_value
from server.mechanics.tooling import Die, Punch
from server.mechanics.v_opening import advised_v_opening
from tests.published.material_table import material, material_rows
from tests.unit.mechanics.shop import STEEL

WANTED = {
    "S235JR", "S275JR", "S355J2", "S315MC", "S420MC", "S460MC", "S700MC", "DC01", "DC03", "DC04",
    "DD11", "DD13", "DX51D+Z", "1.4301", "1.4404", "1.4016", "EN AW-1050A H14", "EN AW-5754 H22",
    "EN AW-5083 H111", "EN AW-6082 T6", "ASTM A36", "A1008 CS", "A1011 CS Type B", "A653 SS33",
    "A240 304", "A240 316", "5052-H32", "3003-H14", "6061-T6", "1100-O", "CuZn37 R300",
    "Cu-ETP R240",
}  # fmt: skip
SURE = {"standard, seen", "standard, from memory", "typical, from memory"}
BRITTLE = {"EN AW-6082 T6", "6061-T6", "S700MC"}
"""Metals that crack at the radius an ordinary V gives: there a rounder punch is ordinary practice."""


def test_the_table_has_the_sheets_a_shop_buys() -> None:
    assert set(material_rows()) >= WANTED


@pytest.mark.parametrize("code", sorted(material_rows()))
def test_every_row_is_a_metal_that_can_be(code: str) -> None:
    row = material_rows()[code]
    assert row["sure"] in SURE
    assert row["source"]
    assert row["family"] in RADIUS_RATIO_BY_FAMILY
    known = {name: float(value) for name, value in row.items() if _is_number(value)}
    for name, expected in (("yield", "yield_typical_mpa"), ("tensile", "tensile_typical_mpa")):
        assert known.get(f"{name}_min_mpa", 0.0) <= known[expected]
        assert known[expected] <= known.get(f"{name}_max_mpa", 1e9)
    assert known["yield_typical_mpa"] < known["tensile_typical_mpa"]
    modulus = {"aluminium": (68e3, 72e3), "copper": (110e3, 130e3), "brass": (95e3, 115e3)}
    least, most = modulus.get(row["family"], (190e3, 221e3))
    assert least <= known["youngs_modulus_mpa"] <= most
    assert known["radius_ratio"] == pytest.approx(RADIUS_RATIO_BY_FAMILY[row["family"]], abs=0.041)
    radii = [
        known[name]
        for name in (
            "minimum_radius_ratio_to_3mm",
            "minimum_radius_ratio_3_to_6mm",
            "minimum_radius_ratio_over_6mm",
        )
        if name in known
    ]
    assert radii == sorted(radii)


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


@pytest.mark.parametrize("code", sorted(set(material_rows()) - BRITTLE))
@pytest.mark.parametrize(
    ("thickness_mm", "column"),
    [
        (1.0, "minimum_radius_ratio_to_3mm"),
        (2.0, "minimum_radius_ratio_to_3mm"),
        (4.0, "minimum_radius_ratio_3_to_6mm"),
        (8.0, "minimum_radius_ratio_over_6mm"),
    ],
)
def test_ordinary_practice_is_not_blocked_by_a_least_radius(
    code: str, thickness_mm: float, column: str
) -> None:
    text = material_rows()[code][column]
    metal = replace(material(code), minimum_radius_ratio=float(text) if text else None)
    die = Die("V", max(8 * thickness_mm, advised_v_opening(thickness_mm=thickness_mm)), 80.0, 1.0)
    punch = Punch("P", thickness_mm, 80.0)
    bend = air_bend(
        thickness_mm=thickness_mm,
        bend_length_mm=100.0,
        bend_angle_deg=90.0,
        material=metal,
        die=die,
        punch=punch,
    )
    findings = check_bend(BendCase(bend, thickness_mm, 100.0, metal, die, punch))
    assert "radius_below_minimum" not in {finding.code for finding in findings}


def test_a_lots_certificate_replaces_the_expected_strengths() -> None:
    lot = STEEL.with_strengths(yield_strength_mpa=310.0, tensile_strength_mpa=450.0)
    assert lot.bending_flow_stress_mpa == 380.0
    assert lot.tensile_max_mpa is None
    assert lot.youngs_modulus_mpa == STEEL.youngs_modulus_mpa


def test_a_known_flow_stress_goes_before_the_mean() -> None:
    assert replace(STEEL, flow_stress_mpa=500.0).bending_flow_stress_mpa == 500.0


def test_strengths_the_wrong_way_round_are_refused() -> None:
    with pytest.raises(ShopError) as caught:
        Material(youngs_modulus_mpa=1e5, yield_strength_mpa=300.0, tensile_strength_mpa=200.0)
    assert caught.value.code == "strengths_swapped"


def test_what_a_standard_steps_by_thickness_begins_and_ends_where_it_says() -> None:
    def elongation(quantity: str, thickness_mm: float) -> float:
        return standard_value(
            material="S420MC",
            quantity=quantity,  # type: ignore[arg-type]
            thickness_mm=thickness_mm,
        )

    assert elongation("elongation_a80_min_percent", 2.99) == 16
    assert elongation("elongation_a5_min_percent", 3.0) == 19
    for quantity, thickness_mm in (
        ("elongation_a80_min_percent", 3.0),
        ("elongation_a5_min_percent", 2.9),
        ("yield_min_mpa", 2.0),
    ):
        with pytest.raises(ShopError) as caught:
            elongation(quantity, thickness_mm)
        assert caught.value.code == "out_of_table"


def test_no_standard_value_is_given_twice_for_one_thickness() -> None:
    for row in STANDARD_VALUES:
        same = [
            other
            for other in STANDARD_VALUES
            if (other.material, other.quantity) == (row.material, row.quantity)
            and max(other.over_mm, row.over_mm) < min(other.to_mm, row.to_mm)
        ]
        assert same == [row]


@pytest.mark.parametrize("name", sorted(HARDENING))
def test_strength_and_coefficient_are_each_others_inverse(name: str) -> None:
    known = get_hardening(name)
    strength = tensile_strength_from_hardening(
        strength_coefficient_mpa=known.strength_coefficient_mpa,
        exponent_ratio=known.exponent_ratio,
    )
    assert strength_coefficient(
        tensile_strength_mpa=strength, exponent_ratio=known.exponent_ratio
    ) == pytest.approx(known.strength_coefficient_mpa)
    neck = known.exponent_ratio
    slope = (
        hardened_flow_stress(
            strength_coefficient_mpa=known.strength_coefficient_mpa,
            exponent_ratio=known.exponent_ratio,
            strain_ratio=neck + 1e-6,
        )
        - hardened_flow_stress(
            strength_coefficient_mpa=known.strength_coefficient_mpa,
            exponent_ratio=known.exponent_ratio,
            strain_ratio=neck - 1e-6,
        )
    ) / 2e-6
    stress = hardened_flow_stress(
        strength_coefficient_mpa=known.strength_coefficient_mpa,
        exponent_ratio=known.exponent_ratio,
        strain_ratio=neck,
    )
    assert slope == pytest.approx(stress, rel=1e-6)


def test_a_metal_that_does_not_harden_bends_at_its_one_stress() -> None:
    flow = bending_flow_stress(
        strength_coefficient_mpa=300.0,
        exponent_ratio=0.0,
        inside_radius_mm=2.0,
        thickness_mm=2.0,
    )
    assert flow == pytest.approx(300.0)


def test_an_unknown_metal_names_the_known_ones() -> None:
    with pytest.raises(ShopError) as caught:
        get_hardening("unobtainium")
    assert "5052-O" in str(caught.value.remedy)
