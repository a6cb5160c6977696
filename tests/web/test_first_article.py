"""The first article: judged against its tolerances, signed as what it is, kept, printed."""

from typing import Any

from server.storage.queries.first_article import list_run_first_articles
from server.storage.queries.job import get_run
from server.storage.queries.part import get_revision
from server.storage.tables.part import Revision
from tests.conftest import Office
from tests.web.test_trial import begun, measure


def test_a_good_first_part_is_signed_counted_and_the_rest_may_be_bent(
    office: Office, shop: Any
) -> None:
    run_id = begun(office, shop)
    measure(office, run_id, "90.4", flange="80.1")
    lines = office.get(f"/brake/run/{run_id}/first-article/lines").text
    assert 'data-verdict="good"' in lines
    for _ in range(2):
        office.post(f"/brake/run/{run_id}/first-article", {"note": "edge", "request_key": "k"})
    with shop.reading() as session:
        run = get_run(session, run_id)
        sheets = list_run_first_articles(session, run_id)
    assert (run.state, run.good_count, len(sheets)) == ("running", 1, 1)
    printed = office.get(f"/brake/first-article/{sheets[0].id}").text
    assert "Every measured number is within its tolerance" in printed
    assert "90.4°" in printed
    assert "edge" in printed


def test_a_part_out_of_tolerance_is_signed_as_not_good(office: Office, shop: Any) -> None:
    run_id = begun(office, shop)
    measure(office, run_id, "88.5", flange="80.1")
    office.post(f"/brake/run/{run_id}/first-article")
    page = office.get(f"/brake/run/{run_id}/first-article").text
    assert 'data-verdict="not good"' in page
    with shop.reading() as session:
        assert list_run_first_articles(session, run_id)[0].verdict == "not good"


def test_a_part_that_was_not_measured_is_not_called_good(office: Office, shop: Any) -> None:
    run_id = begun(office, shop)
    lines = office.get(f"/brake/run/{run_id}/first-article/lines").text
    assert 'data-verdict="not measured"' in lines
    measure(office, run_id, "90")  # the flange is still missing
    lines = office.get(f"/brake/run/{run_id}/first-article/lines").text
    assert 'data-verdict="not measured"' in lines


def test_a_later_sheet_counts_nothing(office: Office, shop: Any) -> None:
    run_id = begun(office, shop)
    for _ in range(2):
        office.post(f"/brake/run/{run_id}/first-article")
    with shop.reading() as session:
        assert get_run(session, run_id).good_count == 1
        assert len(list_run_first_articles(session, run_id)) == 2


def test_nothing_is_signed_before_the_set_up(office: Office, shop: Any) -> None:
    address = office.post("/brake/open", {"code": "J-1041"}).headers["location"]
    run_id = int(address.rstrip("/setup").rsplit("/", 1)[1])
    answer = office.post(f"/brake/run/{run_id}/first-article")
    assert answer.status_code == 422
    assert "set-up is not finished" in answer.text


def test_story_14_a_new_revision_stops_the_floor_and_is_named(office: Office, shop: Any) -> None:
    run_id = begun(office, shop)
    office.post(f"/brake/run/{run_id}/hold", {"reason": "other"})
    with shop.writing() as session:
        old = get_revision(session, "BR-1040", "A")
        session.add(Revision(**{**old.model_dump(exclude={"made_at"}), "label": "B"}))
    page = office.get(f"/brake/run/{run_id}").text
    assert "superseded by B" in page
    for refused in ("resume", "first-article"):
        answer = office.post(f"/brake/run/{run_id}/{refused}")
        assert answer.status_code == 422
        assert "superseded by B" in answer.text
    counted = office.post(f"/brake/run/{run_id}/count", {"good": "1"})
    assert counted.status_code == 204  # what was made was made
    assert counted.headers["run-counts"] == "1,0,0"
