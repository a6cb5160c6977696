"""Quotes in the office."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from server.settings import ShopSettings
from server.storage.queries.job import get_job
from server.storage.queries.quote import get_quote_place
from server.web.display import Display
from server.web.pages.quote_paper import quote_paper
from tests.conftest import Office
from tests.web.form_page import filled_form

NEW = "/office/quote/new"
ASKED = {"customer_code": "BRIGHTWATER", "part_number": "br-1040", "quantities": "1; 10 50,250"}


@pytest.fixture
def path(office: Office) -> str:
    return str(office.post(NEW, ASKED).headers["location"])


def place_of(shop: Any, path: str) -> Any:
    with shop.reading() as session:
        return get_quote_place(session, path.rsplit("/", 1)[1])


def line_path(shop: Any, path: str) -> str:
    return f"{path}/line/{place_of(shop, path).lines[0].line.id}"


def test_a_quote_shows_every_break_its_sheet_and_its_times(office: Office, path: str) -> None:
    page = office.get(path).text
    for told in ("Unit price", "Material by the parts", "Set-up", "Margin, 25", "Cost", "Price"):
        assert told in page
    assert 'class="nest"' in page
    assert "A full sheet holds 329" in page
    assert "Unit price when ordered again" in page
    assert "Set-ups like this took" in page
    assert "measured; counted at" in page


def test_every_figure_opens_to_its_parts(office: Office, shop: Any, path: str) -> None:
    one = place_of(shop, path).lines[0].breaks[1]
    opened = office.get(f"{path}/figure/{one.id}?name=setup").text
    assert "Tools in and touched off" in opened
    assert "First article" in opened
    whole = office.get(f"{path}/figure/{one.id}").text
    for told in ("cost / (1 - margin) - cost", "quantity x mass x price", "quantity x bends"):
        assert told in whole


@pytest.mark.parametrize(
    ("changes", "field", "says"),
    [
        ({"quantities": "0"}, "quantities", "A quantity of 0 cannot be made"),
        ({"quantities": "ten"}, "quantities", "is not a quantity"),
        ({"quantities": ""}, "quantities", "There is no quantity"),
        ({"quantities": "-5"}, "quantities", "is not a quantity"),
        ({"quantities": "1.5"}, "quantities", "is not a quantity"),
        ({"part_number": "NO-SUCH"}, "part_number", "There is no part"),
        ({"customer_code": ""}, "customer_code", "empty"),
    ],
)
def test_a_wrong_wish_is_told_beside_its_field_and_the_typed_text_stays(
    office: Office, changes: dict[str, str], field: str, says: str
) -> None:
    answer = office.post(NEW, {**ASKED, "their_reference": "RFQ 9", **changes})
    assert answer.status_code in (404, 422)
    _, _, after = answer.text.partition(f'id="{field}-problem"')
    assert says in after.split("</p>")[0]
    kept = filled_form(answer.text, NEW)
    assert {name: kept[name] for name in changes} == changes
    assert kept["their_reference"] == "RFQ 9"


def test_a_part_without_a_price_or_a_speed_says_where_to_add_it(office: Office, shop: Any) -> None:
    with shop.writing() as session:
        session.connection().exec_driver_sql("DELETE FROM sheet_price WHERE thickness_mm = 3")
    answer = office.post(NEW, ASKED)
    assert answer.status_code == 422
    assert "The price list has no sheet of S235JR" in answer.text
    assert "Add it under Rates" in answer.text


def test_other_work_and_what_is_bought_come_into_the_price(
    office: Office, shop: Any, path: str
) -> None:
    before = place_of(shop, path).lines[0].breaks
    to = line_path(shop, path)
    typed = filled_form(office.get(path).text, to)
    wrong = {**typed, "bought_1": "Inserts", "bought_part_1": "1,234"}
    answer = office.post(to, wrong)
    assert answer.status_code == 422
    assert "can be read as 1234 or as 1.234" in answer.text
    assert filled_form(answer.text, to)["bought_1"] == "Inserts"
    right = {**wrong, "bought_part_1": "0,35", "other_1": "Deburring", "other_part_min_1": "0,5"}
    assert office.post(to, right).status_code == 303
    after = place_of(shop, path).lines[0].breaks
    # by hand: 0.35 bought + 0.5 min at 45.00/h = 0.375, with 12 % overhead 0.42; over (1 - 0.25)
    more = (250 * 0.35 + 250 * 0.42) / 0.75 * 100
    assert after[-1].total_minor - before[-1].total_minor == pytest.approx(more, abs=1)
    page = office.get(path).text
    assert "Deburring" in page
    assert filled_form(page, to)["bought_part_1"] == "0.35"


def test_a_change_on_an_old_version_of_the_page_is_a_conflict(
    office: Office, shop: Any, path: str
) -> None:
    to = line_path(shop, path)
    typed = filled_form(office.get(path).text, to)
    office.post(to, {**typed, "quantities": "20"})
    answer = office.post(to, {**typed, "quantities": "30"})
    assert answer.status_code == 409
    assert filled_form(answer.text, to)["quantities"] == "30"


def test_what_was_sent_stays_and_a_new_version_takes_new_prices(
    office: Office, shop: Any, path: str
) -> None:
    assert office.post(f"{path}/sent").status_code == 303
    assert "stays as it is" in office.get(f"{path}?told=sent").text
    assert (
        office.post(line_path(shop, path), {"quantities": "5", "version": "1"}).status_code == 409
    )
    sent = place_of(shop, path)
    with shop.writing() as session:
        session.connection().exec_driver_sql("UPDATE sheet_price SET price_per_kg = '9.90'")
    assert office.post(f"{path}/version").status_code == 303
    newest = place_of(shop, path)
    assert newest.version.position == 2
    assert newest.lines[0].breaks[-1].total_minor > sent.lines[0].breaks[-1].total_minor
    old = office.get(f"{path}?version=1").text
    assert "An older version" in old
    assert f"{sent.lines[0].breaks[-1].unit_price_minor / 100:.2f}" in old


def test_winning_makes_the_jobs_at_the_price_of_their_quantity(
    office: Office, shop: Any, path: str
) -> None:
    office.post(f"{path}/line", {"part_number": "HR-3005", "quantities": "20"})
    office.post(f"{path}/sent")
    first, second = place_of(shop, path).lines
    past = {f"quantity_{first.line.id}": "50", "due": "2020-01-01"}
    refused = office.post(f"{path}/won", past)
    assert refused.status_code == 422
    assert "This day is past" in refused.text
    due = (datetime.now(UTC) + timedelta(days=9)).date().isoformat()
    assert office.post(f"{path}/won", {**past, "due": due}).status_code == 303
    won, left = place_of(shop, path).lines
    assert left.line.job_number is None
    with shop.reading() as session:
        job = get_job(session, won.line.job_number)
    assert (job.state, job.quantity_count) == ("won", 50)
    assert job.unit_price_minor == first.breaks[2].unit_price_minor
    assert office.post(f"{path}/won", {**past, "due": due}).status_code == 409
    assert second.line.id == left.line.id


def test_losing_needs_a_reason_and_keeps_it(office: Office, path: str) -> None:
    office.post(f"{path}/sent")
    answer = office.post(f"{path}/lost", {"reason": "", "other_reason": ""})
    assert answer.status_code == 422
    assert "Why it was lost is empty" in answer.text
    assert office.post(f"{path}/lost", {"reason": "price"}).status_code == 303
    assert "Lost: price" in office.get(path).text
    assert "price" in office.get("/office/quote?state=lost").text


def test_example_rates_may_be_looked_at_but_not_sent(office: Office, shop: Any) -> None:
    with shop.writing() as session:
        session.connection().exec_driver_sql("DELETE FROM setting WHERE key = 'rates'")
    path = office.post(NEW, ASKED).headers["location"]
    assert "example rates" in office.get(path).text
    assert office.post(f"{path}/sent").status_code == 409


def test_the_list_is_searched_by_number_customer_and_part(office: Office, path: str) -> None:
    number = path.rsplit("/", 1)[1]
    for text in (number, "brightw", "BR-10"):
        assert number in office.get(f"/office/quote?q={text}").text
    assert number not in office.get("/office/quote?q=nothing").text


def test_the_paper_has_the_prices_of_its_version_and_nothing_of_the_cost(
    office: Office, shop: Any, path: str
) -> None:
    answer = office.get(f"{path}/quote.pdf")
    assert answer.status_code == 200
    assert answer.content.startswith(b"%PDF-")
    place = place_of(shop, path)
    paper = quote_paper(
        place,
        shop=ShopSettings("Our shop", "Mill Lane 4\n12345 Northfield"),
        person="office",
        show=Display(),
        now=datetime(2026, 11, 25, tzinfo=UTC),
    )
    words = str(paper.words())
    assert paper.shop_address == ("Mill Lane 4", "12345 Northfield")
    assert paper.warning == "Draft: not an offer yet."
    for one in place.lines[0].breaks:
        assert Display().bare_money(one.total_minor) in words
        assert Display().bare_money(one.cost_minor) not in words
    office.post(f"{path}/sent")
    office.post(f"{path}/version")
    assert office.get(f"{path}/quote.pdf?version=1&paper=letter").content.startswith(b"%PDF-")
    assert office.get(f"{path}/quote.pdf?version=3").status_code == 404


def test_a_quote_finds_its_parts_while_they_are_typed(office: Office, path: str) -> None:
    for page in ("/office/quote/new", path):
        html = office.get(page).text
        assert 'hx-get="/office/order/parts"' in html
        assert "<datalist" not in html  # a shop has thousands of parts: none is sent along
        assert "js/order.js" in html
