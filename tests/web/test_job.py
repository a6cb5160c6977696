"""Jobs on the office PC: board, list, moves and their undoing, several at once, files."""

from typing import Any

import pytest

from server.shop.job_state import OPEN_STATES
from server.storage.queries.job import get_job, list_jobs
from server.storage.queries.order import list_operations
from tests.conftest import Office
from tests.web.form_page import filled_form


def state(shop: Any, number: str) -> str:
    with shop.reading() as session:
        return str(get_job(session, number).state)


def test_the_board_has_every_open_job_in_its_column(office: Office) -> None:
    page = office.get("/office/job").text
    lane = page.split('id="lane-ready"')[1].split("</section>")[0]
    assert "J-1041" in lane
    assert "J-1043" not in lane
    assert "J-1031" not in page  # gone
    assert "Brightwater Pumps" in lane


@pytest.mark.parametrize(
    ("asked", "there", "not_there"),
    [
        ("state=lost", "J-1029", "J-1041"),
        ("state=all", "J-1031", "J-9999"),
        ("customer=NORTHGATE", "J-1044", "J-1041"),
        ("text=br-10", "J-1041", "J-1042"),
        ("text=j-104", "J-1041", "J-1038"),
        ("text=orchard", "J-1042", "J-1041"),
        ("due=late", "No such jobs", "J-1038"),  # its day is past, but it is made
        ("state=nonsense", "J-1041", "J-1031"),
        ("text=%25", "No such jobs", "J-1041"),
    ],
)
def test_the_list_shows_what_is_wished(
    office: Office, asked: str, there: str, not_there: str
) -> None:
    page = office.get(f"/office/job?view=list&{asked}").text
    rows = page.split('id="job-rows"')[1]
    assert there in rows
    assert not_there not in rows
    assert there in office.get(f"/office/job/rows?{asked}").text


