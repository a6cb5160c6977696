"""The drawing board of flat parts: typed, refused beside the field, undone, turned into a pattern."""

import json
import re
from html import unescape
from typing import Any

import pytest

from server.actions.draft import drawn_flat_now
from server.planning.drawn_flat import FLAT_STARTERS, PanelSizes, Pattern
from server.storage.queries.part import get_draft, get_revision
from tests.conftest import Office
from tests.web.form_page import filled_form


def started(office: Office, starter: str = "box") -> tuple[str, dict[str, str]]:
    path = office.post("/office/draft/new", {"starter": starter}).headers["location"]
    return path, filled_form(office.get(path).text, path)


def changed(office: Office, path: str, typed: dict[str, str], **changes: str) -> Any:
    return office.post(path, {**typed, **changes}, headers={"hx-request": "true"})


def blank_of(html: str) -> tuple[float, float]:
    found = re.search(
        r'class="big"><span class="figures">([\d.]+)</span> × <span class="figures">([\d.]+)', html
    )
    assert found, html[:2000]
    return float(found[1]), float(found[2])


def on_board(shop: Any, path: str) -> Any:
    with shop.reading() as session:
        return drawn_flat_now(get_draft(session, int(path.rsplit("/", 1)[1]))).flat


@pytest.mark.parametrize("starter", list(FLAT_STARTERS))
def test_every_starter_shows_its_pattern_and_folds(office: Office, starter: str) -> None:
    path, _ = started(office, starter)
    page = office.get(path).text
    assert 'class="pattern"' in page
    assert blank_of(page)[0] > 50
    assert "Why?" in page
    fold = re.search(r'data-fold="([^"]+)"', page)
    assert fold
    data = json.loads(unescape(fold[1]))
    assert len(data["faces"]) == len(data["bends"]) + 1  # a tree


def test_a_wider_box_takes_as_much_more_sheet(office: Office) -> None:
    path, typed = started(office)
    before = blank_of(office.get(path).text)
    answer = changed(office, path, typed, width="250")
    assert answer.status_code == 200
    assert blank_of(answer.text)[0] == pytest.approx(before[0] + 50, abs=0.011)
    assert "250.00 × 120.00 × 40.00" in answer.text


def test_walls_are_alike_until_they_are_typed_one_by_one(office: Office, shop: Any) -> None:
    path, typed = started(office)
    assert "height_2" not in typed
    alike = changed(office, path, typed, height_1="50")
    assert alike.status_code == 200
    each = changed(office, path, filled_form(alike.text, path), walls="each")
    typed = filled_form(each.text, path)
    assert [typed[f"height_{n}"] for n in range(1, 5)] == ["50"] * 4
    assert changed(office, path, typed, height_2="0").status_code == 200
    form = on_board(shop, path).form
    assert isinstance(form, PanelSizes)
    assert [wall.height_mm for wall in form.walls] == [50, 0, 50, 50]


@pytest.mark.parametrize(
    ("starter", "field", "text", "says"),
    [
        ("box", "width", "9", "The bends leave"),
        ("box", "width", "-5", "out of range"),
        ("box", "depth", "abc", "is not a length"),
        ("box", "height_1", "3", "The bends leave"),
        ("box", "thickness", "99 ga", "no gauge 99"),
        ("box", "relief", "-1", "out of range"),
        ("box", "k_factor", "7", "out of range"),
        ("bracket with tabs", "tab_1_to", "5", "does not fit"),
        ("stepped flange", "step_1_height", "2", "The bends leave"),
        ("free pattern", "outline", "0 0; 160 0", "fewer than three"),
        ("free pattern", "outline", "0 0; 100 100; 100 0; 0 100", "crosses"),
        ("free pattern", "outline", "0 0; hello", "Point 2"),
        ("free pattern", "line_1", "0 30; 80 30", "ends inside the sheet at 80.00"),
        ("free pattern", "line_1", "0 300; 160 300", "does not lie on the sheet"),
        ("free pattern", "line_1", "nonsense", "Point 1"),
        ("free pattern", "bend_1", "0", "no bend"),
        ("free pattern", "bend_1", "500", "out of range"),
        ("free pattern", "number", "A B", "letters A-Z"),
    ],
)
def test_what_cannot_be_is_told_beside_its_field_and_stays_typed(
    office: Office, shop: Any, starter: str, field: str, text: str, says: str
) -> None:
    path, typed = started(office, starter)
    before = on_board(shop, path)
    answer = changed(office, path, typed, **{field: text})
    assert answer.status_code == 422, answer.text[:500]
    assert says in unescape(answer.text)
    assert text in unescape(answer.text)
    assert f'id="{field}-problem"' in answer.text
    assert on_board(shop, path) == before  # nothing half kept


def test_a_hole_is_cut_moved_and_taken_away(office: Office, shop: Any) -> None:
    path, typed = started(office)
    holed = changed(office, path, typed, do="cut:round")
    assert holed.status_code == 200
    typed = filled_form(holed.text, path)
    assert (typed["cut_1_u"], typed["cut_1_v"]) == ("100", "60")
    moved = changed(office, path, typed, cut_1_u="30")
    assert moved.status_code == 200
    typed = filled_form(moved.text, path)
    off = changed(office, path, typed, cut_1_u="0")
    assert off.status_code == 422
    assert 'id="cut_1_u-problem"' in off.text
    assert changed(office, path, typed, do="uncut:1").status_code == 200
    assert on_board(shop, path).cutouts == ()


