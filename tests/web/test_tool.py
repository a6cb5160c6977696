"""Tools in the office: punches, dies and holders, drawn, checked, archived, put back."""

from typing import Any

import pytest

from server.storage.queries.tool import (
    get_die,
    get_holder,
    get_punch,
    list_die_segments,
    list_dies_with_segments,
    list_punch_segments,
    punch_of,
)
from tests.conftest import Office
from tests.web.form_page import filled_form

PUNCH = {
    "code": "p9-test",
    "name": "Test punch",
    "angle_deg": "60",
    "tip_radius": "1",
    "height": "100",
    "rating": "500",
    "profile": "0 0; 10 12; 10 100; -10 100; -10 12",
    "segments": "500x2; 100; 100",
}
DIE = {
    "code": "D99",
    "name": "Test die",
    "block_code": "B9",
    "v_opening": "16",
    "angle_deg": "90",
    "shoulder_radius": "0",
    "height": "50",
    "rating": "900",
    "profile": "20 0; 8 0; 0 -8; -8 0; -20 0; -20 -50; 20 -50",
    "segments": "500x2",
}


def test_the_list_shows_every_tool_with_its_drawing_and_missing_rating(office: Office) -> None:
    page = office.get("/office/tool")
    assert page.status_code == 200
    for code in ("P1-STRAIGHT", "D16", "H1"):
        assert f">{code}<" in page.text
    assert page.text.count('<svg class="tool"') >= 16
    assert "no rating" in page.text


def test_a_tool_without_a_rating_says_loudly_that_no_job_runs_on_it(office: Office) -> None:
    page = office.get("/office/punch/P5-SLIM").text
    assert "No job runs on this punch until its load rating is entered" in page
    page = office.get("/office/punch/P1-STRAIGHT").text
    assert "No job runs on" not in page


def test_entering_the_rating_frees_the_tool(office: Office, shop: Any) -> None:
    typed = filled_form(office.get("/office/punch/P5-SLIM").text, "/office/punch/P5-SLIM")
    answer = office.post("/office/punch/P5-SLIM", {**typed, "rating": "250"})
    assert answer.status_code == 303
    with shop.reading() as session:
        assert get_punch(session, "P5-SLIM").rating_kn_per_m == 250.0
    assert "No job runs on" not in office.get(answer.headers["location"]).text


def test_a_punch_is_added_with_its_pieces(office: Office, shop: Any) -> None:
    answer = office.post("/office/punch/new", PUNCH)
    assert answer.headers["location"] == "/office/punch/P9-TEST?saved=yes"
    with shop.reading() as session:
        row = get_punch(session, "P9-TEST")
        punch = punch_of(row, list_punch_segments(session, "P9-TEST"))
    assert punch.segments_mm == (500.0, 500.0, 100.0, 100.0)
    assert punch.profile_mm[0] == (0.0, 0.0)
    assert punch.height_mm == 100.0
    page = office.get("/office/punch/P9-TEST?saved=yes").text
    assert "Saved." in page
    assert "added" in page


def test_a_die_and_a_holder_are_added(office: Office, shop: Any) -> None:
    assert office.post("/office/die/new", DIE).status_code == 303
    holder = {"code": "H9", "name": "Block", "height": "40", "profile": "-9 0; 9 0; 9 40; -9 40"}
    assert office.post("/office/holder/new", holder).status_code == 303
    with shop.reading() as session:
        assert get_die(session, "D99").v_opening_mm == 16.0
        assert get_holder(session, "H9").rating_kn_per_m is None
    assert "No job runs on this holder" in office.get("/office/holder/H9").text


