"""Customers in the office: added, changed, archived where history needs them."""

from typing import Any

import pytest

from server.storage.queries.customer import find_customer, get_customer
from tests.conftest import Office
from tests.web.form_page import filled_form

ACME = {
    "code": "quarry-9",
    "name": "Quarry Nine Doors",
    "contact": "Jo Tan",
    "email": "jo@quarry9.example",
    "address": "Shed 2\n  Old   Quarry \n\nSaltmere",
    "currency": "eur",
    "terms": "30 days net",
}


def test_a_customer_is_added_and_found_in_the_list(office: Office, shop: Any) -> None:
    answer = office.post("/office/customer/new", ACME)
    assert answer.headers["location"] == "/office/customer/QUARRY-9?saved=yes"
    with shop.reading() as session:
        row = get_customer(session, "QUARRY-9")
    assert row.address == "Shed 2\nOld Quarry\nSaltmere"
    assert row.currency == "EUR"
    assert "Quarry Nine Doors" in office.get("/office/customer").text
    assert 'value="QUARRY-9"' in office.get("/office/order/new").text


@pytest.mark.parametrize(
    ("changes", "field", "says"),
    [
        ({"code": "NORTHGATE"}, "code", "already"),
        ({"code": "with space"}, "code", "letters A-Z"),
        ({"name": " "}, "name", "empty"),
        ({"email": "nobody"}, "email", "@"),
        ({"currency": "XXX"}, "currency", "not a currency"),
    ],
)
def test_bad_input_is_told_beside_its_field(
    office: Office, shop: Any, changes: dict[str, str], field: str, says: str
) -> None:
    answer = office.post("/office/customer/new", {**ACME, **changes})
    assert answer.status_code in (409, 422)
    assert says in answer.text.split(f'id="{field}-problem"')[1].split("</p>")[0]
    assert "jo@quarry9" in answer.text or field == "email"
    with shop.reading() as session:
        assert find_customer(session, "QUARRY-9") is None


def test_a_customer_with_jobs_is_archived_and_one_without_is_deleted(
    office: Office, shop: Any
) -> None:
    office.post("/office/customer/new", ACME)
    assert "Delete" in office.get("/office/customer/QUARRY-9").text
    office.post("/office/customer/QUARRY-9/removed", {})
    office.post("/office/customer/NORTHGATE/removed", {})
    with shop.reading() as session:
        assert find_customer(session, "QUARRY-9") is None
        assert get_customer(session, "NORTHGATE").archived_at is not None
    assert "Northgate" not in office.get("/office/customer").text.split("Lately")[0]
    assert "Northgate Electric" in office.get("/office/job/J-1044").text
    office.post("/office/customer/NORTHGATE/archived", {"archived": "no"})
    assert "Northgate" in office.get("/office/customer").text.split("Lately")[0]


def test_a_change_can_be_put_back_and_an_old_version_is_a_conflict(
    office: Office, shop: Any
) -> None:
    page = "/office/customer/FELL-VIEW"
    typed = filled_form(office.get(page).text, page)
    assert office.post(page, {**typed, "terms": "prepaid"}).status_code == 303
    assert office.post(page, {**typed, "terms": "10 days"}).status_code == 409
    event = office.get(page).text.split('name="event" value="')[1].split('"')[0]
    office.post(f"{page}/put-back", {"event": event})
    with shop.reading() as session:
        assert get_customer(session, "FELL-VIEW").terms == "on delivery"
