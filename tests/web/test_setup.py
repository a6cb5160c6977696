"""The set-up page: what it shows, what blocks the start and says so, what a tick keeps."""

from typing import Any

import pytest

from server.planning.setup_list import PRE_USE_CHECKS
from server.storage.queries.bend_sequence import get_setup
from server.storage.queries.job import get_run
from tests.conftest import Office

IN_PAGE = {"HX-Request": "true"}


def opened(office: Office, code: str = "J-1044") -> str:
    place = office.post("/brake/open", {"code": code}).headers["location"]
    return place.split("/run/")[1].split("/")[0]


@pytest.fixture
def ann(office: Office) -> Office:
    office.post("/reader", {"person": "Ann", "back": "/brake"})
    return office


def tick(office: Office, run: str, code: str, on: str = "yes") -> Any:
    return office.post(f"/brake/run/{run}/setup/tick", {"code": code, "on": on}, headers=IN_PAGE)


def tick_all(office: Office, shop: Any, run: str) -> None:
    page = office.get(f"/brake/run/{run}/setup").text
    for code in (part.split('"')[0] for part in page.split('name="code" value="')[1:]):
        tick(office, run, code)
    for code in ("touch_off", "key_in", "measure_thickness"):
        tick(office, run, code)


def test_the_page_shows_tools_to_scale_heights_and_every_pre_use_check(ann: Office) -> None:
    page = ann.get(f"/brake/run/{opened(ann)}/setup").text
    assert "P2-GOOSE" in page
    assert 'class="bed"' in page
    assert "5.5\u202fmm" in page  # 1.5 sheet + 4 above it
    for item in PRE_USE_CHECKS:
        assert f'value="{item.code}"' in page
    for standard in ("EN 12622", "ISO 16092-3", "1910.212", "1910.147", "ISO 12100", "NIOSH"):
        assert standard in page


def test_the_start_is_refused_until_safety_is_ticked_and_says_why(ann: Office, shop: Any) -> None:
    run = opened(ann)
    refused = ann.post(f"/brake/run/{run}/setup/start", headers=IN_PAGE)
    assert refused.status_code == 409
    assert "Not ticked" in refused.text
    tick_all(ann, shop, run)
    started = ann.post(f"/brake/run/{run}/setup/start", headers=IN_PAGE)
    assert started.headers["HX-Redirect"] == f"/brake/run/{run}"
    with shop.reading() as session:
        row = get_run(session, int(run))
        assert row.state == "first_article"
        assert get_setup(session, row.setup_id or 0).signed_by == "Ann"


def test_nobody_ticks_without_a_name(office: Office) -> None:
    run = opened(office)
    answer = tick(office, run, "read_revision")
    assert answer.status_code == 422
    assert "name" in answer.text


def test_hands_wait_for_the_blocked_ram(ann: Office) -> None:
    assert "First" in tick(ann, opened(ann), "fetch_tools").text


def test_a_tick_shows_who_and_when_and_can_be_taken_away(ann: Office) -> None:
    run = opened(ann)
    assert "✔ Ann," in tick(ann, run, "read_revision").text
    assert "✔ Ann," not in tick(ann, run, "read_revision", on="no").text


def test_two_readings_of_the_scale_tell_heights_in_it(ann: Office) -> None:
    run = opened(ann)
    typed = {"height_1": "5", "scale_1": "105", "height_2": "105", "scale_2": "5"}
    page = ann.post(f"/brake/run/{run}/setup/scale", typed, headers=IN_PAGE).text
    assert "104.5 <small>on the scale" in page  # 5.5 above the die on a scale that counts down
    again = ann.post(f"/brake/run/{run}/setup/scale", {**typed, "height_2": "5"}, headers=IN_PAGE)
    assert "same point" in again.text


def test_a_thicker_sheet_is_told_loudly_as_changed(ann: Office, shop: Any) -> None:
    first = opened(ann, "J-1044")
    tick_all(ann, shop, first)
    ann.post(f"/brake/run/{first}/setup/start", headers=IN_PAGE)
    second = opened(ann, "J-1041")
    page = ann.get(f"/brake/run/{second}/setup").text
    assert "Changed since the last set-up" in page
    assert "CH-2210" in page
    for what in ("Thickness", "Touch off again", "stroke heights have to be set again"):
        assert what in page


@pytest.mark.parametrize(
    ("typed", "says"),
    [({"edge_1": ""}, "No length"), ({"edge_1": "abc"}, "not a length"), ({"edge_1": "-2"}, "out")],
)
def test_a_thickness_that_cannot_be_is_told(ann: Office, typed: dict[str, str], says: str) -> None:
    answer = ann.post(f"/brake/run/{opened(ann)}/setup/edges", typed, headers=IN_PAGE)
    assert answer.status_code == 422
    assert says in answer.text