@pytest.mark.parametrize(
    ("kind", "changes", "field", "says"),
    [
        ("punch", {"profile": ""}, "profile", "no outline"),
        ("punch", {"profile": "0 0; 5 5"}, "profile", "fewer than three"),
        ("punch", {"profile": "0 0; 10 10; 0 10; 10 0.5"}, "profile", "crosses"),
        ("punch", {"profile": "3 2; 10 12; 10 90; -10 90"}, "profile", "tip has to be at 0 0"),
        ("punch", {"profile": "0 0; 10; 3 3"}, "profile", "Point 2 is &#39;10&#39;"),
        ("punch", {"profile": "0 0; ten 3; 3 3"}, "profile", "Point 2"),
        ("punch", {"profile": "0 0; nan 3; 3 3"}, "profile", "Point 2"),
        ("punch", {"profile": "0 0; 1e999 3; 3 3"}, "profile", "Point 2"),
        ("punch", {"profile": "0 0; 9999999 3; 3 3"}, "profile", "beyond"),
        ("punch", {"segments": "500x0"}, "segments", "not a length and a number"),
        ("punch", {"segments": "-500x2"}, "segments", "not a length and a number"),
        ("punch", {"segments": "long"}, "segments", "long"),
        ("punch", {"angle_deg": "0"}, "angle_deg", "out of range"),
        ("punch", {"angle_deg": "nan"}, "angle_deg", "not a number"),
        ("punch", {"tip_radius": "-1"}, "tip_radius", "out of range"),
        ("punch", {"height": "0"}, "height", "out of range"),
        ("punch", {"height": "1e400"}, "height", "not a unit of length"),
        ("punch", {"height": "12 mm 3 in"}, "height", "12 mm 3 in"),
        ("punch", {"rating": "-5"}, "rating", "out of range"),
        ("punch", {"rating": "1e400"}, "rating", "not a number"),
        ("punch", {"code": "A B"}, "code", "letters A-Z"),
        ("punch", {"code": ""}, "code", "empty"),
        ("punch", {"name": "x" * 81}, "name", "longer than 80"),
        ("die", {"profile": "20 1; 8 1; 0 -8; -8 1; -20 1; -20 -50; 20 -50"}, "profile", "y 0"),
        ("die", {"profile": "20 0; -20 0; -20 -50; 20 -50"}, "profile", "no opening"),
        ("die", {"v_opening": "0"}, "v_opening", "out of range"),
        ("die", {"v_depth": "-1"}, "v_depth", "out of range"),
        ("holder", {"profile": "-9 1; 9 1; 9 40; -9 40"}, "profile", "foot is at y"),
    ],
)
def test_bad_input_is_told_beside_its_field_and_nothing_is_saved(
    office: Office, shop: Any, kind: str, changes: dict[str, str], field: str, says: str
) -> None:
    given = {"punch": PUNCH, "die": DIE, "holder": {**PUNCH, "profile": "-9 0; 9 0; 9 40; -9 40"}}
    typed = {**given[kind], **changes}
    answer = office.post(f"/office/{kind}/new", typed)
    assert answer.status_code == 422
    _, _, after = answer.text.partition(f'id="{field}-problem"')
    assert says in after.split("</p>")[0]
    kept = filled_form(answer.text, f"/office/{kind}/new")
    assert kept[field] == typed[field]
    with shop.reading() as session:
        for find in (get_punch, get_die, get_holder):
            with pytest.raises(Exception, match="There is no"):
                find(session, typed["code"].upper())


def test_a_code_that_is_taken_is_refused_beside_its_field(office: Office) -> None:
    answer = office.post("/office/punch/new", {**PUNCH, "code": "P1-STRAIGHT"})
    assert answer.status_code == 409
    assert "There is a punch &#39;P1-STRAIGHT&#39; already" in answer.text


def test_saving_unchanged_in_inches_changes_nothing(office: Office, shop: Any) -> None:
    """A form in inches rounds its fields; the record must not drift by being looked at."""
    office.post("/reader", {"unit": "in"})
    for kind, code in (("punch", "P2-GOOSE"), ("die", "D16"), ("holder", "H1")):
        typed = filled_form(office.get(f"/office/{kind}/{code}").text, f"/office/{kind}/{code}")
        assert typed["typed_in"] == "in"
        assert office.post(f"/office/{kind}/{code}", typed).status_code == 303
    with shop.reading() as session:
        assert get_punch(session, "P2-GOOSE").height_mm == 140.0
        assert get_punch(session, "P2-GOOSE").version == 1
        assert get_die(session, "D16").version == 1
        assert get_holder(session, "H1").version == 1


