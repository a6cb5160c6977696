"""The shop's numbers from a handful of jobs, counted by hand."""

from datetime import datetime, timedelta

import pytest

from server.errors import ShopError
from server.shop.numbers import (
    FinishedJob,
    by_month,
    first_part_right_rate,
    hours_by_customer,
    on_time_rate,
    quoted_against_actual,
    rate,
    scrap_causes,
)

DUE = datetime.fromisoformat("2026-03-02T12:00")
HOUR = timedelta(hours=1)
JOBS = [
    FinishedJob("1", "Ada", DUE, DUE, 30, 52, 10_000, 7_500, 9_700, 20, (), first_part_right=True),
    FinishedJob("2", "Ben", DUE, DUE + HOUR, 60, 50, 20_000, 15_000, 14_000, 10, (("angle", 1),),
                first_part_right=False),
    FinishedJob("3", "Ada", None, DUE, 90, None, None, None, None, 5, ()),
    FinishedJob("4", "Ada", DUE, DUE - HOUR, None, 30, 5_000, None, None, 5, ()),
]  # fmt: skip


def test_on_time_is_made_by_the_due_date_and_jobs_without_one_are_left_out() -> None:
    found = on_time_rate(JOBS)
    assert (found.hits_count, found.cases_count, found.ratio) == (2, 3, 2 / 3)


def test_first_part_right_leaves_out_what_nobody_said() -> None:
    found = first_part_right_rate(JOBS)
    assert (found.hits_count, found.cases_count) == (1, 2)


def test_quoted_against_actual_compares_only_jobs_with_both() -> None:
    found = quoted_against_actual(JOBS)
    assert (found.jobs_count, found.quoted_min, found.actual_min) == (2, 90, 102)
    assert found.quoted_margin_ratio == (30_000 - 22_500) / 30_000
    assert found.actual_margin_ratio == (30_000 - 23_700) / 30_000
    assert found.lost_minor == 1_200
    assert found.time_ratio == 102 / 90


def test_hours_by_customer_most_first() -> None:
    assert hours_by_customer(JOBS) == (("Ada", 82 / 60), ("Ben", 50 / 60))


def test_no_jobs_are_no_number_and_not_zero_per_cent() -> None:
    assert on_time_rate([]).ratio is None
    assert (on_time_rate([]).low_ratio, on_time_rate([]).high_ratio) == (0.0, 1.0)
    assert scrap_causes([]) == ()
    assert quoted_against_actual([]).time_ratio is None
    with pytest.raises(ShopError):
        rate(3, 2)


def test_jobs_are_told_by_the_month_they_were_made_in() -> None:
    later = FinishedJob("5", "Ada", None, DUE + timedelta(days=40))
    months = by_month([later, *JOBS])
    assert [(month, len(jobs)) for month, jobs in months] == [("2026-03", 4), ("2026-04", 1)]
