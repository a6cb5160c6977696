"""Shifts, holidays, extra and closed hours, and the axis of open seconds."""

from datetime import date, datetime, time, timedelta

import pytest

from server.errors import ShopError
from server.shop.shop_calendar import ALWAYS_OPEN, Holiday, OpenTime, Shift, ShopCalendar

at = datetime.fromisoformat
HOUR = timedelta(hours=1)
HOUR_US = 3_600_000_000
WEEK = tuple(Shift(day, time(7), time(15, 30)) for day in range(1, 6))
SHOP = ShopCalendar(WEEK, (Holiday(date(2026, 5, 1), "Labour Day"),))
THURSDAY = at("2026-04-30T12:00")


def test_work_pauses_over_night_holiday_and_weekend() -> None:
    # Thursday noon leaves 3.5 h; Friday is a holiday; the rest is worked on Monday from 7.
    assert SHOP.finish(THURSDAY, 3.5 * HOUR) == at("2026-04-30T15:30")
    assert SHOP.finish(THURSDAY, 4 * HOUR) == at("2026-05-04T07:30")


def test_working_time_counts_only_open_hours_and_changes_sign() -> None:
    monday = at("2026-05-04T09:00")
    assert SHOP.working_time(THURSDAY, monday) == 5.5 * HOUR
    assert SHOP.working_time(monday, THURSDAY) == -5.5 * HOUR


def test_next_open_is_now_when_the_shop_is_open() -> None:
    assert SHOP.next_open(THURSDAY) == THURSDAY
    assert SHOP.next_open(at("2026-04-30T15:30")) == at("2026-05-04T07:00")


def test_a_night_shift_runs_into_the_next_day() -> None:
    night = ShopCalendar((Shift(1, time(22), time(6)),))
    assert night.finish(at("2026-05-04T23:00"), 2 * HOUR) == at("2026-05-05T01:00")
    assert night.next_open(at("2026-05-05T03:00")) == at("2026-05-05T03:00")


def test_extra_hours_open_and_closed_hours_win() -> None:
    saturday = at("2026-05-02T08:00")
    shop = ShopCalendar(
        WEEK,
        open_hours=((saturday, saturday + 4 * HOUR),),
        closed_hours=((saturday + HOUR, saturday + 2 * HOUR),),
    )
    assert shop.working_time(at("2026-05-02T00:00"), at("2026-05-03T00:00")) == 3 * HOUR
    assert shop.finish(saturday, 2 * HOUR) == saturday + 3 * HOUR


def test_without_shifts_the_shop_is_always_open() -> None:
    assert ALWAYS_OPEN.finish(THURSDAY, 100 * HOUR) == THURSDAY + 100 * HOUR


def test_a_shop_that_never_opens_is_told_so() -> None:
    closed = ShopCalendar((Shift(1, time(7), time(8)),), closed_hours=())
    with pytest.raises(ShopError, match="does not open long enough"):
        closed.finish(THURSDAY, 10000 * HOUR)
    with pytest.raises(ShopError, match="end at"):
        ShopCalendar(closed_hours=((THURSDAY, THURSDAY),))
    with pytest.raises(ShopError, match="no weekday 8"):
        Shift(8, time(7), time(8))


def test_the_axis_of_open_time_goes_there_and_back() -> None:
    axis = OpenTime(SHOP, THURSDAY, THURSDAY + timedelta(days=60))
    monday_7 = at("2026-05-04T07:00")
    assert axis.open_us(at("2026-04-30T15:30")) == axis.open_us(monday_7) == 3.5 * HOUR_US
    assert axis.at(7 * HOUR_US // 2) == at("2026-04-30T15:30")
    assert axis.at(7 * HOUR_US // 2, begin=True) == monday_7
    for hours in range(1, 200):
        assert axis.at(hours * HOUR_US) == SHOP.finish(THURSDAY, hours * HOUR)
        assert axis.open_us(axis.at(hours * HOUR_US)) == hours * HOUR_US


def test_before_the_origin_and_after_the_horizon_the_axis_is_the_clock() -> None:
    axis = OpenTime(SHOP, THURSDAY, THURSDAY + timedelta(days=1))
    assert axis.open_us(THURSDAY - HOUR) == -HOUR_US
    assert axis.at(-HOUR_US) == THURSDAY - HOUR
    assert axis.at(axis.total_us + HOUR_US // 60) == at("2026-04-30T15:31")
