"""Money: typed amounts, minor units, rounding."""

import pytest

from server.errors import ShopError
from server.shop.money import (
    amount_from_text,
    decimal_string,
    exact,
    minor_digits,
    price_from_text,
    rounded_minor,
)


@pytest.mark.parametrize(
    ("text", "minor"),
    [
        ("12,50", 1250),
        ("12.50", 1250),
        ("12", 1200),
        ("1.234,50", 123450),
        ("1,234.50", 123450),
        ("1 234,50", 123450),
        ("1\u202f234,5", 123450),
        ("1'234.50", 123450),
        ("1,234,567.89", 123456789),
        ("1.234.567", 123456700),
        ("-3,20", -320),
        ("−3.20", -320),
        ("€ 7", 700),
        ("7.5 EUR", 750),
        ("eur 7.50", 750),
        (".5", 50),
        ("0,05", 5),
        ("1234,5", 123450),
        ("0.120", 12),
    ],
)
def test_amounts_are_read_as_people_type_them(text: str, minor: int) -> None:
    assert amount_from_text(text, currency="EUR") == minor


@pytest.mark.parametrize("text", ["1,234", "1.234", "-12.345", "999,999"])
def test_an_amount_with_two_readings_is_refused_with_both(text: str) -> None:
    with pytest.raises(ShopError) as refused:
        amount_from_text(text, currency="EUR")
    assert refused.value.code == "ambiguous_amount"
    bare = text.strip("-")
    assert bare.replace(",", "").replace(".", "") in str(refused.value)
    assert bare.replace(",", ".") in str(refused.value)


def test_the_shop_s_decimal_mark_settles_the_two_readings() -> None:
    assert amount_from_text("1,234", currency="EUR", decimal_mark=".") == 123400
    assert price_from_text("1,234", currency="EUR", decimal_mark=",") == exact(1.234)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "empty_amount"),
        ("   ", "empty_amount"),
        ("twelve", "not_an_amount"),
        ("1,2,3", "not_an_amount"),
        ("1.23.456", "not_an_amount"),
        ("1,234,56", "not_an_amount"),
        ("12.50.", "not_an_amount"),
        ("--5", "not_an_amount"),
        ("1e5", "not_an_amount"),
        ("٣", "not_an_amount"),
        ("inf", "not_an_amount"),
        ("=1+1", "not_an_amount"),
        ("7 USD", "other_currency"),
        ("£7", "other_currency"),
        ("0,125", "too_many_decimals"),
        ("1234,567", "too_many_decimals"),
        ("9" * 20, "amount_too_large"),
        ("9" * 60, "not_an_amount"),
    ],
)
def test_what_is_no_amount_is_refused_by_name(text: str, code: str) -> None:
    with pytest.raises(ShopError) as refused:
        amount_from_text(text, currency="EUR")
    assert refused.value.code == code


def test_yen_have_no_minor_unit_and_dinars_have_three_digits() -> None:
    assert amount_from_text("1500", currency="JPY") == 1500
    assert amount_from_text("1.500 JOD", currency="JOD", decimal_mark=".") == 1500
    with pytest.raises(ShopError, match="0 decimals"):
        amount_from_text("12.5", currency="JPY")


def test_a_tie_rounds_to_the_even_minor_unit() -> None:
    assert [rounded_minor(exact(x)) for x in (0.005, 0.015, 0.025, 0.035)] == [0, 2, 2, 4]
    assert rounded_minor(exact(2.675)) == 268  # the binary float lies below the tie; the text not


def test_decimal_strings_have_exactly_the_currency_s_digits() -> None:
    assert decimal_string(100, digits=2) == "1.00"
    assert decimal_string(7, digits=3) == "0.007"
    assert decimal_string(-1234, digits=0) == "-1234"


def test_an_unknown_currency_is_refused() -> None:
    for code in ("XXX", "eur", "EURO", ""):
        with pytest.raises(ShopError, match="not a currency"):
            minor_digits(code)


def test_infinity_is_no_price() -> None:
    for number in (float("inf"), float("nan")):
        with pytest.raises(ShopError, match="not a finite number"):
            exact(number)
