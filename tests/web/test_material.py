"""Materials in the office."""

from typing import Any

import pytest

from server.storage.queries.material import get_material
from tests.conftest import Office
from tests.web.form_page import filled_form

PATH = "/office/material/S235JR"
NEW = {
    "code": "TEST-1",
    "name": "Test steel",
    "family": "steel",
    "yield_typical_mpa": "280",
    "tensile_typical_mpa": "400",
    "youngs_modulus_mpa": "210000",
    "poisson_ratio": "0,3",
    "density_kg_m3": "7850",
    "radius_ratio": "0.16",
    "source": "bench test\nsecond line",
}


def test_every_seeded_material_has_a_page_that_saves_unchanged(office: Office, shop: Any) -> None:
    """Codes have spaces, dots and plus signs: each address has to work."""
    from server.storage.queries.material import list_materials

    with shop.reading() as session:
        codes = [row.code for row in list_materials(session)]
    page = office.get("/office/material").text
    assert len(codes) > 20
    for code in codes[::3]:
        path = page.split(f"<strong>{code}</strong>")[0].rsplit('href="', 1)[1].split('"')[0]
        shown = office.get(path)
        assert shown.status_code == 200, code
        assert office.post(path, filled_form(shown.text, path)).status_code == 303
        with shop.reading() as session:
            assert get_material(session, code).version == 1


def test_a_material_is_added_as_typed(office: Office, shop: Any) -> None:
    answer = office.post("/office/material/new", NEW)
    assert answer.headers["location"] == "/office/material/TEST-1?saved=yes"
    with shop.reading() as session:
        row = get_material(session, "TEST-1")
    assert row.poisson_ratio == 0.3  # a decimal comma is read as such
    assert row.k_factor is None
    assert row.source == "bench test\nsecond line"
    assert "Saved." in office.get(answer.headers["location"]).text


@pytest.mark.parametrize(
    ("changes", "field", "says"),
    [
        ({"code": "s 1"}, "code", "letters A-Z"),
        ({"name": ""}, "name", "empty"),
        ({"family": "wood"}, "family", "not one of the choices"),
        ({"yield_typical_mpa": "0"}, "yield_typical_mpa", "out of range"),
        ({"yield_typical_mpa": "inf"}, "yield_typical_mpa", "not a number"),
        ({"tensile_typical_mpa": "-400"}, "tensile_typical_mpa", "out of range"),
        ({"tensile_typical_mpa": "9" * 400}, "tensile_typical_mpa", "out of range"),
        ({"poisson_ratio": "0.5"}, "poisson_ratio", "out of range"),
        ({"k_factor": "2"}, "k_factor", "out of range"),
        ({"radius_ratio": ""}, "radius_ratio", "empty"),
        ({"density_kg_m3": "heavy"}, "density_kg_m3", "not a number"),
    ],
)
def test_bad_input_is_told_beside_its_field_and_nothing_is_saved(
    office: Office, shop: Any, changes: dict[str, str], field: str, says: str
) -> None:
    answer = office.post("/office/material/new", {**NEW, **changes})
    assert answer.status_code == 422
    _, _, after = answer.text.partition(f'id="{field}-problem"')
    assert says in after.split("</p>")[0]
    kept = filled_form(answer.text, "/office/material/new")
    assert kept["density_kg_m3"] == {**NEW, **changes}["density_kg_m3"]
    with shop.reading() as session, pytest.raises(Exception, match="There is no material"):
        get_material(session, "TEST-1")


def test_all_problems_are_told_at_once(office: Office) -> None:
    answer = office.post("/office/material/new", {})
    assert answer.text.count('-problem"') >= 2 * 8
    assert "Correct the marked fields" in answer.text


def test_an_edit_on_an_old_version_is_a_conflict_that_loses_nothing(
    office: Office, shop: Any
) -> None:
    typed = filled_form(office.get(PATH).text, PATH)
    office.post(PATH, {**typed, "radius_ratio": "0.17"})
    answer = office.post(PATH, {**typed, "radius_ratio": "0.18"})
    assert answer.status_code == 409
    assert "<td>0.18</td><td>0.17</td>" in answer.text
    kept = filled_form(answer.text, PATH)
    assert kept["radius_ratio"] == "0.18"
    assert office.post(PATH, {**kept, "over": "2"}).status_code == 303
    with shop.reading() as session:
        assert get_material(session, "S235JR").radius_ratio == 0.18


def test_a_change_can_be_put_back(office: Office, shop: Any) -> None:
    typed = filled_form(office.get(PATH).text, PATH)
    office.post(PATH, {**typed, "radius_ratio": "0.17"})
    event = office.get(PATH).text.split('name="event" value="')[1].split('"')[0]
    assert office.post(f"{PATH}/put-back", {"event": event}).status_code == 303
    with shop.reading() as session:
        assert get_material(session, "S235JR").radius_ratio == 0.16


def test_an_archived_material_leaves_the_list_and_the_choices(office: Office) -> None:
    office.post(f"{PATH}/archived", {"archived": "yes"})
    assert "<strong>S235JR</strong>" not in office.get("/office/material").text
    assert 'value="S235JR"' not in office.get("/office/lot/new").text
    assert "<strong>S235JR</strong>" in office.get("/office/material?archived=yes").text
    office.post(f"{PATH}/archived", {"archived": "no"})
    assert "<strong>S235JR</strong>" in office.get("/office/material").text
