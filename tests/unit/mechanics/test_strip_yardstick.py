"""The numerical strip against textbook limits, and the closed-form springback against the strip.

Limits: three-point bending of a beam (deflection P L^3/48EI, end slope P L^2/16EI) and its plastic
collapse (P = 4 Mp/L), as in W. C. Young, R. G. Budynas, Roark's Formulas for Stress and Strain, and
any text on plastic design; the elastic-perfectly-plastic section of Gardiner (1957).
"""

import math
from collections.abc import Sequence
from statistics import median

import pytest

from server.mechanics.air_bend import bending, springback_at
from server.mechanics.hardening import bending_flow_stress
from server.mechanics.ram_depth import (
    MODEL_ERROR_DEPTH_LEAST_RATIO,
    MODEL_ERROR_DEPTH_MOST_RATIO,
    ram_depth,
)
from server.mechanics.springback import (
    MODEL_ERROR_HARDENED_LEAST_RATIO,
    MODEL_ERROR_HARDENED_MOST_RATIO,
    MODEL_ERROR_LEAST_RATIO,
    MODEL_ERROR_MEDIAN_RATIO,
    MODEL_ERROR_MOST_RATIO,
    elastic_plastic_radius_ratio,
    unloading_curvature,
)
from server.mechanics.tooling import Die, Punch
from tests.published.material_table import material
from tests.unit.mechanics.strip_yardstick import (
    PLANE_STRAIN,
    SwiftSheet,
    Tools,
    bent_strip,
    swift_sheet,
)

EXPONENTS = {
    "A1008 CS": 0.22,
    "S235JR": 0.18,
    "S355J2": 0.15,
    "S700MC": 0.08,
    "A240 304": 0.40,
    "1.4016": 0.18,
    "5052-H32": 0.10,
    "EN AW-5754 H22": 0.13,
    "EN AW-1050A H14": 0.05,
    "6061-T6": 0.05,
    "Cu-ETP R240": 0.08,
    "CuZn37 R300": 0.40,
}
"""Hardening exponents: typical, from memory."""

V_TO_THICKNESS = (6.0, 8.0, 12.0)
BEND_ANGLES_DEG = (30.0, 90.0, 135.0)
FRICTIONS = (0.0, 0.15)
SHARP = Tools(shoulder_centre_mm=8.0, shoulder_radius_mm=0.0, punch_tip_radius_mm=0.0)


def test_an_elastic_strip_deflects_as_a_beam_in_three_point_bending() -> None:
    sheet = SwiftSheet(210_000.0, 0.3, 1e7, 1e8, 0.1, 2.0)  # never yields
    span_mm = 2 * SHARP.shoulder_centre_mm
    bent = bent_strip(sheet, SHARP, 0.02)
    end_slope = math.radians(0.01)
    assert bent.depth_mm == pytest.approx(end_slope * span_mm / 3, rel=1e-4)
    load = 2 * bent.shoulder_force_n_per_mm
    assert load == pytest.approx(16 * sheet.bending_stiffness * end_slope / span_mm**2, rel=1e-4)
    assert bent.depth_mm == pytest.approx(
        load * span_mm**3 / (48 * sheet.bending_stiffness), rel=1e-4
    )
    assert bent.springback_deg == pytest.approx(0.02, rel=1e-9)


def test_a_fully_plastic_strip_collapses_at_four_moments_over_the_span() -> None:
    yield_mpa, thickness_mm = 300.0, 2.0
    sheet = SwiftSheet(1e7, 0.3, yield_mpa, yield_mpa, 0.001, thickness_mm)  # hardly hardens
    plastic_moment = PLANE_STRAIN * yield_mpa * thickness_mm**2 / 4
    span_mm = 2 * SHARP.shoulder_centre_mm
    bent = bent_strip(sheet, SHARP, 2.0)
    load = 2 * bent.shoulder_force_n_per_mm
    assert load == pytest.approx(4 * plastic_moment / span_mm, rel=0.01)
    recovered_rad = plastic_moment * span_mm / (2 * sheet.bending_stiffness)
    assert math.radians(bent.springback_deg) == pytest.approx(recovered_rad, rel=0.02)


