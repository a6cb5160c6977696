"""FAA-H-8083-31, Aviation Maintenance Technician Handbook - Airframe, vol. 1 (2012), ch. 4.

The worked U-channel of figures 4-124 to 4-130. Its printed allowance mixes the radius 0.16 with the
chart's 5/32 entry, so it is a band here; the same arithmetic without rounding is checked exactly.
"""

from typing import Any

from server.mechanics.bend_allowance import faa_bend_allowance
from server.mechanics.k_factor import FAA_K_FACTOR, k_factor_from_allowance
from server.mechanics.minimum_radius import FAA_2024_T3_MINIMUM_IN
from server.units.length import inches_from_mm, mm_from_inches
from tests.published.cases import Case, ask_flat, each, mm


def channel(case: Case) -> Any:
    radius_mm = mm_from_inches(case.inputs["R_in"])
    return ask_flat(
        thickness_mm=mm_from_inches(case.inputs["T_in"]),
        legs_mm=mm(*case.inputs["mold_lines_in"]),
        bends=[
            {"bend_angle_deg": angle, "inside_radius_mm": radius_mm, "rule": "faa"}
            for angle in case.inputs["bends_deg"]
        ],
    )


@each("FL-FAA-01")
def test_flats_of_the_channel_are_mold_lines_less_setbacks(case: Case) -> None:
    flat = channel(case)
    first, second, third = (inches_from_mm(straight) for straight in flat["straights_mm"])
    setback_in = inches_from_mm(flat["bends"][0]["outside_setback_mm"])
    case.check(setback_in=setback_in, flat1_in=first, flat2_in=second, flat3_in=third)


@each("FL-FAA-02")
def test_the_channels_flat_comes_near_the_printed_rounded_one(case: Case) -> None:
    flat = channel(case)
    case.check(
        BA_in=inches_from_mm(flat["bends"][0]["bend_allowance_mm"]),
        TDW_in=inches_from_mm(flat["flat_length_mm"]),
    )
    assert inches_from_mm(flat["flat_length_mm"]) < 4.0


@each("FL-DER-01")
def test_the_channels_flat_is_exact_where_the_arithmetic_is_not_rounded(case: Case) -> None:
    flat = channel(case)
    case.check(
        BA_in=inches_from_mm(flat["bends"][0]["bend_allowance_mm"]),
        setback_in=inches_from_mm(flat["bends"][0]["outside_setback_mm"]),
        TDW_in=inches_from_mm(flat["flat_length_mm"]),
    )


@each("FL-FAA-07")
def test_the_empirical_formula_means_a_k_factor_of_0_447(case: Case) -> None:
    case.check(K_equiv=FAA_K_FACTOR)
    at_90 = faa_bend_allowance(
        bend_angle_deg=90.0, inside_radius_mm=0.0, thickness_mm=case.inputs["T_in"]
    )
    case.check(
        K_equiv=k_factor_from_allowance(
            bend_allowance_mm=at_90,
            bend_angle_deg=90.0,
            inside_radius_mm=0.0,
            thickness_mm=case.inputs["T_in"],
        )
    )


@each("MINR-FAA-1")
def test_the_smallest_radius_of_the_channels_alloy_is_tabulated(case: Case) -> None:
    case.check(r_min_in=FAA_2024_T3_MINIMUM_IN[case.inputs["t_in"]])
