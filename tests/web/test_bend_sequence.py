"""The sequence page: steps moved and checked, kept or taken back, compared, marked, on other sheets."""

import re
import time
from typing import Any

import pytest

from server.storage.queries.bend_sequence import (
    get_bend_sequence,
    list_bend_sequences,
    list_steps,
)
from server.storage.queries.tolerance import find_tolerance
from tests.conftest import Office

HAT = "/office/sequence/3"
KEPT = "3::,2::,0::,1::"
BLOCKED = "1::,0::,2::,3::"
IN_PAGE = {"HX-Request": "true"}


def arrange(office: Office, do: str, order: str = KEPT, **typed: str) -> str:
    answer = office.post(f"{HAT}/order", {"order": order, "do": do, **typed}, headers=IN_PAGE)
    assert answer.status_code == 200, answer.text
    return answer.text


def order_of(page: str) -> str:
    return str(re.findall(r'name="order" value="([^"]*)"', page)[0])


def past_of(page: str) -> str:
    return str(re.findall(r'name="past" value="([^"]*)"', page)[0])


def test_every_step_shows_how_the_sheet_lies_is_loaded_and_is_bent(office: Office) -> None:
    page = office.get(HAT).text
    assert order_of(page) == KEPT
    assert page.count('class="hold"') == 4
    assert page.count('class="step"') == 8
    assert "turn over, side A up" in page
    assert "turn end for end" in page
    assert "Keep this order" not in page


def test_a_step_moved_is_checked_and_what_it_breaks_is_explained_with_a_picture(
    office: Office,
) -> None:
    page = arrange(office, "move:1:2")
    assert order_of(page) == "2::,3::,0::,1::"
    assert past_of(page) == KEPT
    assert "1 step is blocked" in page
    assert re.search(r"leg 1 meets the bed by <?.*28\.7", page)
    assert "Use a taller die, or bend in another order." in page
    assert page.count('class="step close"') == 1
    assert re.search(r'value="save" disabled', page)


def test_a_change_is_taken_back_and_made_again(office: Office) -> None:
    moved = arrange(office, "move:1:2")
    back = arrange(office, "undo", order_of(moved), past=past_of(moved))
    assert order_of(back) == KEPT
    assert "Keep this order" not in back
    ahead = re.findall(r'name="ahead" value="([^"]*)"', back)[0]
    again = arrange(office, "redo", KEPT, ahead=ahead)
    assert order_of(again) == order_of(moved)


def test_an_arranged_order_survives_a_reload(office: Office) -> None:
    assert "2 steps are blocked" in office.get(f"{HAT}?order={BLOCKED}").text


def test_half_and_punch_of_a_step_are_fixed_by_hand(office: Office) -> None:
    page = arrange(office, "", rear_1="second", punch_2="P2-GOOSE")
    assert order_of(page) == "3:second:,2::P2-GOOSE,0::,1::"
    assert "change tools" in page or "blocked" in page


def test_an_order_that_can_be_done_is_kept_and_the_old_one_is_superseded(office: Office) -> None:
    answer = office.post(f"{HAT}/save", {"order": "0::,1::,3::,2::"})
    assert answer.status_code == 303
    page = office.get(answer.headers["location"]).text
    assert "Bend sequence 2" in page
    assert order_of(page) == "0::,1::,3::,2::"
    assert "by hand" in page
    old = office.get(HAT).text
    assert "Sequence 2 took its place" in old
    with office.app.state.house.database.reading() as session:
        assert get_bend_sequence(session, 3).state == "retired"


def test_a_blocked_order_is_not_kept(office: Office) -> None:
    answer = office.post(f"{HAT}/save", {"order": BLOCKED})
    assert answer.status_code == 422
    assert "meets the bed" in answer.text


