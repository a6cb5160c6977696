"""Money: whole minor units inside, ISO 4217 minor units, half-even rounding, typed amounts.

An amount is an `int` of minor units (cents) and never a float. A price per kilogram or per hour is
an exact `Fraction`. One rounding, at the end, to the nearest minor unit; a tie goes to the even
neighbour (half-even, ISO 80000-1:2009 annex B rule A, IEEE 754 roundTiesToEven).
"""

import re
from decimal import Decimal, InvalidOperation
from fractions import Fraction
from typing import Literal

from server.errors import ShopError, say

DecimalMark = Literal[".", ","]

LONGEST_TEXT = 40
LARGEST_MINOR = 10**15
"""No shop's amount; above this a float on a page could no longer show every minor unit."""

_DIGITS_2 = (
    "AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BMD BND BOB BRL BSD BTN BWP BYN BZD CAD CDF "
    "CHF CNY COP CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GTQ GYD "
    "HKD HNL HTG HUF IDR ILS INR IRR JMD KES KGS KHR KPW KYD KZT LAK LBP LKR LRD LSL MAD MDL MGA "
    "MKD MMK MNT MOP MRU MUR MVR MWK MXN MYR MZN NAD NGN NIO NOK NPR NZD PAB PEN PGK PHP PKR PLN "
    "QAR RON RSD RUB SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TOP "
    "TRY TTD TWD TZS UAH USD UYU UZS VED VES WST XCD XCG YER ZAR ZMW ZWG"
)
_DIGITS_0 = "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX VND VUV XAF XOF XPF"
_DIGITS_3 = "BHD IQD JOD KWD LYD OMR TND"

MINOR_DIGITS: dict[str, int] = {
    **dict.fromkeys(_DIGITS_2.split(), 2),
    **dict.fromkeys(_DIGITS_0.split(), 0),
    **dict.fromkeys(_DIGITS_3.split(), 3),
}
"""Digits of the minor unit by currency: ISO 4217 list one as published 2026-01-01, without funds
codes, metals and testing codes."""

_SCALE = (1, 10, 100, 1000, 10_000)
_SIGNS = {"€": "EUR", "£": "GBP", "¥": "JPY"}
_SPACES = str.maketrans(dict.fromkeys("\u00a0\u202f\u2009'’_", " ") | {"−": "-", "–": "-"})
_PLAIN = re.compile(r"[0-9]+")
_ONE_MARK = re.compile(r"([0-9]*)([.,])([0-9]+)")
_GROUPED = re.compile(r"[1-9][0-9]{0,2}(?:([., ])[0-9]{3})(?:\1[0-9]{3})*(?:([.,])([0-9]+))?")


def minor_digits(currency: str) -> int:
    """Digits after the decimal mark that a currency has.

    Raises: ShopError `unknown_currency`.

    References: ISO 4217:2015, list one.

    >>> minor_digits("EUR"), minor_digits("JPY"), minor_digits("KWD")
    (2, 0, 3)
    """
    digits = MINOR_DIGITS.get(currency)
    if digits is None:
        raise ShopError(
            "unknown_currency",
            say("'{code}' is not a currency in use.", code=currency),
            remedy="Use a code of ISO 4217, such as EUR, USD or GBP.",
            where="currency",
        )
    return digits


def exact(number: float | Decimal | Fraction) -> Fraction:
    """The decimal number a person wrote, exactly: 0.1 is one tenth, not its binary neighbour.

    Raises: ShopError `not_finite` for infinity and NaN.

    >>> exact(0.1)
    Fraction(1, 10)
    """
    if isinstance(number, Fraction):
        return number
    try:
        return Fraction(Decimal(repr(number)) if isinstance(number, float) else number)
    except (OverflowError, ValueError, InvalidOperation):
        raise ShopError(
            "not_finite", "This is not a finite number.", remedy="Give a finite number."
        ) from None


def rounded_minor(major: Fraction, *, digits: int = 2) -> int:
    """Minor units nearest to an exact amount in major units; a tie goes to the even one.

    Formula: round_half_even(amount x 10^digits)

    Args:
        major: the exact amount in major units (euros, dollars).
        digits: digits of the minor unit [count].

    Returns: the amount [minor].

    References: half-even: ISO 80000-1:2009 annex B rule A.

    >>> [rounded_minor(exact(x)) for x in (0.125, 0.135, -0.125, 2.675)]
    [12, 14, -12, 268]
    """
    return round(major * _SCALE[digits])


def decimal_string(amount_minor: int, *, digits: int = 2) -> str:
    """An amount as a plain decimal string, the form in files and JSON.

    Args:
        amount_minor: the amount [minor].
        digits: digits of the minor unit [count].

    Returns: a string with exactly that many decimals and a point.

    >>> decimal_string(-5), decimal_string(123450), decimal_string(1250, digits=0)
    ('-0.05', '1234.50', '1250')
    """
    sign = "-" if amount_minor < 0 else ""
    whole, part = divmod(abs(amount_minor), _SCALE[digits])
    return f"{sign}{whole}.{part:0{digits}d}" if digits else f"{sign}{whole}"


def plain_decimal(price: Fraction, *, digits: int = 6) -> str:
    """An exact price in plain decimals that `price_from_text` reads back without asking.

    Never three decimals, which could be a group of thousands; finer than `digits` is rounded.

    >>> [plain_decimal(exact(p)) for p in (12.0, 1.2, 1.085, 1.0835)]
    ['12.00', '1.20', '1.0850', '1.0835']
    """
    scaled = round(price * 10**digits)
    sign, (whole, part) = ("-" if scaled < 0 else ""), divmod(abs(scaled), 10**digits)
    decimals = f"{part:0{digits}d}".rstrip("0").ljust(2, "0")
    return f"{sign}{whole}.{decimals}{'0' if len(decimals) == 3 else ''}"


