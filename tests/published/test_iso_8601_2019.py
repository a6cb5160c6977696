"""Week numbers against the examples and rules of ISO 8601-1:2019 (and ISO 8601:2004, 4.1.4).

ISO 8601:2004 says of 3.2.2 and 4.1.4.3: week 1 is the week with the year's first Thursday; its
examples: Sunday 1995-01-01 is 1994-W52-7, Tuesday 1996-12-31 is 1997-W01-2, and 1985-04-12 is
1985-W15-5. The 71 long years of the 400-year cycle: the Gregorian calendar's own arithmetic,
400 x 365.2425 / 7 = 20871 weeks = 400 x 52 + 71.
"""

from datetime import date, timedelta

import pytest

from server.errors import ShopError
from server.shop.week import Week, week_from_text, week_of, weeks_in_year


def test_examples_of_the_standard() -> None:
    assert str(week_of(date(1995, 1, 1))) == "1994-W52"
    assert str(week_of(date(1996, 12, 31))) == "1997-W01"
    assert str(week_of(date(1985, 4, 12))) == "1985-W15"
    assert week_from_text("1985-W15-5") == week_from_text("1985W155") == Week(1985, 15)


def test_a_cycle_of_400_years_has_71_long_years() -> None:
    assert sum(weeks_in_year(year) == 53 for year in range(2000, 2400)) == 71


def test_weeks_follow_each_other_without_gap_over_a_cycle() -> None:
    week, monday = Week(2000, 1), date(2000, 1, 3)
    for _ in range(20871):
        assert week.monday == monday
        assert date(week.year, 1, 4) in week.days or week.number != 1
        week, monday = week.after(1), monday + timedelta(weeks=1)
    assert week == Week(2400, 1)


def test_a_week_that_does_not_exist_is_refused() -> None:
    for text in ("2025-W53", "2026-W00", "2026-W54", "W07", "2026-07"):
        with pytest.raises(ShopError):
            week_from_text(text)
    assert Week(2026, 53).days[-1] == date(2027, 1, 3)