@pytest.mark.parametrize("radius_to_thickness", [2.0, 10.0, 50.0, 150.0])
def test_a_section_that_does_not_harden_springs_back_as_gardiner_found(
    radius_to_thickness: float,
) -> None:
    sheet = SwiftSheet(210_000.0, 0.3, 250.0, 250.0, 0.0, 1.0)
    middle_mm = radius_to_thickness
    lost = sheet.moment(1.0 / middle_mm) / sheet.bending_stiffness * middle_mm
    ratio = elastic_plastic_radius_ratio(
        loaded_inside_radius_mm=middle_mm,
        thickness_mm=1.0,
        yield_strength_mpa=PLANE_STRAIN * 250.0,
        youngs_modulus_mpa=sheet.plane_modulus_mpa,
    )
    assert 1.0 - lost == pytest.approx(ratio, abs=2e-4)


def test_a_fully_plastic_section_has_the_moment_of_the_closed_form() -> None:
    thickness_mm = 2.0
    stiff = SwiftSheet(9e8, 0.3, 1.0, 600.0, 0.21, thickness_mm)  # no elastic core to speak of
    inside_mm = 3.0
    flow_mpa = bending_flow_stress(
        strength_coefficient_mpa=600.0,
        exponent_ratio=0.21,
        inside_radius_mm=inside_mm,
        thickness_mm=thickness_mm,
    )
    moment = stiff.moment(1.0 / (inside_mm + thickness_mm / 2))
    assert moment == pytest.approx(PLANE_STRAIN * flow_mpa * thickness_mm**2 / 4, rel=1e-3)
    lost = unloading_curvature(
        flow_stress_mpa=flow_mpa,
        youngs_modulus_mpa=9e8,
        poisson_ratio=0.3,
        thickness_mm=thickness_mm,
    )
    assert moment / stiff.bending_stiffness == pytest.approx(lost, rel=1e-3)


def test_twice_the_sheet_in_twice_the_tools_springs_back_alike() -> None:
    metal = material("S235JR")
    angles = [
        bent_strip(
            swift_sheet(metal, exponent=0.18, thickness_mm=size),
            Tools(4.5 * size, 0.5 * size, 1.3 * size, 0.1),
            91.0,
        ).springback_deg
        for size in (1.0, 2.0)
    ]
    assert angles[0] == pytest.approx(angles[1], rel=1e-9)


def test_more_of_the_strip_yields_as_the_bend_closes() -> None:
    sheet = swift_sheet(material("S235JR"), exponent=0.18, thickness_mm=2.0)
    tools = Tools(8.65, 1.5, 2.56, 0.1)
    lost = [bent_strip(sheet, tools, angle).springback_deg for angle in (10, 30, 60, 90, 120)]
    assert lost == sorted(lost)


def compared(code: str) -> list[tuple[float, float]]:
    """(strip / closed form, strip / closed form with hardening) over V, angle and friction."""
    metal, thickness_mm, exponent = material(code), 2.0, EXPONENTS[code]
    sheet = swift_sheet(metal, exponent=exponent, thickness_mm=thickness_mm)
    found = []
    for v_to_thickness in V_TO_THICKNESS:
        die = Die("V", v_to_thickness * thickness_mm, 30.0, 1.0)
        constant = bending(
            thickness_mm=thickness_mm, material=metal, die=die, punch=Punch("P", 0.5, 30.0)
        )
        radius_mm = constant.loaded_inside_radius_mm
        hardened_mpa = bending_flow_stress(
            strength_coefficient_mpa=sheet.strength_coefficient_mpa,
            exponent_ratio=exponent,
            inside_radius_mm=radius_mm,
            thickness_mm=thickness_mm,
        )
        for angle in BEND_ANGLES_DEG:
            closed_deg = springback_at(constant, angle)
            for friction in FRICTIONS:
                tools = Tools(constant.shoulder_centre_mm, 1.0, radius_mm, friction)
                strip_deg = bent_strip(sheet, tools, angle).springback_deg
                ratio = strip_deg / closed_deg
                found.append((ratio, ratio * metal.bending_flow_stress_mpa / hardened_mpa))
    return found


