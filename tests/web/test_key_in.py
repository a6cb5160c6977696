"""The key-in sheet, the memory map, and the read-back on the tablet."""

import re
from typing import Any

import pytest

from server.storage.queries.program import list_programs
from tests.conftest import Office

IN_PAGE = {"HX-Request": "true"}


@pytest.fixture
def ann(office: Office) -> Office:
    office.post("/reader", {"person": "Ann", "back": "/brake"})
    return office


def opened(office: Office, code: str) -> str:
    place = office.post("/brake/open", {"code": code}).headers["location"]
    return place.split("/run/")[1].split("/")[0]


def wanted(page: str) -> dict[str, str]:
    """Digits to type by 'step_field', read off the page."""
    digits = re.findall(r'<span class="digits">([^<]*)</span>\s+<span class="read', page)
    names = re.findall(r'name="typed_(\d+_[xyr])"', page)
    return dict(zip(names, digits, strict=True))


def test_the_sheet_gives_the_controls_own_decimals_sums_and_the_sheet_it_is_good_for(
    ann: Office,
) -> None:
    page = ann.get(f"/brake/run/{opened(ann, 'J-1044')}/key-in").text
    numbers = wanted(page)
    assert set(numbers) == {"1_x", "1_y", "2_x", "2_y"}
    assert re.fullmatch(r"\d+\.\d", numbers["1_x"])  # the demo's X counts in 0.1 mm
    assert re.fullmatch(r"\d+\.\d\d", numbers["1_y"])
    total = float(numbers["1_x"]) + float(numbers["2_x"])
    assert f">{total:.1f}<" in page
    assert "<b>2</b> steps" in page
    assert "Good for sheet of" in page
    assert "not touched off yet" in page


def test_choosing_an_occupied_number_names_what_is_lost_before_it_is(
    ann: Office, shop: Any
) -> None:
    first, second = opened(ann, "J-1041"), opened(ann, "J-1044")
    ann.post(f"/brake/run/{first}/key-in/keep", {"number_1": "39"})
    page = ann.get(f"/brake/run/{second}/key-in/place?number_1=39", headers=IN_PAGE).text
    assert "BR-1040 revision A" in page
    assert "it is lost in the control" in page
    ann.post(f"/brake/run/{second}/key-in/keep", {"number_1": "39"})
    with shop.reading() as session:
        held = {row.program: row.part_number for row in list_programs(session, "BRAKE-1")}
    assert held[39] == "CH-2210"
    memory = ann.get("/brake/memory").text
    assert "Keyed over" in memory
    assert "BR-1040" in memory


def test_story_3_a_wrong_digit_is_marked_and_sums_are_off_and_an_override_is_kept(
    ann: Office,
) -> None:
    run = opened(ann, "J-1044")
    base = f"/brake/run/{run}/key-in"
    numbers = wanted(ann.get(base).text)
    good = numbers["2_y"]
    bad = good[:-2] + good[-1] + good[-2] if good[-1] != good[-2] else "99" + good
    typed = {f"tick_{name}": "yes" for name in numbers if name != "2_y"}
    ann.post(f"{base}/read-back", {**typed, "typed_2_y": bad, "step_count": "2"})
    page = ann.get(base).text
    assert "<mark>" in page
    assert "The start stays locked" in page
    assert "Sums are off" in page
    refused = ann.post(f"/brake/run/{run}/setup/start", headers=IN_PAGE)
    assert refused.status_code == 409
    assert "reason" in ann.post(f"{base}/override", {"reason": ""}, headers=IN_PAGE).text
    ann.post(f"{base}/override", {"reason": "display is cracked"})
    page = ann.get(base).text
    assert "overridden by Ann: display is cracked" in page
    assert "The start stays locked" not in page


def test_ticking_every_number_settles_it(ann: Office) -> None:
    base = f"/brake/run/{opened(ann, 'J-1044')}/key-in"
    numbers = wanted(ann.get(base).text)
    ann.post(f"{base}/read-back", {f"tick_{name}": "yes" for name in numbers})
    assert "The control shows what it should. Read by Ann." in ann.get(base).text


def test_nobody_reads_back_without_a_name(office: Office) -> None:
    base = f"/brake/run/{opened(office, 'J-1044')}/key-in"
    assert "name" in office.post(f"{base}/read-back", {}, headers=IN_PAGE).text


@pytest.mark.parametrize(
    ("number", "says"), [("0", "not from"), ("41", "programs 1 to 40"), ("x", "whole number")]
)
def test_a_number_the_control_does_not_have_is_refused(ann: Office, number: str, says: str) -> None:
    base = f"/brake/run/{opened(ann, 'J-1044')}/key-in"
    answer = ann.post(f"{base}/keep", {"number_1": number}, headers=IN_PAGE)
    assert answer.status_code == 422
    assert says in answer.text


def test_a_program_that_was_cleared_is_free_again(ann: Office) -> None:
    run = opened(ann, "J-1041")
    ann.post(f"/brake/run/{run}/key-in/keep", {"number_1": "38"})
    assert 'value="38"' in ann.get("/brake/memory").text
    ann.post("/brake/memory/clear", {"code": "BRAKE-1", "number": "38"})
    page = ann.get("/brake/memory?code=BRAKE-1").text
    assert "<b>38</b> free" in page
    assert "cleared by Ann" in page
    assert ann.get("/brake/memory?code=NOPE").status_code == 404
