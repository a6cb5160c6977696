"""Who did what when, on every page of the office."""

import pytest

from tests.conftest import Office
from tests.web.form_page import filled_form


@pytest.mark.parametrize(
    ("listed", "path", "field"),
    [
        ("/office/tool", "/office/punch/P2-GOOSE", "name"),
        ("/office/tool", "/office/die/D16", "name"),
        ("/office/tool", "/office/holder/H1", "name"),
        ("/office/brake", "/office/brake/BRAKE-1", "name"),
        ("/office/material", "/office/material/S235JR", "name"),
    ],
)
def test_a_change_is_told_with_who_what_and_when_on_its_page_and_in_the_list(
    office: Office, listed: str, path: str, field: str
) -> None:
    office.post("/reader", {"person": "Ann"})
    typed = filled_form(office.get(path).text, path)
    before = typed[field]
    office.post(path, {**typed, field: "Another <name>"})
    for page in (office.get(path).text, office.get(listed).text):
        assert "<strong>changed</strong>" in page
        assert "by Ann" in page
        assert before in page
        assert "Another &lt;name&gt;" in page
    assert f'href="{path}">' in office.get(listed).text.split("Lately")[1]


def test_nothing_changed_writes_nothing(office: Office) -> None:
    path = "/office/holder/H1"
    office.post(path, filled_form(office.get(path).text, path))
    assert "Nothing was changed" in office.get(path).text


def test_an_entry_that_is_not_there_is_told(office: Office) -> None:
    for path in ("/office/die/D16", "/office/brake/BRAKE-1", "/office/setting"):
        assert office.post(f"{path}/put-back", {"event": "999999"}).status_code == 404
        assert office.post(f"{path}/put-back", {"event": "x"}).status_code == 404
        assert office.post(f"{path}/put-back", {}).status_code == 404