def test_a_form_shown_in_mm_is_read_in_mm_although_the_reader_chose_inches_since(
    office: Office, shop: Any
) -> None:
    typed = filled_form(office.get("/office/die/D16").text, "/office/die/D16")
    office.post("/reader", {"unit": "in"})
    office.post("/office/die/D16", {**typed, "height": "62"})
    with shop.reading() as session:
        assert get_die(session, "D16").height_mm == 62.0


def test_a_rating_typed_in_tons_per_foot_is_kept_in_kn_per_m(office: Office, shop: Any) -> None:
    office.post("/reader", {"unit": "in"})
    page = office.get("/office/punch/P1-STRAIGHT").text
    assert "ton/ft" in page
    typed = filled_form(page, "/office/punch/P1-STRAIGHT")
    office.post("/office/punch/P1-STRAIGHT", {**typed, "rating": "20"})
    with shop.reading() as session:
        kept = get_punch(session, "P1-STRAIGHT").rating_kn_per_m
    assert kept == pytest.approx(583.76, abs=0.01)  # 20 x 8.896443 kN / 0.3048 m, NIST SP 811


def test_an_edit_on_an_old_version_is_a_conflict_that_loses_nothing(
    office: Office, shop: Any
) -> None:
    typed = filled_form(office.get("/office/punch/P2-GOOSE").text, "/office/punch/P2-GOOSE")
    office.post("/office/punch/P2-GOOSE", {**typed, "rating": "450"})
    answer = office.post("/office/punch/P2-GOOSE", {**typed, "rating": "470", "name": "Mine"})
    assert answer.status_code == 409
    assert "two people changed this" in answer.text
    assert "<td>470</td><td>450</td>" in answer.text
    kept = filled_form(answer.text, "/office/punch/P2-GOOSE")
    assert kept["rating"] == "470"
    assert kept["name"] == "Mine"
    with shop.reading() as session:
        assert get_punch(session, "P2-GOOSE").rating_kn_per_m == 450.0
    over = office.post("/office/punch/P2-GOOSE", {**kept, "over": "2"})
    assert over.status_code == 303
    with shop.reading() as session:
        assert get_punch(session, "P2-GOOSE").rating_kn_per_m == 470.0


def test_writing_over_a_version_that_changed_again_is_a_conflict_again(office: Office) -> None:
    typed = filled_form(office.get("/office/punch/P2-GOOSE").text, "/office/punch/P2-GOOSE")
    for rating in ("450", "460"):
        now = filled_form(office.get("/office/punch/P2-GOOSE").text, "/office/punch/P2-GOOSE")
        office.post("/office/punch/P2-GOOSE", {**now, "rating": rating})
    assert office.post("/office/punch/P2-GOOSE", {**typed, "over": "2"}).status_code == 409


def test_changing_only_the_pieces_is_a_new_version_too(office: Office, shop: Any) -> None:
    typed = filled_form(office.get("/office/die/D16").text, "/office/die/D16")
    office.post("/office/die/D16", {**typed, "segments": "1300x1"})
    with shop.reading() as session:
        assert get_die(session, "D16").version == 2
        assert [part.pieces_count for part in list_die_segments(session, "D16")] == [1]
    assert office.post("/office/die/D16", typed).status_code == 409


def test_a_change_is_listed_and_can_be_put_back(office: Office, shop: Any) -> None:
    office.post("/reader", {"person": "Ann"})
    typed = filled_form(office.get("/office/die/D16").text, "/office/die/D16")
    office.post("/office/die/D16", {**typed, "rating": "800", "segments": "835x1"})
    page = office.get("/office/die/D16").text
    assert "changed</strong> by Ann" in page
    assert "1000\u202fkN/m" in page
    assert "800\u202fkN/m" in page
    event = page.split('name="event" value="')[1].split('"')[0]
    assert office.post("/office/die/D16/put-back", {"event": event}).status_code == 303
    with shop.reading() as session:
        row = get_die(session, "D16")
        assert row.rating_kn_per_m == 1000.0
        assert len(list_die_segments(session, "D16")) == 11
    assert "put back</strong> by Ann" in office.get("/office/die/D16").text


