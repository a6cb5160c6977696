"""Asking the planner from the office: at once, in the background, stopped, blocked."""

import re
import time
from collections.abc import Callable

import httpx
import pytest

from server.actions import planning
from server.actions.planner_pool import PlannerPool
from server.web.routes import planning as route
from tests.actions.test_planner_pool import FOR_MINUTES
from tests.conftest import Office

WAIT_S = 60.0
BLOCKED = {"part_number": "CB-6120", "punch_code": "P1-STRAIGHT"}


def ask(office: Office, **typed: str) -> httpx.Response:
    return office.post(
        "/office/planning", {"revision_label": "A", "brake_code": "BRAKE-1", **typed}
    )


def until(true: Callable[[], bool]) -> None:
    end = time.monotonic() + WAIT_S
    while not true():
        assert time.monotonic() < end, "waited too long"
        time.sleep(0.05)


def settled(office: Office, answer: httpx.Response) -> httpx.Response:
    """The page of a question once it has ended."""
    place = answer.headers["location"]
    until(lambda: 'id="progress"' not in office.get(place).text)
    found = office.get(place)
    return office.get(found.headers["location"]) if found.status_code == 303 else found


@pytest.fixture
def slow(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever is asked for takes minutes."""
    monkeypatch.setattr(planning, "_plan_errand", lambda *_: FOR_MINUTES)
    monkeypatch.setattr(route, "AT_ONCE_S", 0.05)


def test_a_plan_leads_to_the_sequence_it_made(office: Office) -> None:
    page = settled(office, ask(office, part_number="HR-3005", first_bend="4")).text
    assert "Bend sequence 2" in page
    assert re.search(r'class="nr">1</b> Bend 4 ', page)


def test_a_blocked_part_shows_where_it_stops_and_what_frees_it(office: Office) -> None:
    page = settled(office, ask(office, **BLOCKED)).text
    assert "Cannot be bent yet" in page
    assert page.count('class="step close"') >= 2
    assert re.search(r"leg\u202f?.* meets .*P1-STRAIGHT", page)
    assert "Use the punch P3-ACUTE." in page
    freed = settled(office, ask(office, part_number="CB-6120", punch_code="P3-ACUTE"))
    assert "P3-ACUTE / D10" in freed.text


def test_other_pages_answer_while_a_plan_is_made(office: Office, slow: None) -> None:
    place = ask(office, part_number="HR-3005").headers["location"]
    until(lambda: "none yet" not in office.get(place).text)
    begun = time.monotonic()
    for path in ("/office", "/office/part/HR-3005", "/brake", "/health", "/office/sequence/3"):
        assert office.get(path).status_code == 200
    assert time.monotonic() - begun < 5.0
    assert "Looking for the best bend sequence" in office.get(place).text
    page = office.get(place, headers={"HX-Request": "true"}).text
    assert "States looked at" in page
    assert "<html" not in page
    office.post(f"{place}/stop", {"keep": ""})
    until(lambda: "Planning was stopped" in office.get(place).text)


def test_a_question_lost_in_a_restart_says_so(office: Office, slow: None) -> None:
    place = ask(office, part_number="HR-3005").headers["location"]
    office.app.state.planner.close()
    office.app.state.planner = PlannerPool()
    until(lambda: "progress" not in office.get(place).text)
    page = office.get(place).text
    assert "stopped" in page or "started again" in page


@pytest.mark.parametrize(
    ("typed", "status"),
    [
        ({"part_number": "NOT-THERE"}, 404),
        ({"part_number": "HR-3005", "first_bend": "nine"}, 422),
        ({"part_number": "HR-3005", "first_bend": "9"}, 422),
        ({"part_number": "HR-3005", "die_code": "D999"}, 404),
    ],
)
def test_what_cannot_be_meant_is_refused(
    office: Office, typed: dict[str, str], status: int
) -> None:
    answer = ask(office, **typed)
    if answer.status_code == 303:
        assert "no bend 9" in settled(office, answer).text
    else:
        assert answer.status_code == status


def test_tools_stand_recommended_first_and_the_others_say_why_not(office: Office) -> None:
    page = office.get("/office/planning/new?part=CB-6120&revision=A").text
    dies = re.findall(r'name="die_code" value="(D\w+)"', page)
    assert dies[0] == "D10"
    assert dies.index("D50") > dies.index("D12")
    assert "has no load rating entered" in page
    assert "too" not in re.findall(r'value="D10".*?</li>', page, re.DOTALL)[0]
