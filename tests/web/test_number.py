"""The shop's own numbers in the office."""

import csv
import io
from typing import Any

import pytest

from server.storage.queries.number import list_decided_quotes, list_finished_jobs
from tests.conftest import Office

TABLES = ("jobs", "on-time", "first-part-right", "scrap", "hours", "quotes")


def rows_of(office: Office, name: str) -> list[dict[str, str]]:
    answer = office.get(f"/office/number/{name}.csv?days=0")
    assert answer.status_code == 200
    assert answer.content.startswith(b"\xef\xbb\xbf")  # spreadsheets take it for UTF-8
    return list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"))))


def test_the_page_shows_each_number_with_its_count_and_its_picture(office: Office) -> None:
    page = office.get("/office/number?days=0").text
    told = ("On time", "First part right", "Quoted and actual", "Scrap by reason",
            "Brake hours by customer", "Quotes won")  # fmt: skip
    assert all(one in page for one in told)
    assert page.count('class="plot"') >= len(told)
    assert "the true share lies between" in page


@pytest.mark.parametrize("name", TABLES)
def test_every_table_comes_as_csv(office: Office, name: str) -> None:
    assert rows_of(office, name)


def test_the_tables_agree_with_the_jobs_they_are_made_of(office: Office) -> None:
    jobs = rows_of(office, "jobs")
    dated = [row for row in jobs if row["on_time"]]
    months = rows_of(office, "on-time")
    assert sum(int(row["cases_count"]) for row in months) == len(dated)
    assert sum(int(row["hits_count"]) for row in months) == sum(
        row["on_time"] == "yes" for row in dated
    )
    scrap = rows_of(office, "scrap")
    assert sum(int(row["parts_count"]) for row in scrap) == sum(
        int(row["scrap_count"]) for row in jobs
    )
    assert float(scrap[-1]["share_with_those_above"]) == 1


def test_actual_cost_is_the_quoted_one_with_the_minutes_the_brake_took(
    office: Office, shop: Any
) -> None:
    """J-1001 by hand: 14 min set-up, 11 min first article, 61 parts of one 7.2 s bend."""
    job = next(row for row in rows_of(office, "jobs") if row["job"] == "J-1001")
    actual_min = 14 + 11 + 61 * 7.2 / 60
    assert float(job["actual_min"]) == pytest.approx(actual_min, abs=0.05)
    with shop.reading() as session:
        known = next(one for one in list_finished_jobs(session) if one.job == "J-1001")
    assert known.quoted_min is not None
    more = (actual_min - known.quoted_min) * 65.00 / 60 * 1.12
    assert float(job["actual_cost"]) - float(job["quoted_cost"]) == pytest.approx(more, abs=0.02)


def test_a_time_in_which_nothing_was_made_says_so(office: Office, shop: Any) -> None:
    with shop.writing() as session:
        session.connection().exec_driver_sql("UPDATE job SET state = 'won'")
        session.connection().exec_driver_sql("UPDATE quote SET state = 'draft'")
    assert "Nothing was made in this time" in office.get("/office/number").text
    assert rows_of(office, "scrap") == []
    with shop.reading() as session:
        assert list_decided_quotes(session) == []


def test_a_table_that_is_none_is_not_found(office: Office) -> None:
    assert office.get("/office/number/nothing.csv").status_code == 404
    assert office.get("/office/number?days=-5").status_code == 200
    assert office.get("/office/number?days=999999999999").status_code == 200
