"""Lots in the office: measured at four edges, compared with what they were bought as."""

from typing import Any

import pytest

from server.storage.queries.lot import get_lot
from server.units.sheet_gauge import gauge_thickness_mm
from tests.conftest import Office
from tests.web.form_page import filled_form

LOT = {
    "code": "L-2041",
    "material_code": "S235JR",
    "thickness": "2",
    "edge_1": "2.02",
    "edge_2": "2.00",
    "edge_3": "2.04",
    "edge_4": "2.02",
    "heat_number": "H 88-123",
    "yield_strength": "301",
    "tensile_strength": "415",
}


def test_a_lot_keeps_its_readings_and_their_mean(office: Office, shop: Any) -> None:
    answer = office.post("/office/lot/new", LOT)
    assert answer.headers["location"] == "/office/lot/L-2041?saved=yes"
    with shop.reading() as session:
        row = get_lot(session, "L-2041")
    assert row.measured_edges_mm == [2.02, 2.0, 2.04, 2.02]
    assert row.measured_thickness_mm == pytest.approx(2.02)
    assert row.heat_number == "H 88-123"
    assert "L-2041" in office.get("/office/lot").text
    assert "L-2041" in office.get("/office/material/S235JR").text


def test_saving_unchanged_changes_nothing_in_either_unit(office: Office, shop: Any) -> None:
    office.post("/office/lot/new", LOT)
    for unit in ("mm", "in"):
        office.post("/reader", {"unit": unit})
        page = office.get("/office/lot/L-2041").text
        assert office.post("/office/lot/L-2041", filled_form(page, "/office/lot/L-2041"))
    with shop.reading() as session:
        assert get_lot(session, "L-2041").version == 1


def test_fewer_readings_are_taken_as_they_are(office: Office, shop: Any) -> None:
    office.post("/office/lot/new", {**LOT, "edge_3": "", "edge_4": ""})
    with shop.reading() as session:
        row = get_lot(session, "L-2041")
    assert row.measured_edges_mm == [2.02, 2.0]
    office.post("/office/lot/new", {**LOT, "code": "L2", **dict.fromkeys(EDGES, "")})
    with shop.reading() as session:
        row = get_lot(session, "L2")
    assert row.measured_thickness_mm is None
    assert "not measured" in office.get("/office/lot").text


EDGES = ("edge_1", "edge_2", "edge_3", "edge_4")


def galvanized(edge: str) -> dict[str, str]:
    return {
        **LOT,
        "material_code": "DX51D+Z",
        "thickness": "16 ga",
        "typed_in": "in",
        "yield_strength": "",
        "tensile_strength": "",
        **dict.fromkeys(EDGES, edge),
    }


def test_a_gauge_is_read_from_the_table_of_the_materials_family(office: Office, shop: Any) -> None:
    """Story 8: 16 ga galvanized is 0.0635 in, not steel's 0.0598 and not aluminium's 0.0508."""
    code = "DX51D+Z"
    assert office.post("/office/lot/new", galvanized("0.0635")).status_code == 303
    with shop.reading() as session:
        row = get_lot(session, "L-2041")
    assert row.material_code == code
    assert row.thickness_mm == pytest.approx(gauge_thickness_mm(family="galvanized", gauge=16))
    assert row.thickness_mm == pytest.approx(0.0635 * 25.4, abs=1e-3)


def test_a_gauge_without_a_material_asks_for_it(office: Office) -> None:
    answer = office.post("/office/lot/new", {**LOT, "material_code": "", "thickness": "16 ga"})
    assert answer.status_code == 422
    assert 'id="material_code-problem"' in answer.text
    assert 'id="thickness-problem"' in answer.text


def test_a_measured_sheet_within_tolerance_adjusts_and_one_outside_warns(office: Office) -> None:
    """Story 8: measured 0.0570 adjusts, 0.0500 warns."""
    fits = office.post("/office/lot/measure", galvanized("0.0570")).text
    assert "compute X, Y and stroke heights for it" in fits
    assert "Measure again" not in fits
    warns = office.post("/office/lot/measure", galvanized("0.0500")).text
    assert "Measure again" in warns
    assert "nearest to" in warns