def test_two_tabs_the_second_is_told_and_loses_nothing(office: Office) -> None:
    office.post(f"{HAT}/save", {"order": "0::,1::,3::,2::"})
    second = office.post(f"{HAT}/save", {"order": "0::,1::,3::,2::"}, headers=IN_PAGE)
    assert second.status_code == 409
    assert "kept another order meanwhile, as sequence 2" in second.text
    assert order_of(second.text) == "0::,1::,3::,2::"
    shown = office.get(f"{HAT}?order=0::,1::,3::,2::").text
    assert "What you arranged is still here." in shown
    beside = office.post(f"{HAT}/save", {"order": "0::,1::,3::,2::", "beside": "yes"})
    assert beside.status_code == 303
    assert "Bend sequence 3" in office.get(beside.headers["location"]).text


@pytest.mark.parametrize(
    "order", ["0::,0::,1::,2::", "0::", "9::", "x", "0:up:", "0::P9-NONE,1::,2::,3::", "0:::,1"]
)
def test_an_order_that_cannot_be_meant_is_refused_or_blocked(office: Office, order: str) -> None:
    answer = office.post(f"{HAT}/order", {"order": order}, headers=IN_PAGE)
    assert answer.status_code == 422 or "blocked" in answer.text


def test_other_ways_are_compared_by_what_they_cost(office: Office) -> None:
    page = office.post(f"{HAT}/ways", headers=IN_PAGE).text
    end = time.monotonic() + 60
    while "hx-trigger" in page.split("</h2>")[0]:
        assert time.monotonic() < end
        time.sleep(0.1)
        page = office.get(f"{HAT}/ways", headers=IN_PAGE).text
    assert "gauged on its other half" in page
    looked = office.get(HAT + re.findall(r'href="(\?order=[^"]*)"', page)[0])
    assert "arranged, not kept yet" in looked.text


@pytest.mark.parametrize("pair", ["b1-b2", "0-b1", "f1-f2", "7-7"])
def test_a_size_that_this_part_does_not_have_is_told(office: Office, pair: str) -> None:
    typed = {"version": "0", "tolerance_class": "m", "pairs": pair, f"own_{pair}": "0.1"}
    answer = office.post(f"{HAT}/tolerance", typed, headers=IN_PAGE)
    assert answer.status_code == 422
    assert "There is no leg" in answer.text


def test_sizes_of_a_folded_part_are_marked_and_two_faces_measured(
    office: Office, shop: Any
) -> None:
    with shop.reading() as session:
        (number,) = [one.id for one in list_bend_sequences(session, "EB-3310", "A")]
    tray = f"/office/sequence/{number}"
    page = office.get(tray).text
    pairs = re.findall(r'name="pairs" value="([^"]*)"', page)[0]
    assert "b1-b3" in pairs.split(",")
    assert "Bend 1 to bend 3" in page
    typed = {"version": "0", "tolerance_class": "m", "pairs": pairs, "typed_in": "mm"}
    marked = {**typed, "critical_b1-b3": "yes", "own_b1-b3": "0.05"}
    answer = office.post(f"{tray}/tolerance", marked, headers=IN_PAGE)
    assert "1 critical dimension may come out beyond the tolerance" in answer.text
    add = {**marked, "version": "1", "do": "add"}
    slanting = office.post(
        f"{tray}/tolerance", {**add, "add_first": "f1", "add_last": "f2"}, headers=IN_PAGE
    )
    assert "not parallel" in slanting.text
    over = office.post(
        f"{tray}/tolerance", {**add, "add_first": "f4", "add_last": "f2"}, headers=IN_PAGE
    )
    assert "Face 2 to face 4, outer faces" in over.text


