"""The shop's own choices: in force at once, kept over a restart, put back."""

from typing import Any

import pytest
from fastapi import FastAPI

from server.settings import ShopSettings
from server.storage.queries.setting import get_shop_settings, settings_of
from tests.conftest import Office
from tests.web.form_page import filled_form

PATH = "/office/setting"


def typed_now(office: Office) -> dict[str, str]:
    return filled_form(office.get(PATH).text, PATH)


def test_a_new_shop_starts_from_the_defaults(office: Office, shop: Any) -> None:
    with shop.reading() as session:
        assert get_shop_settings(session) == ShopSettings()
    assert typed_now(office)["speed_change_above_sheet"] == "4"


def test_a_change_is_in_force_without_a_restart_and_after_one(
    office: Office, shop: Any, app: FastAPI
) -> None:
    changed = {"shop_name": "Miller & Daughters", "unit": "in", "flange_margin_percent": "15"}
    answer = office.post(PATH, {**typed_now(office), **changed})
    assert answer.status_code == 303
    settings = app.state.house.settings
    assert settings.shop_name == "Miller & Daughters"
    assert settings.bend.flange_margin_ratio == 0.15
    page = office.get("/office/die/D16").text
    assert "Miller &amp; Daughters" in page
    assert 'name="typed_in" value="in"' in page
    with shop.reading() as session:
        assert get_shop_settings(session) == settings


def test_a_device_that_chose_its_unit_keeps_it_when_the_shop_changes_its_own(
    office: Office,
) -> None:
    office.post("/reader", {"unit": "mm"})
    office.post(PATH, {**typed_now(office), "unit": "in"})
    assert 'name="typed_in" value="mm"' in office.get("/office/die/D16").text


def test_lengths_and_speeds_are_typed_in_the_readers_unit(office: Office, app: FastAPI) -> None:
    office.post("/reader", {"unit": "in"})
    office.post(PATH, {**typed_now(office), "speed_change_above_sheet": "1/4", "whip_speed": "1"})
    bend = app.state.house.settings.bend
    assert bend.speed_change_above_sheet_mm == pytest.approx(6.35)
    assert bend.whip_speed_m_per_s == pytest.approx(0.3048)  # one foot per second


def test_saving_unchanged_changes_nothing_in_either_unit(office: Office, shop: Any) -> None:
    for unit in ("mm", "in"):
        office.post("/reader", {"unit": unit})
        assert office.post(PATH, typed_now(office)).status_code == 303
    with shop.reading() as session:
        assert get_shop_settings(session) == ShopSettings()
    assert "Nothing was changed" in office.get(PATH).text


@pytest.mark.parametrize(
    ("changes", "field", "says"),
    [
        ({"shop_name": ""}, "shop_name", "empty"),
        ({"currency": "EURO"}, "currency", "longer than 3"),
        ({"currency": "E1"}, "currency", "three letters"),
        ({"unit": "yd"}, "unit", "not one of the choices"),
        ({"flange_margin_percent": "-1"}, "flange_margin_percent", "out of range"),
        ({"first_correction_percent": "0"}, "first_correction_percent", "out of range"),
        ({"speed_change_above_sheet": "0"}, "speed_change_above_sheet", "out of range"),
        ({"loading_room": "NaN"}, "loading_room", "NaN"),
        ({"stroke_s": "1e5"}, "stroke_s", "not a number"),
        ({"gauge_speed": "0"}, "gauge_speed", "out of range"),
        ({"mass_for_double": ""}, "mass_for_double", "empty"),
    ],
)
def test_bad_input_is_told_beside_its_field_and_nothing_is_saved(
    office: Office, shop: Any, changes: dict[str, str], field: str, says: str
) -> None:
    answer = office.post(PATH, {**typed_now(office), "shop_name": "Changed", **changes})
    assert answer.status_code == 422
    _, _, after = answer.text.partition(f'id="{field}-problem"')
    assert says.lower() in after.split("</p>")[0].lower()
    with shop.reading() as session:
        assert get_shop_settings(session) == ShopSettings()


def test_two_people_changing_the_settings_see_each_other(office: Office, shop: Any) -> None:
    typed = typed_now(office)
    office.post(PATH, {**typed, "stroke_s": "7"})
    answer = office.post(PATH, {**typed, "stroke_s": "9"})
    assert answer.status_code == 409
    assert "<td>9</td><td>7</td>" in answer.text
    kept = filled_form(answer.text, PATH)
    assert office.post(PATH, {**kept, "over": "1"}).status_code == 303
    with shop.reading() as session:
        assert get_shop_settings(session).handling.stroke_s == 9.0


def test_a_change_is_listed_and_can_be_put_back(office: Office, app: FastAPI) -> None:
    office.post("/reader", {"person": "Bo"})
    office.post(PATH, {**typed_now(office), "change_tools_s": "240"})
    page = office.get(PATH).text
    assert "changed</strong> by Bo" in page
    event = page.split('name="event" value="')[1].split('"')[0]
    assert office.post(f"{PATH}/put-back", {"event": event}).status_code == 303
    assert app.state.house.settings == ShopSettings()


def test_a_choice_that_is_no_longer_known_is_left_out_and_a_new_one_has_its_default() -> None:
    kept = settings_of({"shop_name": "Ours", "stroke_s": 8.0, "old_choice": 3, "version": 4})
    assert kept.shop_name == "Ours"
    assert kept.handling.stroke_s == 8.0
    assert kept.handling.turn_over_s == ShopSettings().handling.turn_over_s


def test_the_shops_address_stands_on_its_papers(office: Office, shop: Any) -> None:
    before = office.get("/paper/job/J-1042/traveller.pdf").content
    typed = {**typed_now(office), "shop_address": "Mill Lane 4\r\n\r\n12345 Northfield"}
    assert office.post(PATH, typed).status_code == 303
    with shop.reading() as session:
        settings = get_shop_settings(session)
    assert settings.address_lines == ("Mill Lane 4", "12345 Northfield")
    assert typed_now(office)["shop_address"].split() == ["Mill", "Lane", "4", "12345", "Northfield"]
    assert len(office.get("/paper/job/J-1042/traveller.pdf").content) > len(before)
    too_long = office.post(PATH, {**typed_now(office), "shop_address": "x" * 301})
    assert too_long.status_code == 422