def test_pages_of_the_list_follow_each_other_without_gap_or_double(
    office: Office, shop: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    from server.web.routes import job as routes

    monkeypatch.setattr(routes, "A_PAGE", 3)
    with shop.writing() as session:
        get_job(session, "J-1046").due_at = None
        get_job(session, "J-1048").due_at = None
    seen: list[str] = []
    address = "/office/job?view=list"
    while address:
        page = office.get(address).text
        seen += [piece.split('"')[0] for piece in page.split('name="job" value="')[1:]]
        more = page.split("Next page")[0].rsplit('href="', 1)
        address = more[1].split('"')[0].replace("&amp;", "&") if "Next page" in page else ""
    with shop.reading() as session:
        there = list_jobs(session, states=OPEN_STATES)
    assert sorted(seen) == sorted(job.number for job in there)
    assert len(seen) > 2 * 3
    assert seen[-2:] == ["J-1046", "J-1048"]


def test_a_job_moves_only_where_it_may_and_the_move_is_undone(office: Office, shop: Any) -> None:
    page = office.get("/office/job/J-1048").text
    assert "There is no price yet." in page
    refused = office.post("/office/job/J-1048/state", {"state": "priced"})
    assert refused.status_code == 422
    assert "Make a quote first" in refused.text
    assert office.post("/office/job/J-1048/state", {"state": "gone"}).status_code == 422
    office.post("/office/job/J-1048/state", {"state": "lost", "reason": "too dear"})
    assert state(shop, "J-1048") == "lost"
    assert "too dear" in office.get("/office/job/J-1048").text
    office.post("/office/job/J-1048/undo", {})
    assert state(shop, "J-1048") == "asked"
    assert office.post("/office/job/J-1048/undo", {}).status_code == 422


def test_several_jobs_move_together_and_come_back_together(office: Office, shop: Any) -> None:
    several = [("job", "J-1041"), ("job", "J-1042"), ("job", "J-1048")]
    said = office.send(
        "POST",
        "/office/job/several?state=ready",
        headers={"origin": office.base},
        data={
            "job": [one for _, one in several],
            "do": "move",
            "to": "held",
            "reason": "brake is down",
        },
    )
    assert said.status_code == 200
    assert "2 jobs were moved to held" in said.text
    assert "J-1048" in said.text.split('role="status"')[1].split("</div>")[0]
    assert state(shop, "J-1041") == "held"
    office.send(
        "POST",
        "/office/job/several",
        headers={"origin": office.base},
        data={"job": ["J-1041", "J-1042"], "do": "undo"},
    )
    assert state(shop, "J-1041") == state(shop, "J-1042") == "ready"


def test_archived_jobs_leave_the_board_and_are_found_again(office: Office) -> None:
    office.post("/office/job/several", {"job": "J-1041", "do": "archive"})
    assert "J-1041" not in office.get("/office/job").text
    assert "J-1041" in office.get("/office/job?view=list&state=archived").text
    assert "archived" in office.get("/office/job/J-1041").text


def test_a_jobs_values_and_routing_are_edited(office: Office, shop: Any) -> None:
    page = "/office/job/J-1044/edit"
    typed = filled_form(office.get(page).text, page)
    routing = "cut\nbend\nweld corners\nBought out zinc plating"
    typed |= {"quantity": "130", "unit_price": "3,20", "routing": routing}
    assert office.post(page, typed).status_code == 303
    with shop.reading() as session:
        job = get_job(session, "J-1044")
        steps = list_operations(session, "J-1044")
    assert (job.quantity_count, job.unit_price_minor) == (130, 320)
    assert [(one.kind, one.words) for one in steps][2:] == [
        ("weld", "corners"), ("bought_out", "zinc plating"),
    ]  # fmt: skip
    again = filled_form(office.get(page).text, page)
    assert again["routing"].endswith("\nweld corners\nbought out zinc plating")
    office.post(page, again)
    with shop.reading() as session:
        assert get_job(session, "J-1044").version == job.version
    for line in ("polish it", ", 5 min"):
        bad = office.post(page, {**again, "routing": line})
        assert "does not begin with a kind of work" in bad.text
    step = steps[0].id
    office.post(f"/office/job/J-1044/step/{step}", {"done": "yes"})
    with shop.reading() as session:
        assert list_operations(session, "J-1044")[0].state == "done"


def test_a_time_is_typed_behind_a_step_and_follows_the_quantity(office: Office, shop: Any) -> None:
    page = "/office/job/J-1044/edit"

    def save(**typed: str) -> list[float | None]:
        office.post(page, filled_form(office.get(page).text, page) | typed)
        with shop.reading() as session:
            return [one.estimated_s for one in list_operations(session, "J-1044")]

    assert save(quantity="120", routing="cut, 40 s\nweld corners, 1,5 h") == [40, 5400]
    assert filled_form(office.get(page).text, page)["routing"] == "cut, 40 s\nweld corners, 90 min"
    assert "90\u202fmin for all pieces" in office.get("/office/job/J-1044").text
    assert save(quantity="240") == [80, 10_800]
    assert save(quantity="120", routing="cut, 50 s\nweld corners, 180 min") == [50, 5400]
    assert save(routing="cut, 0 s\nweld corners") == [None, 5400]


def test_a_made_job_is_repeated_with_one_click(office: Office, shop: Any) -> None:
    page = office.get("/office/job/J-1038").text
    assert "Nothing has changed since it was made." in page
    answer = office.post("/office/job/J-1038/repeat", {"quantity": "48", "due": "+21 days"})
    number = answer.headers["location"].removeprefix("/office/job/").removesuffix("?saved=yes")
    with shop.reading() as session:
        again = get_job(session, number)
    assert (again.repeat_of, again.state) == ("J-1038", "asked")
    assert number in office.get("/office/job/J-1038").text


def attach(office: Office, name: str, data: bytes, noun: str = "job", key: str = "J-1041") -> Any:
    return office.send(
        "POST",
        "/office/attachment",
        headers={"origin": office.base},
        data={"noun": noun, "key": key},
        files={"file": (name, data, "application/octet-stream")},
    )


def test_a_file_goes_up_and_comes_down_byte_for_byte(office: Office) -> None:
    data = bytes(range(256)) * 40
    answer = attach(office, "C:\\papers\\drawing 7.pdf", data)
    assert answer.status_code == 303
    page = office.get("/office/job/J-1041").text
    href = page.split('class="plain files"')[1].split('href="')[1].split('"')[0]
    assert href.endswith("/drawing%207.pdf")
    sent = office.get(href)
    assert sent.content == data
    assert sent.headers["content-type"] == "application/pdf"
    number = href.split("/")[3]
    office.post(f"/office/attachment/{number}/removed", {"removed": "yes"})
    assert "No files yet" in office.get("/office/job/J-1041").text
    assert "was taken off" in office.get(f"/office/job/J-1041?removed={number}").text
    office.post(f"/office/attachment/{number}/removed", {"removed": "no"})
    assert "drawing 7.pdf" in office.get("/office/job/J-1041").text


def test_what_a_browser_could_run_is_only_downloaded(office: Office) -> None:
    attach(office, "page.html", b"<script>alert(1)</script>")
    page = office.get("/office/job/J-1041").text
    sent = office.get(page.split('class="plain files"')[1].split('href="')[1].split('"')[0])
    assert sent.headers["content-type"] == "application/octet-stream"
    assert sent.headers["content-disposition"].startswith("attachment")
    assert "sandbox" in sent.headers["content-security-policy"]


def test_a_file_that_cannot_be_kept_is_told(office: Office) -> None:
    assert attach(office, "empty.pdf", b"").status_code == 422
    assert attach(office, "x.pdf", b"x", key="J-9999").status_code == 404
    assert attach(office, "x.pdf", b"x", noun="brake").status_code in (404, 422)
    assert attach(office, "big.bin", b"0" * 15_000_001).status_code == 413
