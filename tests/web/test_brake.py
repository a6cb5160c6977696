"""Brakes in the office: plate, control in its own unit, touch-off, ram scale."""

from typing import Any

import pytest

from server.storage.queries.brake import brake_of, get_brake, get_brake_with_holder, ram_scale_of
from tests.conftest import Office
from tests.web.form_page import filled_form

PATH = "/office/brake/BRAKE-1"


def typed_now(office: Office) -> dict[str, str]:
    return filled_form(office.get(PATH).text, PATH)


def test_the_list_and_the_page_show_the_brake(office: Office) -> None:
    assert "BRAKE-1" in office.get("/office/brake").text
    page = office.get(PATH).text
    for drawing in ("The brake from the front", "A greater Y is deeper", "Where a finger"):
        assert drawing in page
    assert "from the machine&#39;s manual" in page


def test_saving_unchanged_changes_nothing_in_either_unit(office: Office, shop: Any) -> None:
    with shop.reading() as session:
        before = get_brake(session, "BRAKE-1").version
    for unit in ("mm", "in"):
        office.post("/reader", {"unit": unit})
        assert office.post(PATH, typed_now(office)).status_code == 303
    with shop.reading() as session:
        assert get_brake(session, "BRAKE-1").version == before


def test_a_brake_is_added_as_typed(office: Office, shop: Any) -> None:
    typed = {**typed_now(office), "code": "B2", "line_load": "", "holder_code": ""}
    assert office.post("/office/brake/new", typed).status_code == 303
    with shop.reading() as session:
        row, holder = get_brake_with_holder(session, "B2")
    assert holder is None
    brake = brake_of(row)
    assert brake.max_line_load_kn_per_m is None
    assert brake.x_axis.most_mm == 600.0
    assert brake.y_sense == 1


def test_without_a_line_load_the_60_percent_rule_is_shown_with_its_number(office: Office) -> None:
    """785 kN over 60 % of 2150 mm: 785 / 1.29 = 608.5 kN/m, worked by hand."""
    live = office.post("/office/brake/plate", {**typed_now(office), "line_load": ""}).text
    assert "the 60 % rule holds" in live
    assert "609\u202fkN/m" in live
    assert "1290\u202fmm" in live
    assert "The manual&#39;s line load holds" in office.get(PATH).text.replace("'", "&#39;")


def test_choosing_inches_for_the_control_rewrites_its_numbers_and_no_others(
    office: Office,
) -> None:
    typed = {**typed_now(office), "control_unit": "in"}
    live = office.post("/office/brake/control", typed).text
    assert 'name="control_typed_in" value="in"' in live
    assert 'name="x_most" type="text" inputmode="text" value="23.62205"' in live
    assert 'name="finger_high" type="text" inputmode="text" value="28"' in live


def test_a_control_in_inches_is_read_in_inches_for_a_reader_in_mm(
    office: Office, shop: Any
) -> None:
    typed = {
        **typed_now(office),
        "control_unit": "in",
        "control_typed_in": "in",
        "x_least": "0.25",
        "x_most": "24",
        "x_resolution": "0.001",
        "y_least": "0",
        "y_most": "10",
        "y_resolution": "0.0005",
        "touch_off_reading": "3.125",
    }
    assert office.post(PATH, typed).status_code == 303
    with shop.reading() as session:
        row = get_brake(session, "BRAKE-1")
    assert row.control_unit == "in"
    assert row.x_most_mm == pytest.approx(609.6)  # 24 in
    assert row.y_resolution_mm == pytest.approx(0.0127)  # half a thou
    assert row.touch_off_reading_mm == pytest.approx(79.375)
    assert row.bed_length_mm == 2600.0
    page = office.get(PATH).text
    assert 'name="y_resolution" type="text" inputmode="text" value="0.0005"' in page
    assert typed_now(office)["finger_high"] == "28"


def test_switching_the_unit_without_the_page_following_still_reads_what_was_shown(
    office: Office, shop: Any
) -> None:
    """Without a script the fields still show mm when 'inches' is chosen and saved."""
    assert office.post(PATH, {**typed_now(office), "control_unit": "in"}).status_code == 303
    with shop.reading() as session:
        row = get_brake(session, "BRAKE-1")
    assert (row.control_unit, row.x_most_mm) == ("in", 600.0)


def test_y_sense_is_drawn_and_said_for_both_ways(office: Office) -> None:
    live = office.post("/office/brake/control", {**typed_now(office), "y_sense": "-1"}).text
    assert "A smaller Y is deeper" in live
    assert "Y 94.00" in live
    live = office.post("/office/brake/control", {**typed_now(office), "y_sense": "1"}).text
    assert "Y 106.00" in live