def is_the_band(found: Sequence[float], least: float, most: float) -> bool:
    """All inside the stated band, and the band not wider than a hundredth at either end."""
    return least <= min(found) <= least + 0.015 and most - 0.015 <= max(found) <= most


@pytest.mark.slow
def test_the_stated_error_band_of_the_springback_model_is_the_measured_one() -> None:
    both = [pair for code in EXPONENTS for pair in compared(code)]
    assert len(both) == 12 * 3 * 3 * 2
    plain, hardened = [pair[0] for pair in both], [pair[1] for pair in both]
    assert is_the_band(plain, MODEL_ERROR_LEAST_RATIO, MODEL_ERROR_MOST_RATIO), (
        min(plain),
        max(plain),
    )
    assert median(plain) == pytest.approx(MODEL_ERROR_MEDIAN_RATIO, abs=0.01)
    assert is_the_band(
        hardened, MODEL_ERROR_HARDENED_LEAST_RATIO, MODEL_ERROR_HARDENED_MOST_RATIO
    ), (min(hardened), max(hardened))


def test_one_bend_of_mild_steel_lies_inside_the_stated_band() -> None:
    """Quick relative of the slow test: mild steel, V = 8 t, 90 degrees, no friction."""
    metal = material("S235JR")
    die = Die("V16", 16.0, 86.0, 1.5)
    constant = bending(thickness_mm=2.0, material=metal, die=die, punch=Punch("P", 1.0, 85.0))
    strip = bent_strip(
        swift_sheet(metal, exponent=EXPONENTS["S235JR"], thickness_mm=2.0),
        Tools(constant.shoulder_centre_mm, 1.5, constant.loaded_inside_radius_mm),
        91.5,
    )
    ratio = strip.springback_deg / springback_at(constant, 91.5)
    assert MODEL_ERROR_LEAST_RATIO <= ratio <= MODEL_ERROR_MOST_RATIO


def depth_ratios(code: str) -> list[float]:
    """Strip's travel / straight-flank travel at 90 degrees, the punch tip filling the radius."""
    metal, thickness_mm = material(code), 2.0
    sheet = swift_sheet(metal, exponent=EXPONENTS[code], thickness_mm=thickness_mm)
    found = []
    for v_to_thickness in V_TO_THICKNESS:
        die = Die("V", v_to_thickness * thickness_mm, 80.0, 1.0)
        constant = bending(
            thickness_mm=thickness_mm, material=metal, die=die, punch=Punch("P", 0.5, 80.0)
        )
        tools = Tools(constant.shoulder_centre_mm, 1.0, constant.loaded_inside_radius_mm, 0.1)
        closed_mm = ram_depth(
            loaded_bend_angle_deg=90.0,
            shoulder_centre_mm=constant.shoulder_centre_mm,
            roll_radius_mm=constant.roll_radius_mm,
        )
        found.append(bent_strip(sheet, tools, 90.0).depth_mm / closed_mm)
    return found


def test_the_stated_error_band_of_the_straight_flanks_is_the_measured_one() -> None:
    found = [ratio for code in EXPONENTS for ratio in depth_ratios(code)]
    assert is_the_band(found, MODEL_ERROR_DEPTH_LEAST_RATIO, MODEL_ERROR_DEPTH_MOST_RATIO), (
        min(found),
        max(found),
    )