def test_a_box_turned_into_a_pattern_has_the_same_blank_and_undo_brings_it_back(
    office: Office, shop: Any
) -> None:
    path, typed = started(office, "box with returns")
    before = blank_of(office.get(path).text)
    answer = changed(office, path, typed, do="pattern")
    assert answer.status_code == 200
    assert isinstance(on_board(shop, path).form, Pattern)
    assert blank_of(answer.text) == pytest.approx(before, abs=0.011)
    assert "200.00 × 120.00 × 40.00" in answer.text
    assert answer.text.count('class="pull-line"') == 6
    back = changed(office, path, filled_form(answer.text, path), do="undo")
    assert isinstance(on_board(shop, path).form, PanelSizes)
    assert blank_of(back.text) == before


def test_a_line_more_and_less(office: Office, shop: Any) -> None:
    path, typed = started(office, "free pattern")
    more = changed(office, path, typed, do="row")
    assert more.status_code == 200
    assert len(on_board(shop, path).form.lines) == 2
    typed = filled_form(more.text, path)
    assert changed(office, path, typed, do="unrow:1").status_code == 200
    assert len(on_board(shop, path).form.lines) == 1


def test_the_board_speaks_inches(office: Office) -> None:
    path, _ = started(office)
    office.post("/reader", {"unit": "in", "back": path})
    typed = filled_form(office.get(path).text, path)
    assert typed["width"] == "7.87402"
    answer = changed(office, path, typed, width="10", depth='6-1/2"')
    assert answer.status_code == 200
    assert "10.000 × 6.500 × 1.575" in answer.text


def test_a_released_box_is_a_revision_with_its_faces(office: Office, shop: Any) -> None:
    path, typed = started(office)
    typed = filled_form(changed(office, path, typed, number="BX-77", name="Box").text, path)
    answer = office.post(f"{path}/release", typed)
    assert answer.headers["location"] == "/office/part/BX-77"
    with shop.reading() as session:
        revision = get_revision(session, "BX-77", "A")
        assert revision.kind == "flat"
        assert len(revision.faces["faces"]) == 5
        assert revision.pierces_count == 1
    page = office.get("/office/part/BX-77").text
    assert 'data-fold="' in page
    assert office.get("/office/part").text.count('class="folded"') >= 7  # starters and the row
    dxf = office.get("/office/part/BX-77/A/blank.dxf")
    assert dxf.headers["content-disposition"] == 'attachment; filename="BX-77-A.dxf"'
    assert "BEND_UP" in dxf.text
    again = office.post("/office/draft/new", {"part_number": "BX-77"}).headers["location"]
    assert "/office/flat-draft/" in again


def test_a_flange_too_short_for_the_die_cannot_be_released(office: Office) -> None:
    path, typed = started(office)
    short = changed(office, path, typed, height_1="8", die_code="D16", number="BX-78")
    assert "Blocked" in short.text
    answer = office.post(f"{path}/release", filled_form(short.text, path))
    assert answer.status_code == 422


def test_a_line_becomes_a_hem_a_curve_or_an_offset_with_its_own_fields(
    office: Office, shop: Any
) -> None:
    path, typed = started(office, "free pattern")
    hem = changed(office, path, {**typed, "thickness": "1"}, way_1="hem")
    assert hem.status_code == 200
    assert "hit acute, then flattened" in hem.text
    typed = filled_form(hem.text, path)
    assert typed["gap_1"] == "0"
    opened = changed(office, path, typed, gap_1="2")
    assert on_board(shop, path).form.lines[0].bend.gap_mm == pytest.approx(2.0)
    curve = changed(office, path, filled_form(opened.text, path), way_1="bump")
    typed = filled_form(curve.text, path)
    assert {"curve_1", "hit_1"} <= set(typed)
    curve = changed(office, path, typed, curve_1="12", hit_1="10")
    assert "9 hits" in curve.text
    assert "off the arc" in curve.text
    fold = re.search(r'data-fold="([^"]+)"', curve.text)
    assert fold
    assert len(json.loads(unescape(fold[1]))["bends"]) == 9
    step = changed(office, path, filled_form(curve.text, path), way_1="offset")
    assert "The shop has no offset tools" in step.text
    bend = on_board(shop, path).form.lines[0].bend
    assert (bend.way, bend.outside_offset_mm) == ("offset", 8.0)


def test_the_demo_cover_with_a_hem_is_planned_and_opened_at_the_brake(
    office: Office, shop: Any
) -> None:
    page = office.get("/office/part/GC-3350").text
    sequence = re.search(r'href="/office/sequence/(\d+)"', page)
    assert sequence
    steps = office.get(f"/office/sequence/{sequence[1]}").text
    assert "flatten" in steps
    assert "the fold" in steps
    opened = office.post("/brake/open", {"code": "GC-3350"})
    assert "/run/" in opened.headers["location"]
    run = office.get(opened.headers["location"]).text
    assert "Fold to gauge" in run
    dxf = office.get("/office/part/GC-3350/A/blank.dxf")
    assert dxf.content.count(b"BEND_UP") > 2
