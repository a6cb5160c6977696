"""Care of a brake: due by days and running hours, done with a name, taken back, intervals kept."""

from datetime import timedelta
from typing import Any

import pytest

from server.actions.care import begin_care, care_of, read_hour_meter
from server.shop.care import STARTING_CARE
from server.storage.queries.care import list_care_log, list_care_tasks
from server.storage.tables.care import CareEntry
from server.storage.tables.column import utc_now
from tests.conftest import Office


@pytest.fixture
def ann(office: Office, shop: Any) -> Office:
    office.post("/reader", {"person": "Ann", "back": "/brake"})
    office.post("/brake/care/begin", {"code": "BRAKE-1"})
    return office


def task_id(shop: Any, name: str) -> int:
    with shop.reading() as session:
        return next(
            row.id for row in list_care_tasks(session, "BRAKE-1") if row.name == name and row.id
        )


def state(shop: Any, name: str, *, in_days: float = 0.0) -> str:
    with shop.reading() as session:
        due = care_of(session, "BRAKE-1", now=utc_now() + timedelta(days=in_days))
        return next(one.due.state for one in due if one.row.name == name)


def test_the_usual_list_is_taken_once_and_stands_on_the_page(ann: Office, shop: Any) -> None:
    ann.post("/brake/care/begin", {"code": "BRAKE-1"})
    with shop.reading() as session:
        assert len(list_care_tasks(session, "BRAKE-1")) == len(STARTING_CARE)
    page = ann.get("/brake/care").text
    for task in STARTING_CARE:
        assert task.name in page
    assert "1910.147" in page
    assert "the manual comes first" in page


def test_what_is_done_is_due_again_after_its_days(ann: Office, shop: Any) -> None:
    number = task_id(shop, "Back gauge square")
    ann.post("/brake/care/done", {"code": "BRAKE-1", "task": str(number), "note": "0.05 out"})
    assert state(shop, "Back gauge square") == "later"
    assert state(shop, "Back gauge square", in_days=28) == "due soon"
    assert state(shop, "Back gauge square", in_days=31) == "overdue"
    page = ann.get("/brake/care").text
    assert "0.05 out" in page
    assert "Ann" in page


def test_a_task_by_running_hours_follows_the_meter(ann: Office, shop: Any) -> None:
    number = task_id(shop, "Ram guides")
    with shop.writing() as session:
        session.add(CareEntry(care_task_id=number, by="Ann", meter_h=1e5))
        read_hour_meter(session, "BRAKE-1", 1e5 + 39, by="Ann")
    assert state(shop, "Ram guides") == "due soon"
    ann.post("/brake/care/meter", {"code": "BRAKE-1", "meter": str(int(1e5 + 41))})
    assert state(shop, "Ram guides") == "overdue"
    back = ann.post(
        "/brake/care/meter", {"code": "BRAKE-1", "meter": "5"}, headers={"HX-Request": "true"}
    )
    assert back.status_code == 422
    assert "before" in back.text


def test_an_entry_taken_back_stays_in_the_log_and_does_not_count(ann: Office, shop: Any) -> None:
    number = task_id(shop, "Level and anchors")
    before = state(shop, "Level and anchors")
    ann.post("/brake/care/done", {"code": "BRAKE-1", "task": str(number)})
    with shop.reading() as session:
        entry = list_care_log(session, "BRAKE-1")[0][0]
    ann.post("/brake/care/undo", {"code": "BRAKE-1", "entry": str(entry.id)})
    assert state(shop, "Level and anchors") == before
    assert "taken back" in ann.get("/brake/care").text


def test_nobody_signs_care_without_a_name(office: Office, shop: Any) -> None:
    with shop.writing() as session:
        begin_care(session, "BRAKE-1")
    number = task_id(shop, "Oil level")
    answer = office.post("/brake/care/done", {"task": str(number)}, headers={"HX-Request": "true"})
    assert answer.status_code == 422
    assert "name" in answer.text


def test_the_office_changes_an_interval_and_a_task_needs_one(ann: Office, shop: Any) -> None:
    place = "/office/brake/BRAKE-1/care"
    number = task_id(shop, "Oil level")
    ann.post(place, {"task": str(number), "name": "Oil level", "kind": "hydraulics",
                     "what": "Glass", "every_days": "3", "every_h": ""})  # fmt: skip
    with shop.reading() as session:
        row = next(r for r in list_care_tasks(session, "BRAKE-1") if r.id == number)
    assert row.every_days == 3
    refused = ann.post(place, {"name": "Wipe", "kind": "check", "every_days": "", "every_h": ""})
    assert refused.status_code == 422
    assert "interval" in refused.text
    twice = ann.post(place, {"name": "Oil level", "kind": "check", "every_days": "9"})
    assert twice.status_code in (409, 422)
    ann.post(f"{place}/archived", {"task": str(number), "archived": "yes"})
    assert "archived" in ann.get(place).text
