"""The shop's own rates: what they refuse, and that a kept price reads back."""

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from server.errors import ShopError
from server.shop.money import plain_decimal, price_from_text
from server.shop.rate import OtherRate, example_rates

RATES = example_rates("EUR")


@pytest.mark.parametrize(
    ("changes", "where"),
    [
        ({"brake_per_hour_minor": -1}, "brake_per_hour_minor"),
        ({"cut_per_hour_minor": 10**12}, "cut_per_hour_minor"),
        ({"minimum_charge_minor": 10**400}, "minimum_charge_minor"),
        ({"margin_ratio": 1.0}, "margin_ratio"),
        ({"margin_ratio": -0.1}, "margin_ratio"),
        ({"overhead_ratio": 11.0}, "overhead_ratio"),
        ({"remnant_credit_ratio": 1.5}, "remnant_credit_ratio"),
        ({"validity_days_count": 0}, "validity_days_count"),
        ({"other": (OtherRate("Weld", 1), OtherRate("weld", 2))}, "other"),
    ],
)
def test_rates_no_shop_has_are_refused_by_name(changes: dict[str, Any], where: str) -> None:
    with pytest.raises(ShopError) as refused:
        replace(RATES, **changes)
    assert refused.value.where == where


@settings(max_examples=200)
@given(st.integers(0, 10**12))
def test_a_kept_price_reads_back_without_a_question(millionths: int) -> None:
    """Three decimals could be a group of thousands, so they are never written."""
    price = Fraction(millionths, 10**6)
    assert price_from_text(plain_decimal(price), currency="EUR") == price
