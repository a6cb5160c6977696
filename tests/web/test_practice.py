"""Practice: the whole brake side on a copy, a simulated brake behind it, nothing kept."""

import re
from collections.abc import Iterator
from typing import Any

import pytest
from fastapi import FastAPI

from server.storage.queries.job import list_open_runs
from server.storage.queries.learned_bend import list_learned
from server.storage.queries.trial import list_first_piece_trials
from tests.conftest import Office

IN_PAGE = {"HX-Request": "true"}


@pytest.fixture(autouse=True)
def _ended(app: FastAPI) -> Iterator[None]:
    """The server that stops ends its practices."""
    yield
    app.state.house.practices.end_all()


@pytest.fixture
def practised(office: Office) -> str:
    """Where a practice's run is, opened."""
    office.post("/reader", {"person": "Kim", "back": "/brake"})
    brake = office.post("/practice/begin").headers["location"]
    return office.post(f"{brake}/open", {"code": "J-1041"}).headers["location"]


def run_of(place: str) -> str:
    return place.split("/setup", maxsplit=1)[0]


def test_every_page_of_a_practice_is_marked_and_stays_in_it(office: Office, practised: str) -> None:
    run = run_of(practised)
    brake = run.split("/run/")[0]
    for path in (brake, run, f"{run}/setup", f"{run}/key-in", f"{brake}/help", f"{brake}/care",
                 f"{brake}/memory", f"{brake}/coupon"):  # fmt: skip
        answer = office.get(path)
        assert answer.status_code == 200, path
        assert "PRACTICE" in answer.text, path
        assert not re.search(r'(?:action|hx-post|hx-get)="/brake', answer.text), path
    assert "PRACTICE" not in office.get("/brake").text


def test_a_run_is_touched_off_bent_and_measured_and_the_shop_learns_nothing(
    office: Office, practised: str, shop: Any
) -> None:
    with shop.reading() as session:
        before = (len(list_first_piece_trials(session)), list_learned(session))
        runs = len(list_open_runs(session))
    run = run_of(practised)
    early = office.get(f"{run}/simulated/1", headers=IN_PAGE)
    assert early.status_code == 422
    assert "Touch off first" in early.text
    read = office.get(f"{run}/simulated").json()
    office.post(f"{run}/setup/edges", {f"edge_{n}": read[f"edge_{n}"] for n in (1, 2, 3, 4)})
    office.post(f"{run}/touch-off", {"on": "sheet", "reading": read["reading"], "tip": read["tip"]})
    bent = office.get(f"{run}/simulated/1?piece=1").json()
    assert 75 < float(bent["angle"]) < 105
    assert office.get(f"{run}/simulated/1?piece=1").json() == bent
    sent = {"position": "1", "angle": bent["angle"], "convention": "bend", "piece": "1",
            "flange": bent["flange"]}  # fmt: skip
    told = office.post(f"{run}/trial", sent, headers=IN_PAGE)
    assert told.status_code == 200
    with shop.reading() as session:
        assert (len(list_first_piece_trials(session)), list_learned(session)) == before
        assert len(list_open_runs(session)) == runs


def test_a_practice_that_ended_says_so_and_the_real_shop_simulates_nothing(
    office: Office, practised: str
) -> None:
    name = practised.split("/")[2]
    assert office.post(f"/practice/{name}/end").headers["location"] == "/brake"
    gone = office.get(practised)
    assert gone.status_code == 404
    assert "This practice is over" in gone.text
    assert office.get("/brake/run/1/simulated").status_code == 404


def test_no_more_than_a_few_practices_go_on_at_once(office: Office) -> None:
    places = [office.post("/practice/begin").headers["location"] for _ in range(9)]
    assert office.get(places[0]).status_code == 404
    assert office.get(places[-1]).status_code == 200
