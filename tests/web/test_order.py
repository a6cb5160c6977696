"""Enquiries and orders on the office PC: typed many ways, understood while typed, never lost."""

from typing import Any

import pytest

from server.storage.queries.job import get_job
from server.storage.queries.order import get_order_place
from server.storage.queries.setting import find_setting
from tests.conftest import Office
from tests.web.form_page import filled_form

ENQUIRY = {
    "customer_code": "HARBOUR",
    "their_reference": "RFQ 88",
    "note": "",
    "part_number": "kp-1200",
    "quantity": "24",
    "line_due": "+14 days",
    "unit_price": "12,50",
    "finish": "brushed",
    "line_note": "",
}


def kept(office: Office, shop: Any, **changes: str) -> tuple[str, str]:
    """A new enquiry: the numbers of the order and of its job."""
    answer = office.post("/office/order/new", {**ENQUIRY, **changes})
    assert answer.status_code == 303
    number = answer.headers["location"].removeprefix("/office/order/").removesuffix("?saved=yes")
    with shop.reading() as session:
        (job,) = get_order_place(session, number).lines
    return number, job.number


def test_an_enquiry_becomes_an_order_with_a_job(office: Office, shop: Any) -> None:
    number, job_number = kept(office, shop)
    with shop.reading() as session:
        job = get_job(session, job_number)
    assert number.startswith("O-1")
    assert (job.part_number, job.quantity_count) == ("KP-1200", 24)
    assert (job.unit_price_minor, job.revision_label, job.state) == (1250, "A", "asked")
    page = office.get(f"/office/order/{number}").text
    assert "RFQ 88" in page
    assert "€" in page or "EUR" in page
    office.post(f"/office/order/{number}/line", {"part_number": "BR-1040", "quantity": "6"})
    with shop.reading() as session:
        assert [one.position for one in get_order_place(session, number).lines] == [1, 2]


@pytest.mark.parametrize(
    ("changes", "field", "says"),
    [
        ({"quantity": "0"}, "quantity", "0 is not from 1"),
        ({"quantity": "many"}, "quantity", "whole number"),
        ({"part_number": "NO-SUCH"}, "part_number", "no part"),
        ({"customer_code": ""}, "customer_code", "empty"),
        ({"customer_code": "NOBODY"}, "customer_code", "no customer"),
        ({"line_due": "4/12/2027"}, "line_due", "Sat 4 Dec 2027 or Mon 12 Apr 2027"),
        ({"line_due": "soon"}, "line_due", "not a day"),
        ({"unit_price": "1,2,3"}, "unit_price", "1,2,3"),
        ({"unit_price": "-5"}, "unit_price", "below zero"),
    ],
)
def test_bad_input_is_told_beside_its_field_and_nothing_is_lost(
    office: Office, shop: Any, changes: dict[str, str], field: str, says: str
) -> None:
    answer = office.post("/office/order/new", {**ENQUIRY, **changes})
    assert answer.status_code in (404, 409, 422)
    assert says in answer.text.split(f'id="{field}-problem"')[1].split("</p>")[0]
    assert filled_form(answer.text, "/office/order/new")["finish"] == "brushed"
    with shop.reading() as session:
        assert find_setting(session, "next_number_O") is None  # no number was taken


def test_what_is_typed_is_understood_before_it_is_saved(office: Office) -> None:
    told = office.post("/office/order/understood", {**ENQUIRY, "line_due": "1 jan 2020"}).text
    assert "KP-1200" in told
    assert "Wed 1 Jan 2020" in told
    assert "in the past" in told
    assert "0 is not from 1" in office.post("/office/order/understood", {"quantity": "0"}).text


def test_a_due_date_in_the_past_is_kept_and_warned_of(office: Office, shop: Any) -> None:
    number, job_number = kept(office, shop, line_due="1 jan 2020")
    assert "due date is in the past" in office.get(f"/office/order/{number}").text
    assert "due date is in the past" in office.get(f"/office/job/{job_number}").text


def test_a_part_is_found_by_a_piece_of_its_name(office: Office) -> None:
    hits = office.get("/office/order/parts?part_number=kick+plat").text
    assert 'data-part="KP-1200"' in hits
    assert "data-part" not in office.get("/office/order/parts?part_number=KP-1200").text


def test_an_order_is_changed_and_an_old_version_is_a_conflict(office: Office, shop: Any) -> None:
    number, job_number = kept(office, shop)
    page = f"/office/order/{number}"
    typed = filled_form(office.get(page).text, page)
    assert office.post(page, {**typed, "customer_code": "FELL-VIEW"}).status_code == 303
    assert office.post(page, {**typed, "their_reference": "mine"}).status_code == 409
    with shop.reading() as session:
        assert get_job(session, job_number).customer_code == "FELL-VIEW"