def test_two_readings_of_the_ram_scale_are_kept(office: Office, shop: Any) -> None:
    scale = {
        "scale_height_1": "0",
        "scale_reading_1": "120",
        "scale_height_2": "50",
        "scale_reading_2": "170",
    }
    assert office.post(PATH, {**typed_now(office), **scale}).status_code == 303
    with shop.reading() as session:
        kept = ram_scale_of(get_brake(session, "BRAKE-1"))
    assert kept is not None
    assert kept.reading(25.0) == 145.0
    assert typed_now(office)["scale_reading_2"] == "170"


@pytest.mark.parametrize(
    ("changes", "field", "says"),
    [
        ({"max_force": "0"}, "max_force", "out of range"),
        ({"max_force": "nan"}, "max_force", "not a number"),
        ({"bed_length": ""}, "bed_length", "No length"),
        ({"opening": "-5"}, "opening", "out of range"),
        ({"x_least": "700"}, "x_most", "not above the least"),
        ({"x_resolution": "0"}, "x_resolution", "out of range"),
        ({"x_resolution": "700"}, "x_resolution", "out of range"),
        ({"finger_low": "30"}, "finger_high", "ends below"),
        ({"program_count": "0"}, "program_count", "not from 1"),
        ({"program_count": "many"}, "program_count", "not a whole number"),
        ({"y_sense": "0"}, "y_sense", "not one of the choices"),
        ({"control_unit": "yd"}, "control_unit", "not one of the choices"),
        ({"touch_off_reading": ""}, "touch_off_reading", "No length"),
        ({"scale_height_1": "5"}, "scale_reading_1", "not whole"),
        ({"holder_code": "NOBODY"}, "holder_code", "no holder"),
        ({"bed": "-60 5; 60 5; 60 -120"}, "bed", "top is at y"),
        ({"off_centre_percent": "120"}, "off_centre_percent", "out of range"),
        ({"mute_opening": "abc"}, "mute_opening", "abc"),
    ],
)
def test_bad_input_is_told_beside_its_field_and_nothing_is_saved(
    office: Office, shop: Any, changes: dict[str, str], field: str, says: str
) -> None:
    typed = {**typed_now(office), "name": "Changed", **changes}
    answer = office.post(PATH, typed)
    assert answer.status_code in (404, 422)
    _, _, after = answer.text.partition(f'id="{field}-problem"')
    assert says in after.split("</p>")[0]
    assert filled_form(answer.text, PATH)["name"] == "Changed"
    with shop.reading() as session:
        assert get_brake(session, "BRAKE-1").name == "Press brake 80 t x 2600"


def test_the_same_scale_reading_twice_is_refused(office: Office) -> None:
    scale = {
        "scale_height_1": "0",
        "scale_reading_1": "120",
        "scale_height_2": "50",
        "scale_reading_2": "120",
    }
    answer = office.post(PATH, {**typed_now(office), **scale})
    assert answer.status_code == 422
    assert "are the same point" in answer.text


def test_cautions_follow_from_what_is_kept(office: Office) -> None:
    office.post(PATH, {**typed_now(office), "mute_opening": ""})
    assert "is not entered" in office.get(PATH).text
    office.post(PATH, {**typed_now(office), "mute_opening": "14", "bending_speed": "20"})
    page = office.get(PATH).text
    assert "wider than" in page
    assert "fastest slow closing speed" in page
    office.post(PATH, {**typed_now(office), "touch_off_reading": "400"})
    assert "lies outside" in office.get(PATH).text


def test_an_edit_on_an_old_version_is_a_conflict(office: Office, shop: Any) -> None:
    typed = typed_now(office)
    office.post(PATH, {**typed, "opening": "430"})
    answer = office.post(PATH, {**typed, "opening": "440"})
    assert answer.status_code == 409
    assert "<td>440</td><td>430</td>" in answer.text
    assert filled_form(answer.text, PATH)["opening"] == "440"
    with shop.reading() as session:
        assert get_brake(session, "BRAKE-1").opening_mm == 430.0


def test_a_change_is_listed_and_can_be_put_back(office: Office, shop: Any) -> None:
    office.post(PATH, {**typed_now(office), "y_sense": "-1", "opening": "430"})
    page = office.get(PATH).text
    assert "420\u202fmm" in page
    event = page.split('name="event" value="')[1].split('"')[0]
    assert office.post(f"{PATH}/put-back", {"event": event}).status_code == 303
    with shop.reading() as session:
        row = get_brake(session, "BRAKE-1")
    assert (row.opening_mm, row.y_sense) == (420.0, 1)


def test_an_archived_brake_leaves_the_list(office: Office) -> None:
    office.post(f"{PATH}/archived", {"archived": "yes"})
    assert "<strong>BRAKE-1</strong>" not in office.get("/office/brake").text
    assert "No brake yet" in office.get("/office/brake").text
    office.post(f"{PATH}/archived", {"archived": "no"})
    assert "<strong>BRAKE-1</strong>" in office.get("/office/brake").text
