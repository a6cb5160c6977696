"""The brake side: open by number, step, count, touch off; replays and refusals."""

import re
from typing import Any

import pytest
from sqlmodel import select

from server.actions.running import start_run
from server.storage.queries.bend_sequence import list_keyed_steps
from server.storage.queries.job import get_job, get_run
from server.storage.tables.event import Event
from tests.conftest import Office

IN_PAGE = {"hx-request": "true"}


def begun(office: Office, shop: Any, code: str) -> int:
    """A job whose set-up is done: its first article may be bent."""
    run_id = opened(office, code)
    with shop.writing() as session:
        start_run(session, run_id, by="Ann")
    return run_id


def opened(office: Office, code: str) -> int:
    answer = office.post("/brake/open", {"code": code})
    assert answer.status_code == 303, answer.text
    found = re.fullmatch(r"/brake/run/(\d+)", answer.headers["location"])
    assert found, answer.headers["location"]
    return int(found[1])


def test_the_queue_shows_jobs_that_are_ready(office: Office) -> None:
    page = office.get("/brake").text
    assert "J-1041 · BR-1040" in page
    assert "J-1048" not in page  # only asked for


def test_a_scanned_job_opens_at_step_one_with_x_and_y(office: Office, shop: Any) -> None:
    run_id = opened(office, "J-1047")
    page = office.get(f"/brake/run/{run_id}").text
    with shop.reading() as session:
        run = get_run(session, run_id)
        entries = list_keyed_steps(session, run.bend_sequence_id, run.setup_id)
        assert get_job(session, "J-1047").state == "running"
    assert run.position == 1
    assert len(entries) == 4
    for entry in entries:
        assert entry.keyed is not None
        assert f'data-axis="x">{entry.keyed.x_mm:.1f}<' in page
        assert f'data-axis="y">{entry.keyed.y_mm:.2f}<' in page
    assert page.count('class="step"') == 8  # loaded and bent
    assert "▲ Touch off" in page
    assert "Keep hands clear" in page


def test_a_part_number_opens_without_a_job(office: Office, shop: Any) -> None:
    run_id = opened(office, "zc-1102")
    with shop.reading() as session:
        run = get_run(session, run_id)
    assert run.job_number is None
    assert run.part_number == "ZC-1102"


def test_opening_again_goes_on_where_it_was(office: Office, shop: Any) -> None:
    run_id = begun(office, shop, "J-1047")
    office.post(f"/brake/run/{run_id}/step", {"position": "3"})
    office.post(f"/brake/run/{run_id}/count", {"good": "1"})
    office.post(f"/brake/run/{run_id}/step", {"position": "2"})
    assert opened(office, "J-1047") == run_id
    with shop.reading() as session:
        run = get_run(session, run_id)
    assert (run.position, run.good_count) == (2, 1)
    assert 'data-position="2"' in office.get(f"/brake/run/{run_id}").text
    assert "J-1047" in office.get("/brake").text


def test_a_request_that_is_replayed_counts_once(office: Office, shop: Any) -> None:
    run_id = begun(office, shop, "J-1047")
    for _ in range(3):
        answer = office.post(f"/brake/run/{run_id}/count", {"good": "1", "request_key": "abc123"})
        assert answer.status_code == 204
    office.post(f"/brake/run/{run_id}/count", {"good": "1", "request_key": "abc124"})
    with shop.reading() as session:
        assert get_run(session, run_id).good_count == 2
        assert get_job(session, "J-1047").good_count == 2


def test_a_count_is_taken_back_but_not_below_nothing(office: Office, shop: Any) -> None:
    run_id = begun(office, shop, "J-1047")
    office.post(f"/brake/run/{run_id}/count", {"good": "1"})
    assert office.post(f"/brake/run/{run_id}/count", {"good": "-1"}).status_code == 204
    answer = office.post(f"/brake/run/{run_id}/count", {"good": "-1"}, headers=IN_PAGE)
    assert answer.status_code == 422
    assert "no such count" in answer.text
    with shop.reading() as session:
        assert get_run(session, run_id).good_count == 0


