"""Lengths the way people type them: `12`, `1-1/2"`, `2' 3 in`, `16 ga`, `0,5 mm`.

A text with two readings is refused and both readings are shown; nothing is guessed.
"""

import re
from decimal import Decimal, localcontext
from fractions import Fraction

from server.errors import Amount, ShopError, say
from server.units.length import MM_PER, MM_PER_INCH_EXACT, LengthUnit
from server.units.sheet_gauge import GAUGE_FAMILIES, RANGE, GaugeFamily, gauge_thickness_mm

LONGEST_TEXT = 40
LARGEST_MM = 1e6

_SAME = str.maketrans(
    {"″": '"', "”": '"', "“": '"', "′": "'", "’": "'", "‘": "'", "\u00a0": " ", "\u202f": " ",
     "−": "-", "–": "-", "¼": " 1/4", "½": " 1/2", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8",
     "⅝": " 5/8", "⅞": " 7/8"}
)  # fmt: skip
_UNIT = {
    "mm": "mm", "millimeter": "mm", "millimetre": "mm", "millimeters": "mm", "millimetres": "mm",
    "cm": "cm", "m": "m", "in": "in", "in.": "in", "inch": "in", "inches": "in", '"': "in",
    "''": "in", "ft": "ft", "ft.": "ft", "foot": "ft", "feet": "ft", "'": "ft",
}  # fmt: skip
_PIECE = re.compile(r"(?P<number>[\d.,/ -]*\d[\d.,/]*)\s*(?P<unit>[a-z.]+|\"|''|')?\s*")
_GAUGE = re.compile(r"(\d+)\s*(?:ga|gauge|gage)\.?")
_MIXED = re.compile(r"(\d+)(?: +|-)(\d+)/(\d+)")
_SPACED_MINUS = re.compile(r"(\d+) +- *(\d+)/(\d+)|(\d+)- +(\d+)/(\d+)")
_FRACTION = re.compile(r"(\d+)/(\d+)")


def typed_length_mm(text: str, *, unit: LengthUnit, family: GaugeFamily | None = None) -> float:
    r"""Millimetres from a typed length.

    Args:
        text: what was typed; a bare number is in the reader's own unit.
        unit: the reader's unit, "mm" or "in".
        family: the sheet family, needed only for a gauge number.

    Returns: the length [mm], correctly rounded from the exact value that was typed.

    Raises: ShopError with code `empty_length`, `ambiguous_length`, `gauge_needs_family`,
        `unknown_gauge`, `mixed_units`, `unknown_unit`, `length_too_large` or `not_a_length`.

    >>> typed_length_mm('1-1/2"', unit="mm")
    38.1
    >>> typed_length_mm("2'-3 1/2\"", unit="mm")
    698.5
    >>> typed_length_mm("1/2", unit="in")
    12.7
    >>> round(typed_length_mm("16 ga", unit="in", family="steel"), 5)
    1.51892
    """
    clean = text.translate(_SAME).strip().lower()
    if not clean:
        raise ShopError("empty_length", "No length was typed.", remedy="Type a length, like 12.5.")
    if len(clean) > LONGEST_TEXT:
        raise _not_a_length(text[:LONGEST_TEXT] + "...")
    gauge = _GAUGE.fullmatch(clean)
    if gauge:
        return _gauge_mm(int(gauge[1]), family)
    sign = -1 if clean.startswith("-") else 1
    unsigned = clean[1:].strip() if clean[0] in "+-" else clean
    total = sign * _total_mm(unsigned, unit=unit, text=text)
    if abs(total) > LARGEST_MM:
        raise ShopError(
            "length_too_large",
            say("{text} is {length}.", text=text.strip(), length=Amount(float(total), "mm")),
            remedy="No sheet is that long; check the decimal point and the unit.",
        )
    return float(total)


def written_length(length_mm: float, *, unit: LengthUnit) -> str:
    """The shortest text that `typed_length_mm` reads back as exactly this length.

    A length has at least a nanometre: smaller ones need more digits than a typed length may have.

    >>> written_length(38.1, unit="in")
    '1.5 in'
    >>> typed_length_mm(written_length(0.1, unit="in"), unit="mm")
    0.1
    """
    if unit == "mm":
        return f"{Decimal(repr(length_mm)):f} mm"
    exact = Fraction(length_mm) / MM_PER_INCH_EXACT
    for digits in range(1, 40):
        with localcontext() as context:
            context.prec = digits
            inches = Decimal(exact.numerator) / Decimal(exact.denominator)
        if float(Fraction(inches) * MM_PER_INCH_EXACT) == length_mm:
            return f"{inches:f} in"
    raise ValueError(f"no decimal reads back as {length_mm!r} mm")


