"""Calendar weeks as the trade counts them: ISO 8601, Monday first, week 1 holds January 4."""

import re
from dataclasses import dataclass
from datetime import date, timedelta

from server.errors import ShopError, say

_WRITTEN = re.compile(r"([0-9]{4})-?W([0-9]{2})(?:-?([1-7]))?", re.IGNORECASE)


@dataclass(frozen=True, slots=True, order=True)
class Week:
    """One ISO 8601 week: its year (not always the calendar year of its days) and number."""

    year: int
    number: int

    def __post_init__(self) -> None:
        if not 1 <= self.year <= 9998:
            raise ShopError(
                "no_such_week",
                say("There is no year {year} in the calendar.", year=str(self.year)),
                remedy="Use a year from 1 to 9998.",
                where="week",
            )
        if not 1 <= self.number <= weeks_in_year(self.year):
            raise ShopError(
                "no_such_week",
                say(
                    "{year} has weeks 1 to {most}.",
                    year=str(self.year),
                    most=str(weeks_in_year(self.year)),
                ),
                remedy="Use one of those.",
                where="week",
            )

    def __str__(self) -> str:
        return f"{self.year:04d}-W{self.number:02d}"

    @property
    def monday(self) -> date:
        """The week's first day."""
        return date.fromisocalendar(self.year, self.number, 1)

    @property
    def days(self) -> tuple[date, ...]:
        """Monday to Sunday."""
        return tuple(self.monday + timedelta(days=n) for n in range(7))

    def after(self, weeks: int) -> "Week":
        """The week so many weeks later; a negative count is earlier."""
        return week_of(self.monday + timedelta(weeks=weeks))


def week_of(day: date) -> Week:
    """The ISO 8601 week a day lies in.

    References: ISO 8601-1:2019, 3.1.1.23 and 5.2.3.

    >>> str(week_of(date(2027, 1, 1)))
    '2026-W53'
    """
    year, number, _ = day.isocalendar()
    return Week(year, number)


def weeks_in_year(year: int) -> int:
    """Weeks of an ISO 8601 year: 53 when January 1 or December 31 is a Thursday, else 52 [count].

    References: ISO 8601-1:2019, 5.2.3, follows from week 1 holding the first Thursday.

    >>> weeks_in_year(2026), weeks_in_year(2025)
    (53, 52)
    """
    thursday = 4
    ends = (date(year, 1, 1).isoweekday(), date(year, 12, 31).isoweekday())
    return 53 if thursday in ends else 52


def week_from_text(text: str) -> Week:
    """A week from `2026-W07`, `2026W07` or a day of it, `2026-W07-5`.

    Raises: ShopError `not_a_week`, `no_such_week`.

    >>> week_from_text("2026-W07").monday
    datetime.date(2026, 2, 9)
    """
    match = _WRITTEN.fullmatch(text.strip())
    if match is None:
        raise ShopError(
            "not_a_week",
            say("'{text}' is not a week.", text=text.strip()[:40]),
            remedy="Write it like 2026-W07.",
            where="week",
        )
    return Week(int(match[1]), int(match[2]))
