"""Days as people type them: every way to the same day, two readings refused."""

from datetime import date

import pytest

from server.errors import ShopError
from server.shop.typed_date import spoken_day, typed_day

WEDNESDAY = date(2026, 11, 25)


@pytest.mark.parametrize(
    "text",
    [
        "2026-12-04", "20261204", "4.12.2026", "4.12.26", "04.12.", "4 dec", "4 December 2026",
        "4th dec", "Dec 4", "december 4, 2026", "fri 4 dec".removeprefix("fri "), "+9", "in 9 days",
        "+9 d", "W49", "week 49", "2026-W49", "kw 49", "next friday",
    ],
)  # fmt: skip
def test_many_ways_mean_the_same_friday(text: str) -> None:
    assert typed_day(text, today=WEDNESDAY) == date(2026, 12, 4)


def test_a_week_is_its_friday_by_the_iso_calendar() -> None:
    """Python's own ISO 8601 calendar is the yardstick."""
    for number in range(48, 54):
        assert typed_day(f"2026-W{number}", today=WEDNESDAY) == date.fromisocalendar(
            2026, number, 5
        )


def test_without_a_year_the_next_such_day_is_meant() -> None:
    assert typed_day("24 nov", today=WEDNESDAY) == date(2027, 11, 24)
    assert typed_day("25 nov", today=WEDNESDAY) == WEDNESDAY
    assert typed_day("week 3", today=WEDNESDAY) == date(2027, 1, 22)
    assert typed_day("wed", today=WEDNESDAY) == date(2026, 12, 2)


def test_a_written_year_may_be_in_the_past_so_that_it_can_be_warned_of() -> None:
    assert typed_day("1.3.2026", today=WEDNESDAY) == date(2026, 3, 1)
    assert typed_day("yesterday", today=WEDNESDAY) == date(2026, 11, 24)


def test_two_readings_are_both_shown_and_neither_is_taken() -> None:
    with pytest.raises(ShopError) as told:
        typed_day("4/12/2026", today=WEDNESDAY)
    assert told.value.code == "ambiguous_date"
    assert "Fri 4 Dec 2026 or Sun 12 Apr 2026" in str(told.value.what)
    assert typed_day("25/12", today=WEDNESDAY) == typed_day("12/25", today=WEDNESDAY)
    assert typed_day("7/7/27", today=WEDNESDAY) == date(2027, 7, 7)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "no_date"), ("soon", "not_a_date"), ("31", "not_a_date"), ("31 feb", "no_such_day"),
        ("29.2.2027", "no_such_day"), ("29 feb", "no_such_day"), ("ju 3", "not_a_date"),
        ("2026-13-01", "no_such_day"), ("week 60", "no_such_week"), ("4.12.2126", "date_too_far"),
        ("0 dec", "no_such_day"), ("x" * 500, "not_a_date"), ("m", "not_a_date"),
        ("9999 weeks", "date_too_far"), ("<b>", "not_a_date"), ("0000-01-01", "no_such_day"),
    ],
)  # fmt: skip
def test_what_is_no_day_is_told(text: str, code: str) -> None:
    with pytest.raises(ShopError) as told:
        typed_day(text, today=WEDNESDAY)
    assert told.value.code == code


def test_a_day_is_spoken_without_an_order_of_digits() -> None:
    assert spoken_day(WEDNESDAY) == "Wed 25 Nov 2026"