def _total_mm(clean: str, *, unit: LengthUnit, text: str) -> Fraction:
    pieces: list[tuple[Fraction, str | None]] = []
    position = 0
    while position < len(clean):
        match = _PIECE.match(clean, position)
        if not match:
            raise _not_a_length(text)
        named = match["unit"]
        if named is not None and named not in _UNIT:
            raise ShopError(
                "unknown_unit",
                say("'{unit}' is not a unit of length.", unit=named),
                remedy="Use mm, cm, m, in, ft or a gauge such as 16 ga.",
            )
        digits = match["number"].strip()
        if pieces and pieces[-1][1] == "ft":
            digits = digits.removeprefix("-").strip()  # 2'-3" is how feet and inches are drawn
        pieces.append((_number(digits, text), _UNIT[named] if named else None))
        position = match.end()
    match pieces:
        case [(number, None)]:
            return number * MM_PER[unit]
        case [(number, str(only))]:
            return number * MM_PER[only]
        case [(feet, "ft"), (inches, "in" | None)]:
            return feet * MM_PER["ft"] + inches * MM_PER["in"]
        case _:
            raise ShopError(
                "mixed_units",
                say("'{text}' mixes units.", text=text.strip()),
                remedy="Type one length in one unit; only feet and inches go together.",
            )


def _number(digits: str, text: str) -> Fraction:
    if spaced := _SPACED_MINUS.fullmatch(digits):
        whole, top, bottom = (int(part) for part in spaced.groups() if part)
        raise _ambiguous(text, f"{whole}-{top}/{bottom}", f"{whole} less {top}/{bottom}")
    if mixed := _MIXED.fullmatch(digits):
        whole, top, bottom = (int(part) for part in mixed.groups())
        return whole + _ratio(top, bottom, text)
    if fraction := _FRACTION.fullmatch(digits):
        return _plain_fraction(fraction[1], fraction[2], text)
    return _decimal(digits, text)


def _plain_fraction(top: str, bottom: str, text: str) -> Fraction:
    value = _ratio(int(top), int(bottom), text)
    if len(top) > 1 and value > 1:
        for split in range(1, len(top)):
            rest = int(top[split:])
            if top[split] != "0" and 0 < rest < int(bottom):
                raise _ambiguous(text, f"{top[:split]}-{rest}/{bottom}", f"{float(value):g}")
    return value


def _ratio(top: int, bottom: int, text: str) -> Fraction:
    if bottom == 0:
        raise _not_a_length(text)
    return Fraction(top, bottom)


def _decimal(digits: str, text: str) -> Fraction:
    if re.fullmatch(r"\d+|\d*\.\d+|\d+\.", digits):
        return Fraction(digits.rstrip("."))
    if re.fullmatch(r"[1-9]\d{0,2},\d{3}", digits):
        raise _ambiguous(text, digits.replace(",", "."), digits.replace(",", ""))
    if re.fullmatch(r"\d*,\d+", digits):
        return Fraction(digits.replace(",", "."))
    if re.fullmatch(r"[1-9]\d{0,2}(,\d{3})+\.\d+", digits):
        return Fraction(digits.replace(",", ""))
    if re.fullmatch(r"[1-9]\d{0,2}(\.\d{3})+,\d+", digits):
        return Fraction(digits.replace(".", "").replace(",", "."))
    raise _not_a_length(text)


def _gauge_mm(gauge: int, family: GaugeFamily | None) -> float:
    if family is not None:
        return gauge_thickness_mm(family=family, gauge=gauge)
    readings = [
        f"{name} {gauge_thickness_mm(family=name, gauge=gauge):.3f} mm"
        for name in GAUGE_FAMILIES
        if RANGE[name][0] <= gauge <= RANGE[name][1]
    ]
    if not readings:
        raise ShopError(
            "unknown_gauge",
            say("No table has gauge {gauge}.", gauge=str(gauge)),
            remedy="Type the thickness itself.",
        )
    raise ShopError(
        "gauge_needs_family",
        say(
            "Gauge {gauge} differs by material: {readings}.",
            gauge=str(gauge),
            readings=", ".join(readings),
        ),
        remedy="Choose the material first, or type the thickness itself.",
        where="family",
    )


def _ambiguous(text: str, first: str, second: str) -> ShopError:
    return ShopError(
        "ambiguous_length",
        say(
            "'{text}' can be read as {first} or as {second}.",
            text=text.strip(),
            first=first,
            second=second,
        ),
        remedy="Type the one you mean.",
    )


def _not_a_length(text: str) -> ShopError:
    return ShopError(
        "not_a_length",
        say("'{text}' is not a length.", text=text.strip()),
        remedy='Type a number with a unit, like 12.5 mm, 1-1/2" or 16 ga.',
    )