def test_scrap_is_kept_with_its_reason(office: Office, shop: Any) -> None:
    run_id = begun(office, shop, "J-1047")
    office.post(f"/brake/run/{run_id}/count", {"scrap": "1", "reason": "wrong side"})
    with shop.reading() as session:
        counted = select(Event).where(Event.did == "counted", Event.key == str(run_id))
        event = session.exec(counted).one()
    assert event.after == {"good": 0, "scrap": 1, "rework": 0, "reason": "wrong side"}


def test_a_touch_off_on_the_sheet_moves_every_y_by_as_much(office: Office, shop: Any) -> None:
    run_id = opened(office, "J-1047")
    with shop.reading() as session:
        run = get_run(session, run_id)
    answer = office.post(
        f"/brake/run/{run_id}/touch-off", {"on": "sheet", "reading": "82.35", "tip": "2.03"}
    )
    assert answer.status_code == 303
    page = office.get(f"/brake/run/{run_id}").text
    assert "▲ Touch off" not in page
    with shop.reading() as session:
        entries = list_keyed_steps(session, run.bend_sequence_id, run.setup_id)
    for entry in entries:
        assert entry.keyed is not None
        depth = entry.keyed.depth_mm  # the plan's, corrected by what trials taught
        assert 0 <= 82.35 + depth - entry.keyed.y_mm < 0.01  # rounded shallower, never deeper


def test_a_touch_off_on_the_die_keeps_the_position(office: Office, shop: Any) -> None:
    run_id = opened(office, "J-1047")
    office.post(f"/brake/run/{run_id}/touch-off", {"on": "die", "reading": "80", "tip": "5"})
    with shop.reading() as session:
        run = get_run(session, run_id)
        for entry in list_keyed_steps(session, run.bend_sequence_id, run.setup_id):
            assert entry.keyed is not None
            exact = 80 + 5 - 2.0 + entry.keyed.depth_mm
            assert 0 <= exact - entry.keyed.y_mm < 0.01


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"on": "sheet", "reading": "", "tip": "2"}, "No length"),
        ({"on": "sheet", "reading": "abc", "tip": "2"}, "not a length"),
        ({"on": "sheet", "reading": "900", "tip": "2"}, "cannot show that reading"),
        ({"on": "moon", "reading": "80", "tip": "2"}, "not one of the choices"),
    ],
)
def test_a_touch_off_that_cannot_be_is_told(
    office: Office, typed: dict[str, str], says: str
) -> None:
    run_id = opened(office, "J-1047")
    answer = office.post(f"/brake/run/{run_id}/touch-off", typed, headers=IN_PAGE)
    assert answer.status_code == 422
    assert says in answer.text
    assert answer.headers["hx-retarget"] == "#problem"


@pytest.mark.parametrize(
    ("code", "says"),
    [("J-1048", "not ready to run"), ("J-1038", "not ready to run")],
)
def test_a_job_that_is_not_released_does_not_start(office: Office, code: str, says: str) -> None:
    answer = office.post("/brake/open", {"code": code})
    assert answer.status_code == 409
    assert says in answer.text


def test_an_unknown_or_half_number_gives_a_list(office: Office) -> None:
    answer = office.post("/brake/open", {"code": "HR-30"})
    assert answer.headers["location"] == "/brake?q=HR-30"
    assert "HR-3005" in office.get("/brake?q=HR-30").text
    assert "Nothing like" in office.get("/brake?q=ZZZZZZ").text


def test_a_run_that_is_not_there_is_told(office: Office) -> None:
    assert office.get("/brake/run/999").status_code == 404
    assert office.post("/brake/run/999/step", {"position": "1"}).status_code == 404


@pytest.mark.parametrize("position", ["0", "x", "", "9999999"])
def test_a_step_that_is_no_number_is_refused(office: Office, position: str) -> None:
    run_id = opened(office, "J-1047")
    answer = office.post(f"/brake/run/{run_id}/step", {"position": position}, headers=IN_PAGE)
    assert answer.status_code == 422


def test_a_step_beyond_the_last_is_the_last(office: Office, shop: Any) -> None:
    run_id = opened(office, "J-1047")
    office.post(f"/brake/run/{run_id}/step", {"position": "44"})
    with shop.reading() as session:
        assert get_run(session, run_id).position == 4


def test_before_the_set_up_nothing_is_counted(office: Office) -> None:
    run_id = opened(office, "J-1047")
    answer = office.post(f"/brake/run/{run_id}/count", {"good": "1"})
    assert answer.status_code == 422
    assert "set-up is not finished" in answer.text


