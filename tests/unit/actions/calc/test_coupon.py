"""`coupon`: deduction and K-factor from measured strips."""

import pytest

from tests.unit.actions.calc.contract import COUPON, answered, changed


def test_the_answer_has_the_contracts_fields() -> None:
    answer = answered("coupon", COUPON)
    assert set(answer) >= {"bend_deduction_mm", "spread_mm", "k_factor"}


def test_deduction_is_the_mean_and_spread_the_difference_of_the_strips() -> None:
    answer = answered("coupon", COUPON)
    assert answer["bend_deduction_mm"] == pytest.approx(5.85)
    assert answer["spread_mm"] == pytest.approx(0.1)


def test_the_k_factor_gives_the_measured_deduction_back() -> None:
    answer = answered("coupon", COUPON)
    flat = answered(
        "flat",
        {
            "thickness_mm": 3,
            "legs_mm": [50, 50],
            "bends": [
                {"bend_angle_deg": 90, "inside_radius_mm": 4, "k_factor": answer["k_factor"]}
            ],
        },
    )
    assert flat["bends"][0]["bend_deduction_mm"] == pytest.approx(answer["bend_deduction_mm"])


def test_one_strip_has_no_spread_and_no_interval() -> None:
    answer = answered("coupon", {**COUPON, "strips": COUPON["strips"][:1]})
    assert answer["spread_mm"] == 0
    assert answer["uncertain_by_mm"] is None


def test_a_wide_spread_and_an_unlikely_k_factor_warn() -> None:
    answer = answered("coupon", changed(COUPON, "strips.1.leg_a_mm", 60))
    assert {warning["code"] for warning in answer["warnings"]} == {
        "strips_spread",
        "k_factor_unlikely",
    }
