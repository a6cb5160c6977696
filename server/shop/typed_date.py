"""Days the way people type them: `2026-12-04`, `4 Dec`, `4.12.26`, `fri`, `+10`, `2 weeks`, `W49`.

A text with two readings is refused and both are shown; nothing is guessed.
"""

import re
from datetime import date, timedelta

from server.errors import ShopError, say
from server.shop.week import Week

LONGEST_TEXT = 40
DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
MONTHS = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september",
    "october", "november", "december",
)  # fmt: skip
SHORTEST_NAME = 3
MOST_AHEAD_DAYS = 3660

_ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})")
_ISO_TIGHT = re.compile(r"(\d{4})(\d{2})(\d{2})")
_POINTS = re.compile(r"(\d{1,2})\.(\d{1,2})\.?(\d{4}|\d{2})?")
_SLASHES = re.compile(r"(\d{1,2})[/-](\d{1,2})(?:[/-](\d{4}|\d{2}))?")
_DAY_MONTH = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?\.? ?([a-z]+)\.?,? ?(\d{4}|\d{2})?")
_MONTH_DAY = re.compile(r"([a-z]+)\.? ?(\d{1,2})(?:st|nd|rd|th)?(?:,? (\d{4}))?")
_AHEAD = re.compile(r"(?:\+|in )?\s*(\d{1,4}) ?(d|days?|w|wks?|weeks?|m|months?)?")
_WEEK = re.compile(r"(?:(\d{4})-?)?(?:w|wk|week|kw) ?(\d{1,2})")


def typed_day(text: str, *, today: date) -> date:
    """The day a typed text means.

    Args:
        text: what was typed; without a year the next such day is meant, a week means its Friday.
        today: the day it is typed on.

    Returns: the day.

    Raises: ShopError with code `no_date`, `not_a_date`, `no_such_day`, `ambiguous_date`,
        `date_too_far` or `no_such_week`.

    References: order of digits and weeks: ISO 8601-1:2019, 5.2.2 and 5.2.3.

    >>> wednesday = date(2026, 11, 25)
    >>> [str(typed_day(t, today=wednesday)) for t in ("4 dec", "fri", "+10", "2 weeks", "W49")]
    ['2026-12-04', '2026-11-27', '2026-12-05', '2026-12-09', '2026-12-04']
    """
    clean = " ".join(text.lower().replace("–", "-").split()).strip(" ,")
    if not clean:
        raise ShopError("no_date", "No day was typed.", remedy="Type one, like 4 Dec or +10.")
    if len(clean) > LONGEST_TEXT:
        raise _not_a_date(text)
    found = (
        _named(clean, today)
        or _written(clean, today)
        or _by_month(clean, today)
        or _ahead(clean, today)
    )
    if found is None:
        raise _not_a_date(text)
    if abs((found - today).days) > MOST_AHEAD_DAYS:
        raise ShopError(
            "date_too_far",
            say("{day} is more than ten years away.", day=found.isoformat()),
            remedy="Check the year.",
        )
    return found


def _named(clean: str, today: date) -> date | None:
    near = {"today": 0, "tomorrow": 1, "yesterday": -1}
    if clean in near:
        return today + timedelta(days=near[clean])
    if match := _WEEK.fullmatch(clean):
        year = int(match[1]) if match[1] else today.isocalendar().year
        friday = Week(year, int(match[2])).days[4]
        if not match[1] and friday < today:
            friday = Week(year + 1, int(match[2])).days[4]
        return friday
    later = clean.startswith("next ")
    weekday = _place(clean.removeprefix("next ").removeprefix("on "), DAYS)
    if weekday is None:
        return None
    ahead = (weekday - today.weekday()) % 7 or 7
    if later and ahead + today.weekday() < 7:
        ahead += 7  # next Friday, said on a Wednesday, is not the day after tomorrow
    return today + timedelta(days=ahead)


def _written(clean: str, today: date) -> date | None:
    for pattern in (_ISO, _ISO_TIGHT):
        if match := pattern.fullmatch(clean):
            return _day(int(match[1]), int(match[2]), int(match[3]), clean)
    if match := _POINTS.fullmatch(clean):
        return _dated(int(match[1]), int(match[2]), match[3], today, clean)
    if match := _SLASHES.fullmatch(clean):
        first, second = int(match[1]), int(match[2])
        if first != second and first <= 12 and second <= 12:
            one = _dated(first, second, match[3], today, clean)
            other = _dated(second, first, match[3], today, clean)
            raise ShopError(
                "ambiguous_date",
                say(
                    "'{text}' is {one} or {other}.",
                    text=clean,
                    one=spoken_day(one),
                    other=spoken_day(other),
                ),
                remedy="Type the month as a word.",
            )
        day, month = (first, second) if second <= 12 else (second, first)
        return _dated(day, month, match[3], today, clean)
    return None


def _by_month(clean: str, today: date) -> date | None:
    if match := _DAY_MONTH.fullmatch(clean):
        month = _place(match[2], MONTHS)
        if month is not None:
            return _dated(int(match[1]), month + 1, match[3], today, clean)
    if match := _MONTH_DAY.fullmatch(clean):
        month = _place(match[1], MONTHS)
        if month is not None:
            return _dated(int(match[2]), month + 1, match[3], today, clean)
    return None


def _ahead(clean: str, today: date) -> date | None:
    match = _AHEAD.fullmatch(clean)
    if match is None or (match[2] is None and not clean.startswith(("+", "in "))):
        return None  # a bare number could be a day of the month
    count, unit = int(match[1]), (match[2] or "d")[0]
    days = {"d": 1, "w": 7, "m": 30}[unit] * count
    return today + timedelta(days=min(days, 2 * MOST_AHEAD_DAYS))


def _dated(day: int, month: int, year: str | None, today: date, text: str) -> date:
    if year is not None:
        return _day(int(year) + (2000 if len(year) == 2 else 0), month, day, text)
    soon = _day(today.year, month, day, text) if (month, day) != (2, 29) else None
    if soon is None:
        return _day(today.year, month, day, text)
    return soon if soon >= today else _day(today.year + 1, month, day, text)


def _day(year: int, month: int, day: int, text: str) -> date:
    try:
        return date(year, month, day)
    except ValueError:
        raise ShopError(
            "no_such_day",
            say("There is no such day as '{text}'.", text=text),
            remedy="Check day and month.",
        ) from None


def _place(word: str, names: tuple[str, ...]) -> int | None:
    if len(word) < SHORTEST_NAME:
        return None
    hits = [place for place, name in enumerate(names) if name.startswith(word)]
    if word == "sept":
        return 8 if names is MONTHS else None
    return hits[0] if len(hits) == 1 else None


def spoken_day(day: date) -> str:
    """A day as people say it, with its weekday: no order of digits to mistake.

    >>> spoken_day(date(2026, 12, 4))
    'Fri 4 Dec 2026'
    """
    return f"{day:%a} {day.day} {day:%b} {day.year}"


def _not_a_date(text: str) -> ShopError:
    return ShopError(
        "not_a_date",
        say("'{text}' is not a day.", text=text.strip()[:LONGEST_TEXT]),
        remedy="Type it like 4 Dec, 2026-12-04, Friday, +10 days or week 49.",
    )
