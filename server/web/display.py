"""Numbers as the reader sees them. The only place where a number is rounded to be shown."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from fractions import Fraction

from markupsafe import Markup, escape

from server.errors import Amount, Sentence, Unit
from server.shop.money import MINOR_DIGITS, decimal_string
from server.units.length import LengthUnit, from_mm, inches_from_mm, to_mm
from server.units.reader_unit import INCH_READER, to_reader

GAP = "\u202f"  # narrow no-break space between number and unit
MINUS = "\u2212"
LONG_MIN = 120.0
"""From here on minutes are said as hours."""

PLAIN: Mapping[Unit, tuple[int, str]] = {
    "deg": (1, "°"),
    "n": (0, f"{GAP}N"),
    "kn": (0, f"{GAP}kN"),
    "kn_per_m": (0, f"{GAP}kN/m"),
    "mpa": (0, f"{GAP}MPa"),
    "kg": (2, f"{GAP}kg"),
    "s": (0, f"{GAP}s"),
    "min": (0, f"{GAP}min"),
    "mm_per_s": (1, f"{GAP}mm/s"),
    "mm_per_deg": (3, f"{GAP}mm/°"),
    "deg_per_s": (0, "°/s"),
    "m_per_s": (2, f"{GAP}m/s"),
    "mm2": (0, f"{GAP}mm²"),
    "percent": (1, f"{GAP}%"),
    "ratio": (3, ""),
    "count": (0, ""),
    "place": (0, ""),
}


@dataclass(frozen=True, slots=True)
class Display:
    """How one reader wants numbers: unit of length, and the shop's currency."""

    unit: LengthUnit = "mm"
    currency: str = "EUR"

    @property
    def mm_per_unit(self) -> float:
        """Millimetres in one of the reader's units, for drawing by hand."""
        return to_mm(1.0, self.unit)

    def length(self, length_mm: float, decimals: int | None = None) -> str:
        """A length with its unit, to 0.01 mm or 0.001 in unless told otherwise."""
        return f"{self.bare(length_mm, decimals)}{GAP}{self.unit}"

    def bare(self, length_mm: float, decimals: int | None = None) -> str:
        """A length without its unit, for a column whose head names it."""
        places = decimals if decimals is not None else (2 if self.unit == "mm" else 3)
        return fixed(from_mm(length_mm, self.unit), places)

    def short(self, length_mm: float) -> str:
        """A length with its unit and no needless zeros, for names and lists."""
        places = 3 if self.unit == "mm" else 4
        text = fixed(from_mm(length_mm, self.unit), places)
        return f"{text.rstrip('0').rstrip('.')}{GAP}{self.unit}"

    def typed(self, length_mm: float | None) -> str:
        """A length as it stands in an input field: no unit, no needless zeros."""
        if length_mm is None:
            return ""
        places = 4 if self.unit == "mm" else 5
        text = f"{from_mm(length_mm, self.unit):.{places}f}"
        return text.rstrip("0").rstrip(".") if "." in text else text

    def amount(self, amount: Amount) -> str:
        """An amount in the reader's unit."""
        value = amount.value
        if amount.unit == "mm":
            return self.length(value)
        if amount.unit == "place":
            return f"{value + 1:.0f}"
        if self.unit == "in" and amount.unit in INCH_READER:
            theirs = INCH_READER[amount.unit]
            text = fixed(to_reader(value, amount.unit, "in"), theirs.decimals_count)
            return f"{text}{GAP}{theirs.symbol}"
        if amount.unit == "minor":
            return self.money(round(value))
        if amount.unit == "min" and abs(value) >= LONG_MIN:
            return f"{fixed(value / 60, 1)}{GAP}h"
        places, symbol = PLAIN[amount.unit]
        return f"{fixed(value, places)}{symbol}"

    def typed_amount(self, value: float | None, unit: Unit) -> str:
        """An amount as it stands in an input field, in the reader's unit."""
        return "" if value is None else f"{to_reader(value, unit, self.unit):.6g}"

    def money(self, amount_minor: int) -> str:
        """An amount of money with its currency."""
        return f"{self.bare_money(amount_minor)}{GAP}{self.currency}"

    def bare_money(self, amount_minor: int) -> str:
        """An amount of money without its currency, for a column whose head names it."""
        plain = decimal_string(amount_minor, digits=MINOR_DIGITS.get(self.currency, 2))
        whole, mark, decimals = plain.partition(".")
        return f"{int(whole.removeprefix('-')):,}".replace(",", GAP).join(
            (MINUS if whole.startswith("-") else "", mark + decimals)
        )

    def percent(self, ratio: float | None, decimals: int = 0) -> str:
        """A share in percent; a dash where there is none."""
        return "—" if ratio is None else f"{fixed(ratio * 100, decimals)}{GAP}%"

    def force(self, force_kn: float) -> str:
        """A force in the reader's unit."""
        return self.amount(Amount(force_kn, "kn"))

    def line_load(self, line_load_kn_per_m: float) -> str:
        """A line load in the reader's unit."""
        return self.amount(Amount(line_load_kn_per_m, "kn_per_m"))

    def stress(self, stress_mpa: float) -> str:
        """A stress or strength in the reader's unit."""
        return self.amount(Amount(stress_mpa, "mpa"))

    def ratio(self, ratio: float, decimals: int = 3) -> str:
        """A number without a unit."""
        return fixed(ratio, decimals)

    def mass(self, mass_kg: float) -> str:
        """A mass in the reader's unit."""
        return self.amount(Amount(mass_kg, "kg"))

    def angle(self, angle_deg: float, decimals: int = 1) -> str:
        """An angle in degrees."""
        return f"{fixed(angle_deg, decimals)}°"

    def sentence(self, sentence: Sentence | None) -> Markup:
        """A message with its amounts in the reader's unit, escaped."""
        if sentence is None:
            return Markup("")
        words = {
            name: escape(self.amount(value) if isinstance(value, Amount) else value)
            for name, value in sentence.amounts.items()
        }
        return escape(sentence.template).format_map(words)

    def fraction(self, length_mm: float, denominator: int = 64) -> str:
        """Inches as the nearest fraction, such as 1-1/2."""
        nearest = Fraction(round(inches_from_mm(length_mm) * denominator), denominator)
        whole, rest = divmod(abs(nearest), 1)
        sign = MINUS if nearest < 0 else ""
        if not rest:
            return f"{sign}{whole}"
        part = f"{rest.numerator}/{rest.denominator}"
        return f"{sign}{whole}-{part}" if whole else f"{sign}{part}"

    def file_size(self, size_bytes: int) -> str:
        """The size of a file as people say it."""
        if size_bytes < 1_000_000:
            return f"{fixed(max(1, size_bytes / 1000), 0)}{GAP}kB"
        return f"{fixed(size_bytes / 1_000_000, 1)}{GAP}MB"

    def duration(self, seconds_s: float) -> str:
        """Seconds as people say them."""
        if seconds_s < 90:
            return f"{fixed(seconds_s, 0)}{GAP}s"
        minutes = seconds_s / 60
        if minutes < 120:
            return f"{fixed(minutes, 0)}{GAP}min"
        return f"{fixed(minutes / 60, 1)}{GAP}h"


def fixed(value: float, places: int) -> str:
    """A number with a fixed count of decimals, a true minus sign, and no negative zero."""
    if not math.isfinite(value):
        return "—"
    text = f"{value:.{places}f}"
    if text.startswith("-"):
        return text[1:] if float(text) == 0 else MINUS + text[1:]
    return text


def day(at: datetime | None) -> str:
    """A day as 3 Nov 2026."""
    return "" if at is None else f"{at.day} {at:%b %Y}"


def short_day(at: datetime | None) -> str:
    """A day without its year, where the year is plain: 3 Nov."""
    return "" if at is None else f"{at.day} {at:%b}"


def moment(at: datetime | None) -> str:
    """A day and time as 3 Nov 2026, 14:05, in the office PC's own time."""
    if at is None:
        return ""
    local = at.astimezone() if at.tzinfo else at.replace(tzinfo=UTC).astimezone()
    return f"{local.day} {local:%b %Y, %H:%M}"
