"""Minor units of currencies against ISO 4217, list one, published 2026-01-01 (SIX Group, for ISO).

The list's exceptions to two digits are given whole; a sample of the ordinary ones beside them.
"""

from server.shop.money import MINOR_DIGITS

NO_MINOR_UNIT = {
    "BIF", "CLP", "DJF", "GNF", "ISK", "JPY", "KMF", "KRW", "PYG", "RWF", "UGX", "VND", "VUV",
    "XAF", "XOF", "XPF",
}  # fmt: skip
THREE_DIGITS = {"BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"}
FUNDS_AND_ACCOUNTING_UNITS = {
    "BOV", "CHE", "CHW", "CLF", "COU", "MXV", "USN", "UYI", "UYW", "XAD", "XAU", "XDR", "XXX",
}  # fmt: skip


def test_exceptions_to_two_digits_are_those_of_the_list() -> None:
    assert {code for code, digits in MINOR_DIGITS.items() if digits == 0} == NO_MINOR_UNIT
    assert {code for code, digits in MINOR_DIGITS.items() if digits == 3} == THREE_DIGITS
    assert set(MINOR_DIGITS.values()) == {0, 2, 3}


def test_ordinary_currencies_have_two_digits() -> None:
    for code in ("EUR", "USD", "GBP", "CHF", "SEK", "PLN", "CZK", "HUF", "TWD", "MGA", "MRU"):
        assert MINOR_DIGITS[code] == 2


def test_withdrawn_codes_and_funds_are_not_offered() -> None:
    withdrawn = {"DEM", "HRK", "BGN", "ANG", "SLL", "ZWL", "VEF", "CUC"}
    assert not withdrawn & MINOR_DIGITS.keys()
    assert not FUNDS_AND_ACCOUNTING_UNITS & MINOR_DIGITS.keys()
