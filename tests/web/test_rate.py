"""Rates, cutting speeds and sheet prices in the office."""

from typing import Any

import pytest

from server.storage.queries.rate import find_shop_rates, list_cut_speeds, list_sheet_prices
from tests.conftest import Office
from tests.web.form_page import filled_form

RATES, SPEEDS, PRICES = "/office/rate", "/office/rate/cut-speed", "/office/rate/sheet-price"


@pytest.fixture
def no_rates(shop: Any) -> None:
    with shop.writing() as session:
        session.connection().exec_driver_sql("DELETE FROM setting WHERE key = 'rates'")


def test_every_page_saves_unchanged(office: Office, shop: Any) -> None:
    with shop.reading() as session:
        before = find_shop_rates(session), len(list_cut_speeds(session))
    for path in (RATES, SPEEDS, PRICES):
        shown = office.get(path)
        assert shown.status_code == 200
        assert office.post(path, filled_form(shown.text, path)).status_code == 303, path
    with shop.reading() as session:
        assert (find_shop_rates(session), len(list_cut_speeds(session))) == before
        assert {row.version for row in list_sheet_prices(session)} == {1}


@pytest.mark.usefixtures("no_rates")
def test_a_shop_without_rates_is_shown_examples_and_told_so(office: Office, shop: Any) -> None:
    shown = office.get(RATES).text
    assert "These are examples" in shown
    assert office.post(RATES, filled_form(shown, RATES)).status_code == 303
    assert "These are examples" not in office.get(RATES).text
    with shop.reading() as session:
        assert find_shop_rates(session) is not None


@pytest.mark.parametrize(
    ("changes", "field", "says"),
    [
        ({"brake_per_hour": "1,234"}, "brake_per_hour", "can be read as"),
        ({"brake_per_hour": "lots"}, "brake_per_hour", "not an amount"),
        ({"brake_per_hour": "-5"}, "brake_per_hour", "out of range"),
        ({"brake_per_hour": "9" * 35}, "brake_per_hour", "more than a shop"),
        ({"minimum_charge": ""}, "minimum_charge", "No amount"),
        ({"minimum_charge": "12.3456"}, "minimum_charge", "smallest coin"),
        ({"margin_percent": "100"}, "margin_percent", "out of range"),
        ({"cut_per_hour": "80 USD"}, "cut_per_hour", "not in EUR"),
        ({"validity_days": "0"}, "validity_days", "not from 1"),
        ({"other_name_1": ""}, "other_name_1", "no name"),
    ],
)
def test_a_wrong_rate_is_told_beside_its_field_and_the_typed_text_stays(
    office: Office, shop: Any, changes: dict[str, str], field: str, says: str
) -> None:
    typed = {**filled_form(office.get(RATES).text, RATES), "terms": "Mine", **changes}
    answer = office.post(RATES, typed)
    assert answer.status_code == 422
    _, _, after = answer.text.partition(f'id="{field}-problem"')
    assert says in after.split("</p>")[0]
    kept = filled_form(answer.text, RATES)
    assert {name: kept[name] for name in changes} == changes
    assert kept["terms"] == "Mine"
    with shop.reading() as session:
        rates = find_shop_rates(session)
    assert rates is not None
    assert rates.terms != "Mine"


def test_a_comma_is_a_decimal_mark_where_it_can_be_nothing_else(office: Office, shop: Any) -> None:
    typed = filled_form(office.get(RATES).text, RATES)
    office.post(RATES, {**typed, "brake_per_hour": "71,50", "margin_percent": "22,5"})
    with shop.reading() as session:
        rates = find_shop_rates(session)
    assert rates is not None
    assert (rates.brake_per_hour_minor, rates.margin_ratio) == (7150, 0.225)


def test_rows_are_added_changed_and_removed_in_one_save(office: Office, shop: Any) -> None:
    typed = filled_form(office.get(PRICES).text, PRICES)
    with shop.reading() as session:
        first, second, *rest = list_sheet_prices(session)
    new = {"material_new1": "S235JR", "thickness_new1": "8", "width_new1": "3000",
           "height_new1": "1500", "price_new1": "1,0835"}  # fmt: skip
    answer = office.post(
        PRICES, {**typed, **new, f"price_{first.id}": "1.99", f"remove_{second.id}": "yes"}
    )
    assert answer.status_code == 303
    with shop.reading() as session:
        rows = {row.id: row for row in list_sheet_prices(session)}
        added = next(row for row in rows.values() if row.thickness_mm == 8.0)
    assert rows[first.id].price_per_kg == "1.99"
    assert second.id not in rows
    assert added.price_per_kg == "1.0835"
    assert len(rows) == len(rest) + 2


def test_a_sheet_that_comes_twice_or_has_no_size_is_refused(office: Office, shop: Any) -> None:
    typed = filled_form(office.get(SPEEDS).text, SPEEDS)
    twice = {"cutter_new1": "Laser", "family_new1": "steel", "thickness_new1": "2",
             "speed_new1": "100", "pierce_new1": "0.2"}  # fmt: skip
    assert "in the list twice" in office.post(SPEEDS, {**typed, **twice}).text
    half = {**twice, "thickness_new1": "2.5", "speed_new1": "0"}
    answer = office.post(SPEEDS, {**typed, **half})
    assert 'id="speed_new1-problem"' in answer.text
    assert filled_form(answer.text, SPEEDS)["thickness_new1"] == "2.5"
    with shop.reading() as session:
        assert len(list_cut_speeds(session)) == 16


def test_two_people_saving_a_list_is_a_conflict_that_loses_nothing(office: Office) -> None:
    typed = filled_form(office.get(RATES).text, RATES)
    office.post(RATES, {**typed, "margin_percent": "30"})
    answer = office.post(RATES, {**typed, "margin_percent": "35"})
    assert answer.status_code == 409
    kept = filled_form(answer.text, RATES)
    assert kept["margin_percent"] == "35"
    assert office.post(RATES, {**kept, "over": "2"}).status_code == 303