def test_a_named_standard_is_stricter_than_the_rule_of_thumb(office: Office) -> None:
    """EN 10131 allows 0.11 mm at 2 mm and 1250 mm width; the rule of thumb 0.24 mm."""
    thin = {**LOT, **dict.fromkeys(EDGES, "1.85")}
    assert "Measure again" not in office.post("/office/lot/measure", thin).text
    ordered = {**thin, "thickness_standard": "EN 10131", "sheet_width": "1250"}
    live = office.post("/office/lot/measure", ordered).text
    assert "Measure again" in live
    assert "0.11\u202fmm" in live
    assert "EN 10131" in live


def test_uneven_edges_say_what_they_cost_in_angle(office: Office) -> None:
    """34 deg x 0.10 / 2.0 = 1.7 deg."""
    live = office.post("/office/lot/measure", {**LOT, "edge_1": "1.95", "edge_3": "2.05"}).text
    assert "The edges differ by 0.10" in live
    assert "1.7°" in live


@pytest.mark.parametrize(
    ("changes", "field", "says"),
    [
        ({"thickness": ""}, "thickness", "No length"),
        ({"thickness": "0"}, "thickness", "out of range"),
        ({"thickness": "99 ga"}, "thickness", "no gauge 99"),
        ({"thickness": "1e9"}, "thickness", "not a unit"),
        ({"thickness": "900"}, "thickness", "out of range"),
        ({"edge_2": "-2"}, "edge_2", "out of range"),
        ({"edge_2": "two"}, "edge_2", "two"),
        ({"material_code": "NOBODY"}, "material_code", "no such material"),
        ({"yield_strength": ""}, "yield_strength", "used together"),
        ({"yield_strength": "500"}, "tensile_strength", "below the yield"),
        ({"thickness_standard": "EN 1"}, "thickness_standard", "not one of the choices"),
        ({"code": "a lot"}, "code", "letters A-Z"),
        ({"heat_number": "x" * 61}, "heat_number", "longer than 60"),
    ],
)
def test_bad_input_is_told_beside_its_field_and_nothing_is_saved(
    office: Office, shop: Any, changes: dict[str, str], field: str, says: str
) -> None:
    answer = office.post("/office/lot/new", {**LOT, **changes})
    assert answer.status_code == 422
    _, _, after = answer.text.partition(f'id="{field}-problem"')
    assert says in after.split("</p>")[0]
    assert filled_form(answer.text, "/office/lot/new")["edge_4"] == "2.02"
    with shop.reading() as session, pytest.raises(Exception, match="There is no lot"):
        get_lot(session, "L-2041")


def test_an_edit_on_an_old_version_is_a_conflict(office: Office) -> None:
    office.post("/office/lot/new", LOT)
    typed = filled_form(office.get("/office/lot/L-2041").text, "/office/lot/L-2041")
    office.post("/office/lot/L-2041", {**typed, "heat_number": "theirs"})
    answer = office.post("/office/lot/L-2041", {**typed, "heat_number": "mine"})
    assert answer.status_code == 409
    assert "<td>mine</td><td>theirs</td>" in answer.text


def test_a_new_measurement_can_be_put_back(office: Office, shop: Any) -> None:
    office.post("/office/lot/new", LOT)
    typed = filled_form(office.get("/office/lot/L-2041").text, "/office/lot/L-2041")
    office.post("/office/lot/L-2041", {**typed, "edge_1": "2.10"})
    page = office.get("/office/lot/L-2041").text
    event = page.split('name="event" value="')[1].split('"')[0]
    assert office.post("/office/lot/L-2041/put-back", {"event": event}).status_code == 303
    with shop.reading() as session:
        assert get_lot(session, "L-2041").measured_edges_mm == [2.02, 2.0, 2.04, 2.02]


def test_an_archived_lot_leaves_the_lists(office: Office) -> None:
    office.post("/office/lot/new", LOT)
    office.post("/office/lot/L-2041/archived", {"archived": "yes"})
    assert "<strong>L-2041</strong>" not in office.get("/office/lot").text
    assert "<strong>L-2041</strong>" in office.get("/office/lot?archived=yes").text
    assert "<strong>L-2041</strong>" not in office.get("/office/material/S235JR").text