@pytest.mark.parametrize(
    "typed", [{"good": "x"}, {"good": "100"}, {"scrap": "1.5"}, {"good": "1", "waited_s": "-1"}]
)
def test_what_is_no_count_is_refused_and_counts_nothing(
    office: Office, shop: Any, typed: dict[str, str]
) -> None:
    run_id = begun(office, shop, "J-1047")
    assert office.post(f"/brake/run/{run_id}/count", typed).status_code == 422
    with shop.reading() as session:
        assert get_run(session, run_id).good_count == 0


def test_a_run_is_held_with_a_reason_and_goes_on(office: Office, shop: Any) -> None:
    run_id = begun(office, shop, "J-1047")
    office.post(f"/brake/run/{run_id}/hold", {"reason": "waiting for sheet"})
    with shop.reading() as session:
        assert get_run(session, run_id).state == "held"
        assert get_job(session, "J-1047").held_reason == "waiting for sheet"
    assert "waiting for sheet" in office.get(f"/brake/run/{run_id}").text
    office.post(f"/brake/run/{run_id}/resume")
    with shop.reading() as session:
        assert get_run(session, run_id).state == "first_article"
        assert get_job(session, "J-1047").state == "running"


def test_a_finished_run_gives_its_job_back_and_may_go_on(office: Office, shop: Any) -> None:
    run_id = begun(office, shop, "J-1047")
    office.post(f"/brake/run/{run_id}/count", {"good": "2"})
    answer = office.post(f"/brake/run/{run_id}/finish", headers=IN_PAGE)
    assert answer.headers["hx-redirect"] == f"/brake/run/{run_id}/end"
    with shop.reading() as session:
        assert get_job(session, "J-1047").state == "ready"  # 58 are missing
    page = office.get(f"/brake/run/{run_id}/end").text
    assert "good of 60" in page
    assert "J-1041" in page  # what is next
    late = office.post(f"/brake/run/{run_id}/count", {"good": "1", "request_key": "late"})
    assert late.status_code == 204  # it was counted before the finish and waited on a device
    office.post(f"/brake/run/{run_id}/reopen")
    with shop.reading() as session:
        assert (get_run(session, run_id).state, get_run(session, run_id).good_count) == (
            "running",
            3,
        )


JPEG = bytes.fromhex("ffd8ffe000104a46494600010100000100010000") + bytes(200)


def noted(office: Office, run_id: int, photo: bytes, **typed: str) -> Any:
    return office.send(
        "POST",
        f"/brake/run/{run_id}/note",
        headers={"Origin": office.base, **IN_PAGE},
        data=typed,
        files={"photo": ("x.jpg", photo, "image/jpeg")},
    )


def test_a_note_with_a_photo_is_kept_once_and_shown(office: Office, shop: Any) -> None:
    run_id = opened(office, "J-1047")
    for _ in range(2):
        answer = noted(office, run_id, JPEG, text="burr <left>", position="2", request_key="n1")
        assert answer.status_code == 204
    page = office.get(f"/brake/run/{run_id}/notes").text
    assert page.count("<article") == 1
    assert "burr &lt;left&gt;" in page
    address = re.search(r'src="(/brake/photo/[^"]+)"', page)
    assert address
    shown = office.get(address[1])
    assert shown.content == JPEG
    assert shown.headers["content-type"] == "image/jpeg"
    assert shown.headers["x-content-type-options"] == "nosniff"


@pytest.mark.parametrize(
    ("photo", "says"),
    [(b"<svg onload=alert(1)>" + bytes(100), "not a photo"), (b"", "neither a word nor a photo")],
)
def test_what_is_not_a_photo_is_not_kept(
    office: Office, shop: Any, photo: bytes, says: str
) -> None:
    run_id = opened(office, "J-1047")
    answer = noted(office, run_id, photo)
    assert answer.status_code == 422
    assert says in answer.text


@pytest.mark.parametrize("name", ["..%2Fshop.db", "x.jpg", "0" * 32 + ".svg"])
def test_only_photos_are_served_from_their_folder(office: Office, name: str) -> None:
    assert office.get(f"/brake/photo/{name}").status_code == 404
