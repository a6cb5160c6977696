"""The drawing board: typed, pasted, undone, refused, released."""

import re
from typing import Any

import pytest

from server.actions.draft import drawn_now
from server.storage.queries.part import get_draft, get_revision
from tests.conftest import Office
from tests.web.form_page import filled_form


def started(office: Office, starter: str = "hat") -> tuple[str, dict[str, str]]:
    path = office.post("/office/draft/new", {"starter": starter}).headers["location"]
    return path, filled_form(office.get(path).text, path)


def changed(office: Office, path: str, typed: dict[str, str], **changes: str) -> Any:
    return office.post(path, {**typed, **changes}, headers={"hx-request": "true"})


def flat_of(html: str) -> float:
    found = re.search(r'class="big"><span class="figures">([\d.]+)', html)
    assert found, html[:2000]
    return float(found[1])


@pytest.mark.parametrize("starter", ["angle", "channel", "z", "hat", "channel with returns"])
def test_every_starter_is_drawn_and_worked_out(office: Office, starter: str) -> None:
    path, _ = started(office, starter)
    page = office.get(path).text
    assert 'class="section"' in page
    assert flat_of(page) > 50
    assert "Why?" in page


def test_a_typed_leg_changes_the_flat_by_as_much(office: Office) -> None:
    path, typed = started(office)
    before = flat_of(office.get(path).text)
    answer = changed(office, path, typed, leg_3="70")
    assert answer.status_code == 200
    assert flat_of(answer.text) == pytest.approx(before + 10, abs=0.011)


def test_an_impossible_leg_is_told_beside_it_and_the_last_good_picture_stays(
    office: Office, shop: Any
) -> None:
    path, typed = started(office)
    answer = changed(office, path, typed, leg_2="1")
    assert answer.status_code == 422
    assert "the bends beside it already take" in answer.text
    assert 'value="1"' in answer.text  # what was typed stays
    assert 'class="section"' in answer.text
    with shop.reading() as session:
        draft = get_draft(session, int(path.rsplit("/", 1)[1]))
    assert drawn_now(draft).profile.legs_mm[1] == 35  # nothing half kept


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"leg_1": "0"}, "out of range"),
        ({"leg_1": "-5"}, "out of range"),
        ({"leg_1": "nan"}, "is not a length"),
        ({"leg_1": "1e9"}, "not a unit"),
        ({"leg_1": "99999999 mm"}, "No sheet is that long"),
        ({"leg_1": "1 in 5 mm"}, "mixes units"),
        ({"leg_1": "1,500"}, "1.500 or as 1500"),
        ({"thickness": "99 ga"}, "no gauge 99"),
        ({"thickness": "0"}, "out of range"),
        ({"bend_1": "0"}, "no bend"),
        ({"bend_1": "200"}, "out of range"),
        ({"bend_1": "179"}, "No angle below"),
        ({"width": ""}, "No length was typed"),
        ({"k_factor": "7"}, "out of range"),
        ({"number": "A B"}, "letters A-Z"),
        ({"material_code": "GOLD"}, "no material"),
    ],
)
def test_bad_input_is_told_and_kept(office: Office, changes: dict[str, str], says: str) -> None:
    path, typed = started(office)
    answer = changed(office, path, typed, **changes)
    assert answer.status_code == 422
    assert says in answer.text
    (typed_text,) = changes.values()
    assert f'value="{typed_text}"' in answer.text or typed_text in ("", "GOLD")


def test_a_gauge_number_is_read_by_the_materials_family(office: Office, shop: Any) -> None:
    path, typed = started(office, "angle")
    changed(office, path, typed, material_code="DX51D+Z", thickness="16 ga")
    with shop.reading() as session:
        draft = get_draft(session, int(path.rsplit("/", 1)[1]))
    assert drawn_now(draft).thickness_mm == pytest.approx(0.0635 * 25.4)  # galvanized sheet gage


def test_an_angle_too_tight_for_the_die_is_blocked_with_the_way_out(office: Office) -> None:
    path, typed = started(office, "angle")
    answer = changed(office, path, typed, bend_1="120", die_code="D16")
    assert "Blocked" in answer.text
    assert "Use a die of at most" in answer.text


def test_undo_and_redo_walk_through_every_change(office: Office) -> None:
    path, typed = started(office)
    flats = [flat_of(office.get(path).text)]
    for leg in ("70", "80"):
        answer = changed(office, path, typed, leg_3=leg)
        typed = filled_form(answer.text, path)
        flats.append(flat_of(answer.text))
    for wanted in (flats[1], flats[0], flats[0]):
        assert flat_of(changed(office, path, typed, do="undo").text) == wanted
    for wanted in (flats[1], flats[2], flats[2]):
        assert flat_of(changed(office, path, typed, do="redo").text) == wanted


def test_legs_are_added_removed_mirrored_and_replaced_by_a_starter(
    office: Office, shop: Any
) -> None:
    path, typed = started(office, "angle")
    draft_id = int(path.rsplit("/", 1)[1])

    def profile() -> Any:
        with shop.reading() as session:
            return drawn_now(get_draft(session, draft_id)).profile

    for do, legs, angles in (
        ("add", (40, 60, 60), (90, 90)),
        ("mirror", (40, 60, 60), (-90, -90)),
        ("remove:1", (60, 60), (-90,)),
        ("starter:z", (30, 40, 30), (90, -90)),
    ):
        answer = changed(office, path, typed, do=do)
        assert answer.status_code == 200, answer.text
        typed = filled_form(answer.text, path)
        assert profile().legs_mm == legs
        assert tuple(bend.bend_angle_deg for bend in profile().bends) == angles