def test_a_dimension_is_marked_and_the_worst_case_told(office: Office) -> None:
    page = office.get(HAT).text
    pairs = re.findall(r'name="pairs" value="([^"]*)"', page)[0]
    assert pairs == "0-0,1-1,2-2,3-3,4-4"
    typed = {"version": "0", "tolerance_class": "f", "pairs": pairs, "typed_in": "mm"}
    answer = office.post(
        f"{HAT}/tolerance", {**typed, "critical_2-2": "yes", "own_2-2": "0.1"}, headers=IN_PAGE
    )
    assert answer.status_code == 200
    assert "1 critical dimension may come out beyond the tolerance" in answer.text
    with office.app.state.house.database.reading() as session:
        row = find_tolerance(session, "HR-3005", "A")
        assert row is not None
        assert row.marked == [{"first": 2, "last": 2, "critical": True, "tolerance_mm": 0.1}]
        legs = get_bend_sequence(session, 3).dimensions
    assert [leg["tolerance_mm"] for leg in legs] == [0.1, 0.15, 0.1, 0.15, 0.1]
    # worst case of leg 3: both its bend lines are set by the gauge and share the blank's error
    assert legs[2]["worst_mm"] == pytest.approx(sum(size for _, size in legs[2]["errors_mm"]))


def test_faces_that_are_not_parallel_have_no_distance(office: Office) -> None:
    typed = {"version": "0", "tolerance_class": "m", "pairs": "", "do": "add"}
    answer = office.post(
        f"{HAT}/tolerance", {**typed, "add_first": "1", "add_last": "2"}, headers=IN_PAGE
    )
    assert answer.status_code == 422
    assert "not parallel" in answer.text
    answer = office.post(
        f"{HAT}/tolerance", {**typed, "add_first": "3", "add_last": "1"}, headers=IN_PAGE
    )
    assert "Leg 1 to leg 3, outer faces" in answer.text


def test_two_people_mark_dimensions_and_the_second_sees_both(office: Office) -> None:
    typed = {"version": "0", "tolerance_class": "f", "pairs": "0-0", "typed_in": "mm"}
    assert office.post(f"{HAT}/tolerance", typed, headers=IN_PAGE).status_code == 200
    late = office.post(f"{HAT}/tolerance", {**typed, "tolerance_class": "c"}, headers=IN_PAGE)
    assert late.status_code == 409
    assert "two people changed this" in late.text
    over = {**typed, "tolerance_class": "c", "over": "1"}
    assert office.post(f"{HAT}/tolerance", over, headers=IN_PAGE).status_code == 200


def test_a_thicker_sheet_shows_old_new_and_why(office: Office) -> None:
    page = office.get(f"{HAT}/sheet?thickness=2.15").text
    assert "The blank was cut for 2.00" in page
    assert page.count("by the thickness") >= 12
    assert "may not be started" not in page


def test_a_sheet_the_tools_cannot_take_is_blocked_with_what_frees_it(office: Office) -> None:
    page = office.get("/office/sequence/10/sheet?thickness=12").text
    assert "may not be started" in page
    assert "Blocked" in page


def test_a_thickness_that_is_no_length_stays_in_its_field(office: Office) -> None:
    answer = office.get(f"{HAT}/sheet?thickness=thick")
    assert answer.status_code == 422
    assert 'value="thick"' in answer.text


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_paper_has_what_is_keyed(office: Office, paper: str) -> None:
    page = office.get(f"{HAT}/print?paper={paper}").text
    with office.app.state.house.database.reading() as session:
        steps = list_steps(session, 3)
    for step in steps:
        assert f"<dd>{step.x_mm:.1f}</dd>" in page
    assert f"paper_{paper}.css" in page
    assert page.count('class="hold"') == 4


def test_which_tool_to_buy_is_searched_for_the_blocked_parts(office: Office) -> None:
    assert "Nothing is blocked." in office.get("/office/worth").text
    assert office.post("/office/worth").status_code == 422
    wish = {"revision_label": "A", "brake_code": "BRAKE-1"}
    asked = office.post(
        "/office/planning", {**wish, "part_number": "CB-6120", "punch_code": "P1-STRAIGHT"}
    )
    end = time.monotonic() + 60
    while "Cannot be bent yet" not in office.get(asked.headers["location"]).text:
        assert time.monotonic() < end
        time.sleep(0.1)
    page = office.post("/office/worth", headers=IN_PAGE).text
    while "collisions tested" in page:
        assert time.monotonic() < end
        time.sleep(0.2)
        page = office.get("/office/worth", headers=IN_PAGE).text
    assert "Goose-neck punch" in page
    assert "frees <b>1</b>" in page
