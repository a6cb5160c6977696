"""Money written is money read, and rounding is never off by more than half a minor unit."""

from contextlib import suppress
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from server.errors import ShopError
from server.shop.money import MINOR_DIGITS, amount_from_text, decimal_string, rounded_minor

currencies = st.sampled_from(sorted(MINOR_DIGITS))
amounts = st.integers(-(10**14), 10**14)


@settings(derandomize=True)
@given(amounts, currencies)
def test_a_written_amount_reads_back_unless_it_has_a_second_reading(
    amount: int, currency: str
) -> None:
    digits = MINOR_DIGITS[currency]
    text = decimal_string(amount, digits=digits)
    assert amount_from_text(text, currency=currency, decimal_mark=".") == amount
    if digits == 3 and 1000 <= abs(amount) < 1_000_000:
        with pytest.raises(ShopError, match="can be read as"):
            amount_from_text(text, currency=currency)
    else:
        assert amount_from_text(text, currency=currency) == amount


@settings(derandomize=True)
@given(amounts, st.sampled_from([".", ",", " ", "'"]))
def test_grouped_amounts_read_as_the_plain_ones(amount: int, mark: str) -> None:
    decimal = "," if mark == "." else "."
    whole, part = divmod(abs(amount), 100)
    text = f"{'-' if amount < 0 else ''}{whole:,}".replace(",", mark) + f"{decimal}{part:02d}"
    assert amount_from_text(text, currency="EUR") == amount


@settings(derandomize=True)
@given(st.fractions(), st.integers(0, 3))
def test_rounding_is_half_even(amount: Fraction, digits: int) -> None:
    rounded = rounded_minor(amount, digits=digits)
    off = abs(amount * 10**digits - rounded)
    assert off <= Fraction(1, 2)
    if off == Fraction(1, 2):
        assert rounded % 2 == 0


@settings(derandomize=True, max_examples=300)
@given(st.text(max_size=50))
def test_any_text_is_read_or_refused_and_never_breaks(text: str) -> None:
    with suppress(ShopError):
        assert isinstance(amount_from_text(text, currency="EUR"), int)