@pytest.mark.parametrize(
    ("row", "legs", "angles"),
    [
        ("30 90 50 -90 30", (30, 50, 30), (90, -90)),
        ("25 x 50 x 25", (25, 50, 25), (90, 90)),
        ("25×50×25", (25, 50, 25), (90, 90)),
        ("1in 45° 2in", (25.4, 50.8), (45,)),
        ("30; 90; 50", (30, 50), (90,)),
    ],
)
def test_a_row_of_dimensions_is_pasted(
    office: Office, shop: Any, row: str, legs: tuple[float, ...], angles: tuple[float, ...]
) -> None:
    path, typed = started(office)
    assert changed(office, path, typed, do="paste", paste=row).status_code == 200
    with shop.reading() as session:
        profile = drawn_now(get_draft(session, int(path.rsplit("/", 1)[1]))).profile
    assert profile.legs_mm == pytest.approx(legs)
    assert tuple(bend.bend_angle_deg for bend in profile.bends) == angles


@pytest.mark.parametrize("row", ["30 90", "abc", "30 0 30", "30 190 30", "-3 90 30"])
def test_a_row_that_makes_no_sense_is_told(office: Office, row: str) -> None:
    path, typed = started(office)
    assert changed(office, path, typed, do="paste", paste=row).status_code == 422


def test_a_second_tab_is_told_and_nothing_is_lost(office: Office) -> None:
    path, typed = started(office)
    assert changed(office, path, typed, leg_1="26").status_code == 200
    answer = changed(office, path, typed, leg_1="27")
    assert answer.status_code in (409, 422)
    assert "while you had it open" in answer.text


def test_a_drawing_is_released_as_revision_a_and_then_b(office: Office, shop: Any) -> None:
    path, typed = started(office)
    answer = changed(office, path, typed, number="test-7", name="Test hat")
    typed = filled_form(answer.text, path)
    released = office.post(f"{path}/release", typed)
    assert released.headers["location"] == "/office/part/TEST-7"
    with shop.reading() as session:
        first = get_revision(session, "TEST-7", "A")
    assert first.blank_length_mm == pytest.approx(flat_of(answer.text), abs=0.005)
    again = office.post("/office/draft/new", {"part_number": "TEST-7"}).headers["location"]
    typed = filled_form(office.get(again).text, again)
    typed = filled_form(changed(office, again, typed, leg_1="30").text, again)
    assert office.post(f"{again}/release", typed).status_code == 303
    with shop.reading() as session:
        old, new = (get_revision(session, "TEST-7", label) for label in "AB")
    assert old.superseded_at is not None
    assert old.blank_length_mm == first.blank_length_mm  # a released flat never changes silently
    assert new.blank_length_mm == pytest.approx(first.blank_length_mm + 5, abs=1e-6)
    page = office.get("/office/part/TEST-7?revision=A").text
    assert "was superseded" in page


def test_a_drawing_without_a_number_or_with_a_stop_is_not_released(office: Office) -> None:
    path, typed = started(office, "angle")
    answer = office.post(f"{path}/release", typed, headers={"hx-request": "true"})
    assert answer.status_code == 422
    assert "no number yet" in answer.text
    typed = filled_form(
        changed(office, path, typed, number="T-1", bend_1="120", die_code="D16").text, path
    )
    answer = office.post(f"{path}/release", typed, headers={"hx-request": "true"})
    assert answer.status_code == 422
    assert "closes to" in answer.text


def test_a_drawing_is_thrown_away(office: Office) -> None:
    path, _ = started(office)
    assert office.post(f"{path}/away").status_code == 303
    assert office.get(path).status_code == 404


def test_the_same_shape_in_inches_has_the_same_flat(office: Office, shop: Any) -> None:
    path, _ = started(office)
    office.post("/reader", {"unit": "in", "back": "/"})
    typed = filled_form(office.get(path).text, path)
    assert typed["leg_3"].startswith("2.3622")
    answer = changed(office, path, typed, leg_3="2-1/2")
    assert answer.status_code == 200
    with shop.reading() as session:
        draft = get_draft(session, int(path.rsplit("/", 1)[1]))
    assert drawn_now(draft).profile.legs_mm[2] == 63.5
    assert drawn_now(draft).profile.legs_mm[0] == 25  # untouched, so not rounded to inches


def test_a_bend_becomes_a_hem_or_a_curve_and_its_part_is_kept_so(office: Office, shop: Any) -> None:
    path, typed = started(office, "channel")
    hem = changed(office, path, {**typed, "thickness": "1", "leg_1": "16"}, way_1="hem")
    typed = filled_form(hem.text, path)
    assert typed["gap_1"] == "0"
    curve = changed(office, path, typed, way_2="bump")
    typed = filled_form(curve.text, path)
    curve = changed(office, path, typed, curve_2="12", hit_2="15", number="KIND-1")
    assert curve.status_code == 200
    assert "Hits of 15.0°" in curve.text
    typed = filled_form(curve.text, path)
    freed = office.post(f"{path}/release", typed)
    assert freed.headers["location"] == "/office/part/KIND-1"
    with shop.reading() as session:
        bends = get_revision(session, "KIND-1", "A").drawn["bends"]
    assert [bend["way"] for bend in bends] == ["hem", "bump"]
    assert "Section of KIND-1" in office.get("/office/part/KIND-1").text
