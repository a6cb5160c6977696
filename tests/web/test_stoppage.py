"""Help when the ram will not move: in order, no guard defeated, kept in a log."""

from typing import Any

import pytest

from server.actions.stoppage import log_stoppage
from server.errors import ShopError
from server.shop.decision_list import LOOKS
from server.storage.queries.stoppage import count_causes, list_stoppages
from tests.conftest import Office


def test_the_list_stands_in_order_under_what_never_to_do(office: Office) -> None:
    page = office.get("/brake/help").text
    places = [page.index(look.question) for look in LOOKS]
    assert places == sorted(places)
    assert page.index("Never bridge") < places[0]
    assert "1910.147" in page
    assert page.count("Stop and call a qualified person") == len(LOOKS)


def test_what_was_looked_at_folds_away_and_the_next_stands_out(office: Office) -> None:
    page = office.get("/brake/help?looked=power,motor,nonsense").text
    assert page.count("looked at, not it") == 2
    assert 'id="look-emergency_stop" class="look next"' in page


def test_a_cause_found_is_kept_and_leads_back_to_the_run(office: Office, shop: Any) -> None:
    run = office.post("/brake/open", {"code": "J-1044"}).headers["location"]
    run_id = run.split("/run/")[1].split("/")[0]
    office.post("/reader", {"person": "Ann", "back": "/brake"})
    sent = {"run": run_id, "looked": "power,motor", "cause": "doors"}
    answer = office.post("/brake/help", sent)
    assert answer.headers["location"] == f"/brake/run/{run_id}"
    with shop.reading() as session:
        row = list_stoppages(session, "BRAKE-1")[0]
        assert dict(count_causes(session, "BRAKE-1"))["doors"] >= 1
    assert (row.cause, row.moves_again, row.by) == ("doors", True, "Ann")
    assert "power, motor, doors" in row.words
    assert "here</small>" in office.get("/brake/help").text


def test_nothing_found_ends_with_a_qualified_person(office: Office, shop: Any) -> None:
    everything = ",".join(look.code for look in LOOKS)
    office.post("/brake/help", {"looked": everything, "cause": "", "note": "hums"})
    with shop.reading() as session:
        row = list_stoppages(session, "BRAKE-1")[0]
    assert not row.moves_again
    assert "Not found" in row.words
    assert "hums" in office.get("/brake/help").text


def test_a_cause_that_is_not_on_the_list_is_refused(shop: Any) -> None:
    with shop.writing() as session, pytest.raises(ShopError, match="not on the list"):
        log_stoppage(session, brake_code="BRAKE-1", looked_at=(), cause="gremlins", by="Ann")