def amount_from_text(text: str, *, currency: str, decimal_mark: DecimalMark | None = None) -> int:
    """Minor units from an amount as people type it.

    Args:
        text: what was typed, with or without the currency's code or sign.
        currency: ISO 4217 code the amount is in.
        decimal_mark: the shop's decimal mark where it has said so; settles `1,234`.

    Returns: the amount [minor].

    Raises: ShopError `empty_amount`, `not_an_amount`, `ambiguous_amount` with both readings,
        `too_many_decimals`, `other_currency`, `amount_too_large` or `unknown_currency`.

    >>> [amount_from_text(t, currency="EUR") for t in ("12,50", "1.234,50", "1,234.50", "€ 7")]
    [1250, 123450, 123450, 700]
    """
    digits = minor_digits(currency)
    value = price_from_text(text, currency=currency, decimal_mark=decimal_mark)
    minor = value * _SCALE[digits]
    if minor.denominator != 1:
        raise ShopError(
            "too_many_decimals",
            say(
                "'{text}' is finer than the smallest coin: {currency} has {digits} decimals.",
                text=text.strip(),
                currency=currency,
                digits=str(digits),
            ),
            remedy="Round it to a whole minor unit.",
        )
    if abs(minor) > LARGEST_MINOR:
        raise ShopError(
            "amount_too_large",
            say("'{text}' is more than a shop ever charges.", text=text.strip()),
            remedy="Check the decimal mark.",
        )
    return int(minor)


def price_from_text(
    text: str, *, currency: str, decimal_mark: DecimalMark | None = None
) -> Fraction:
    """An exact price (per kilogram, per hour) as people type it; any number of decimals.

    Args:
        text: what was typed, with or without the currency's code or sign.
        currency: ISO 4217 code the price is in.
        decimal_mark: the shop's decimal mark where it has said so; settles `1,234`.

    Returns: the price in major units, exact.

    Raises: ShopError `empty_amount`, `not_an_amount`, `ambiguous_amount`, `other_currency` or
        `unknown_currency`.

    >>> price_from_text("1,0835", currency="EUR")
    Fraction(2167, 2000)
    """
    minor_digits(currency)
    clean = text.translate(_SPACES).strip()
    if not clean:
        raise ShopError("empty_amount", "No amount was typed.", remedy="Type one, like 12.50.")
    if len(clean) > LONGEST_TEXT:
        raise _not_an_amount(text[:LONGEST_TEXT] + "...")
    clean = _without_currency(clean, currency, text)
    negative = clean.startswith("-")
    digits = " ".join(clean.removeprefix("-").split())
    value = _value(digits, decimal_mark, text)
    return -value if negative else value


def _value(digits: str, decimal_mark: DecimalMark | None, text: str) -> Fraction:
    if _PLAIN.fullmatch(digits):
        return Fraction(digits)
    grouped = _GROUPED.fullmatch(digits)
    one_mark = _ONE_MARK.fullmatch(digits)
    as_grouped = _grouped_value(grouped) if grouped else None
    as_decimal = Fraction(f"{one_mark[1] or 0}.{one_mark[3]}") if one_mark else None
    if as_grouped is not None and as_decimal is not None:
        if decimal_mark is None:
            raise _ambiguous(text, digits)
        return as_decimal if decimal_mark in digits else as_grouped
    value = as_grouped if as_grouped is not None else as_decimal
    if value is None:
        raise _not_an_amount(text)
    return value


def _grouped_value(match: re.Match[str]) -> Fraction | None:
    group, mark, decimals = match.groups()
    if mark == group:
        return None
    whole = match[0][: match.start(2)] if mark else match[0]
    return Fraction(f"{whole.replace(group, '')}.{decimals or 0}")


def _without_currency(clean: str, currency: str, text: str) -> str:
    """The text without a leading or trailing currency; another currency is refused."""
    sign = "-" if clean.startswith("-") else ""
    bare = clean.removeprefix("-").strip()
    named = re.fullmatch(r"(?:([A-Za-z]{3}|[€£¥$])\s*)?(.*?)(?:\s*([A-Za-z]{3}|[€£¥$]))?", bare)
    if named is None:
        raise _not_an_amount(text)
    for word in (named[1], named[3]):
        if word and word != "$" and _SIGNS.get(word, word.upper()) != currency:
            if word.upper() not in MINOR_DIGITS and word not in _SIGNS:
                raise _not_an_amount(text)
            raise ShopError(
                "other_currency",
                say("'{text}' is not in {currency}.", text=text.strip(), currency=currency),
                remedy=say("Give the amount in {currency}.", currency=currency),
            )
    inner = named[2].strip()
    if sign and inner.startswith("-"):
        raise _not_an_amount(text)
    return sign + inner


def _ambiguous(text: str, digits: str) -> ShopError:
    return ShopError(
        "ambiguous_amount",
        say(
            "'{text}' can be read as {whole} or as {part}.",
            text=text.strip(),
            whole=re.sub("[.,]", "", digits),
            part=digits.replace(",", "."),
        ),
        remedy="Type the one you mean, with two decimals or without the mark.",
    )


def _not_an_amount(text: str) -> ShopError:
    return ShopError(
        "not_an_amount",
        say("'{text}' is not an amount of money.", text=text.strip()),
        remedy="Type digits with one decimal mark, like 1234.50.",
    )