def test_a_change_made_again_since_is_not_put_back_over(office: Office, shop: Any) -> None:
    for rating in ("800", "900"):
        typed = filled_form(office.get("/office/die/D16").text, "/office/die/D16")
        office.post("/office/die/D16", {**typed, "rating": rating})
    events = office.get("/office/die/D16").text.split('name="event" value="')
    first = events[-1].split('"')[0]
    answer = office.post("/office/die/D16/put-back", {"event": first})
    assert answer.status_code == 409
    assert "changed again since" in answer.text
    with shop.reading() as session:
        assert get_die(session, "D16").rating_kn_per_m == 900.0


def test_an_event_of_another_tool_is_not_put_back_here(office: Office) -> None:
    typed = filled_form(office.get("/office/die/D16").text, "/office/die/D16")
    office.post("/office/die/D16", {**typed, "rating": "800"})
    event = office.get("/office/die/D16").text.split('name="event" value="')[1].split('"')[0]
    assert office.post("/office/die/D20/put-back", {"event": event}).status_code == 404


def test_archiving_takes_a_tool_off_the_list_and_back(office: Office) -> None:
    office.post("/office/die/D50/archived", {"archived": "yes"})
    assert "<strong>D50</strong>" not in office.get("/office/tool").text
    assert "<strong>D50</strong>" in office.get("/office/tool?archived=yes").text
    office.post("/office/die/D50/archived", {"archived": "no"})
    assert "<strong>D50</strong>" in office.get("/office/tool").text


def test_a_tool_that_is_not_there_is_told(office: Office) -> None:
    answer = office.get("/office/punch/NOBODY")
    assert answer.status_code == 404
    assert "There is no punch &#39;NOBODY&#39;" in answer.text
    assert office.post("/office/punch/NOBODY", {"version": "1", **PUNCH}).status_code in (404, 422)


@pytest.mark.parametrize(
    ("kind", "starter", "points"),
    [("punch", "straight", 14), ("punch", "goose-neck", 20), ("die", "block", 17)],
)
def test_a_starter_draws_an_outline_that_may_be_saved(
    office: Office, kind: str, starter: str, points: int
) -> None:
    new = filled_form(office.get(f"/office/{kind}/new").text, f"/office/{kind}/new")
    given = {**new, **(PUNCH if kind == "punch" else DIE), "profile": "", "shoulder_radius": "1.5"}
    drawn = office.post(f"/office/{kind}/shape", {**given, "starter": starter})
    assert drawn.status_code == 200
    outline = drawn.text.split('id="profile"')[1].split(">")[1].split("<")[0]
    assert abs(outline.count(";") + 1 - points) <= 8
    assert office.post(f"/office/{kind}/new", {**given, "profile": outline}).status_code == 303


def test_a_starter_that_cannot_be_drawn_says_which_number(office: Office) -> None:
    given = {**PUNCH, "body_width": "300"}
    drawn = office.post("/office/punch/shape", {**given, "starter": "straight"}).text
    assert 'id="body_width-problem"' in drawn
    assert "past the top of the punch" in drawn


def test_while_typing_the_drawing_follows_and_empty_fields_are_no_problem_yet(
    office: Office,
) -> None:
    live = office.post("/office/punch/shape", {"profile": "0 0; 10 10; -10 10"}).text
    assert "<svg" in live
    assert "This is empty" not in live
    crossed = office.post("/office/punch/shape", {"profile": "0 0; 10 10; 0 10; 10 0.5"}).text
    assert "crosses" in crossed
    assert "stroke-dasharray" in crossed


def test_an_outline_that_disagrees_with_its_numbers_is_told(office: Office) -> None:
    live = office.post("/office/die/shape", {**DIE, "height": "60", "v_opening": "20"}).text
    assert "The outline is" in live
    assert "The drawn V is" in live


def test_the_list_takes_few_queries_whatever_the_shop_owns(shop: Any) -> None:
    from sqlalchemy import event

    counted: list[str] = []

    @event.listens_for(shop.reader, "before_cursor_execute")
    def _count(*told: Any) -> None:
        counted.append(str(told[2]))

    with shop.reading() as session:
        assert len(list_dies_with_segments(session)) == 12
    assert len([sql for sql in counted if sql.startswith("SELECT")]) == 2
