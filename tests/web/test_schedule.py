"""The schedule's pages: the plan, a proposal and its answer, the shop's hours and their mistakes."""

import re
from typing import Any

import pytest

from server.storage.queries.schedule import find_kept_schedule, list_pins, list_placements
from tests.conftest import Office


@pytest.fixture(autouse=True)
def pool_ended(app: Any) -> Any:
    """The planning process ends with its test."""
    yield
    app.state.schedule_pool.close()


def kept_plan(session: Any) -> Any:
    """The plan on the wall, which the demo shop has."""
    return find_kept_schedule(session)


def made(office: Office, path: str) -> str:
    """The page of a plan once it is made."""
    for _ in range(40):
        text = office.get(path).text
        if 'id="progress"' not in text:
            return text
        office.post(f"{path}/stop")
    raise AssertionError("the plan was never made")


def test_the_plan_on_the_wall_is_drawn_with_its_late_jobs_and_its_order(office: Office) -> None:
    page = office.get("/office/schedule").text
    assert page.count('class="bar') >= 5
    assert "In order" in page
    assert "J-1041" in page
    for zoom in ("near", "weeks", "nonsense"):
        assert office.get(f"/office/schedule?zoom={zoom}").status_code == 200


def test_a_pin_is_proposed_compared_accepted_and_kept(office: Office, shop: Any) -> None:
    with shop.reading() as session:
        kept = kept_plan(session)
        one = next(p for p in list_placements(session, kept.id) if p.job_number == "J-1042")
    wish = {"kind": "pin", "job_number": "J-1042", "position": str(one.position)}
    start = {"start_at": "2035-01-08T09:00", "resource_code": one.resource_code}
    path = office.post("/office/schedule/propose", {**wish, **start}).headers["location"]
    page = made(office, path)
    assert "Against the plan on the wall" in page
    assert "J-1042" in re.sub(r"(?s).*?<table id=\"late\">", "", page)  # late: pinned to 2035
    assert office.post(f"{path}/accept").headers["location"] == "/office/schedule"
    with shop.reading() as session:
        assert [(pin.job_number, pin.position) for pin in list_pins(session)] == [
            ("J-1042", one.position)
        ]
    assert office.post(f"{path}/accept").status_code == 422
    assert "Put the plan before back" in office.get("/office/schedule").text
    assert office.post(f"{path}/taken-back").headers["location"] == "/office/schedule"
    with shop.reading() as session:
        assert kept_plan(session).id == kept.id
        assert list_pins(session) == []
    assert "Put the plan before back" not in office.get("/office/schedule").text
    assert office.post(f"{path}/taken-back").status_code == 422
    assert office.post(f"{path}/accept").status_code == 303  # it may be put up again


def test_one_operation_tells_what_it_is_and_what_can_be_wished(office: Office, shop: Any) -> None:
    with shop.reading() as session:
        kept = kept_plan(session)
        one = next(p for p in list_placements(session, kept.id) if p.kind == "bend")
    path = f"/office/schedule/{kept.id}/task?job={one.job_number}&position="
    assert "Pin it here" in office.get(f"{path}{one.position}").text
    assert office.get(f"{path}77").status_code == 404


@pytest.mark.parametrize(
    ("wish", "told"),
    [
        ({"kind": "dance"}, "not one of the choices"),
        ({"kind": "job", "job_number": "J-9"}, "no job"),
        ({"kind": "pin", "job_number": "J-1042", "position": "x"}, "whole number"),
        ({"kind": "down", "resource_code": "BRAKE-1", "start_at": "then"}, "not a date"),
        (
            {"kind": "down", "resource_code": "BRAKE-1", "start_at": "2030-01-02T08:00",
             "end_at": "2030-01-01T08:00"},
            "end after it begins",
        ),
    ],
)  # fmt: skip
def test_a_wish_that_cannot_be_is_told(office: Office, wish: dict[str, str], told: str) -> None:
    answer = office.post("/office/schedule/propose", wish)
    assert answer.status_code in (404, 422)
    assert told in answer.text


def test_the_week_is_changed_and_a_mistake_keeps_what_was_typed(office: Office) -> None:
    wrong = {"monday": "7-4", "tuesday": "06:00-14:00, 13:00-22:00"}
    answer = office.post("/office/schedule/hours/week", wrong)
    assert answer.status_code == 422
    assert "7-4" in answer.text
    assert "not a shift" in answer.text
    both = office.post("/office/schedule/hours/week", {"tuesday": wrong["tuesday"]})
    assert "overlap" in both.text
    right = {"monday": "06:00-14:00, 14:00-22:00", "saturday": "22:00-06:00"}
    assert office.post("/office/schedule/hours/week", right).status_code == 303
    page = office.get("/office/schedule/hours").text
    assert 'value="06:00-14:00, 14:00-22:00"' in page
    assert 'value="22:00-06:00"' in page


def test_a_shop_that_never_opens_is_told_so(office: Office) -> None:
    office.post("/office/schedule/hours/week", {"monday": ""})
    office.post("/office/schedule/hours/closed-day", {"day": "2026-12-24", "day_name": "holiday"})
    path = office.post("/office/schedule/propose", {"kind": "again"})
    assert path.status_code == 303  # no shifts at all means always open


def test_resources_are_added_left_out_and_need_work_to_do(office: Office) -> None:
    new = {"code": "SAW", "name": "Band saw", "does_cut": "yes"}
    path = "/office/schedule/hours/resource"
    assert "at least one kind" in office.post(path, {"code": "SAW"}).text
    assert office.post(path, new).status_code == 303
    assert office.post(path, new).status_code in (409, 422)
    archived = {"code": "SAW", "archived": "yes"}
    assert office.post(f"{path}/archived", archived).status_code == 303
    assert "Plan on it again" in office.get("/office/schedule/hours").text


def test_hours_are_added_and_removed(office: Office) -> None:
    extra = {"hours_kind": "open", "start_at": "2030-01-05T07:00", "end_at": "2030-01-05T12:00"}
    assert office.post("/office/schedule/hours/extra", extra).status_code == 303
    page = office.get("/office/schedule/hours").text
    assert "Sat 5 Jan" in page
    number = re.search(r'name="id" value="(\d+)"', page)
    assert number
    office.post("/office/schedule/hours/extra/remove", {"id": number[1]})
    assert "Sat 5 Jan" not in office.get("/office/schedule/hours").text
    back = {**extra, "end_at": "2030-01-05T06:00"}
    assert "end before they begin" in office.post("/office/schedule/hours/extra", back).text


def test_the_brake_lists_jobs_in_the_order_of_the_plan(office: Office, shop: Any) -> None:
    with shop.reading() as session:
        kept = kept_plan(session)
        bends = [p.job_number for p in list_placements(session, kept.id) if p.kind == "bend"]
    page = office.get("/brake").text
    places = [page.index(number) for number in bends if number in page]
    assert len(places) >= 3
    assert places == sorted(places)
