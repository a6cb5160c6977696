"""The `schedule` calculation keeps the contract's shapes, echoes times as given, refuses by field."""

import json
from copy import deepcopy
from datetime import datetime
from typing import Any

import pytest

from server.actions.calc.front import calculate
from server.errors import ShopError

JOBS: list[dict[str, Any]] = [
    {"id": "J1", "minutes": 60, "due": "2026-03-02T08:00:00", "family": "A"},
    {"id": "J2", "minutes": 30, "due": "2026-03-02T09:00:00", "family": "B"},
    {"id": "J3", "minutes": 45, "due": "2026-03-02T10:30:00", "family": "A", "weight": 2},
]
INPUT: dict[str, Any] = {
    "now": "2026-03-02T07:00:00",
    "brakes": ["B1"],
    "jobs": JOBS,
    "changeover_min": {"same": 0, "other": 20},
}


def answered(**changes: object) -> dict[str, Any]:
    answer: dict[str, Any] = json.loads(
        json.dumps(calculate("schedule", {**deepcopy(INPUT), **changes}), allow_nan=False)
    )
    return answer


def test_the_contract_s_fields_by_hand() -> None:
    # A 60, A 45, change 20, B 30: J2 ends 9:35, 35 late, one change: 55.
    # A 60, change 20, B 30, change 20, A 45: 40, J3 ends 9:55, in time; two changes: 40.
    answer = answered()
    assert answer["order"] == {"B1": ["J1", "J2", "J3"]}
    assert answer["finish"] == {
        "J1": "2026-03-02T08:00:00",
        "J2": "2026-03-02T08:50:00",
        "J3": "2026-03-02T09:55:00",
    }
    assert answer["late"] == []
    assert (answer["changeovers"], answer["objective"], answer["bound"]) == (2, 40.0, 40.0)


def test_late_jobs_are_listed_with_their_minutes_and_reasons() -> None:
    jobs = deepcopy(JOBS)
    jobs[0]["due"] = "2026-03-02T07:30:00"
    answer = answered(jobs=jobs)
    assert answer["late"] == [{"id": "J1", "minutes": 30.0}]
    assert "J1 is 30 min late" in answer["explained"][0]["message"]


@pytest.mark.parametrize(
    ("now", "due", "written"),
    [
        ("2026-03-02T07:00:00", "2026-03-02T09:00", "2026-03-02T08:00:00"),
        ("2026-03-02T07:00:00Z", "2026-03-02T10:00:00+01:00", "2026-03-02T08:00:00Z"),
        ("2026-03-02T07:00+01:00", "2026-03-02T08:00:00Z", "2026-03-02T08:00:00+01:00"),
        ("2026-03-02T07:00:00-05:30", "2026-03-02T20:00Z", "2026-03-02T08:00:00-05:30"),
        ("20260302T070000", "20260302T090000", "2026-03-02T08:00:00"),
    ],
)
def test_times_are_echoed_the_way_now_was_given(now: str, due: str, written: str) -> None:
    job = {"id": "J", "minutes": 60, "due": due, "family": "A"}
    answer = answered(now=now, jobs=[job])
    assert answer["finish"] == {"J": written}
    assert answer["late"] == []


def test_minutes_need_not_be_whole() -> None:
    job = {"id": "J", "minutes": 12.3456, "due": "2026-03-02T07:00:00", "family": "A"}
    answer = answered(jobs=[job])
    finish = datetime.fromisoformat(answer["finish"]["J"])
    late = (finish - datetime.fromisoformat(INPUT["now"])).total_seconds() / 60
    assert late == pytest.approx(12.3456, abs=1e-7)
    assert answer["objective"] == pytest.approx(12.3456, abs=1e-7)


def test_a_matrix_of_changeovers_may_differ_by_direction() -> None:
    matrix = {"A": {"B": 5}, "B": {"A": 40}}
    jobs = [{**JOBS[0], "due": "2026-03-03T00:00:00"}, {**JOBS[1], "due": "2026-03-03T00:00:00"}]
    answer = answered(jobs=jobs, changeover_min=matrix)
    assert answer["order"] == {"B1": ["J1", "J2"]}
    assert answer["objective"] == 5.0


def test_pinned_says_first_or_where_or_when() -> None:
    jobs = deepcopy(JOBS)
    jobs[2]["pinned"] = True
    assert answered(jobs=jobs)["order"]["B1"][0] == "J3"
    jobs[2]["pinned"] = {"brake": "B2", "start": "2026-03-02T08:00:00"}
    answer = answered(jobs=jobs, brakes=["B1", "B2"])
    assert "J3" in answer["order"]["B2"]
    assert answer["start"]["J3"] == "2026-03-02T08:00:00"
    jobs[2]["pinned"] = "B2"
    assert "J3" in answered(jobs=jobs, brakes=["B1", "B2"])["order"]["B2"]


def test_ready_holds_a_job_back_and_every_brake_is_in_the_order() -> None:
    jobs = [{**JOBS[0], "ready": "2026-03-02T09:00:00"}]
    answer = answered(jobs=jobs, brakes=["B1", "B2"])
    assert answer["start"]["J1"] == "2026-03-02T09:00:00"
    assert set(answer["order"]) == {"B1", "B2"}
    assert answered(jobs=[])["order"] == {"B1": []}


@pytest.mark.parametrize(
    ("changes", "code", "where"),
    [
        ({"now": "yesterday"}, "not_a_time", "now"),
        ({"now": "2026-03-02"}, "not_a_time", "now"),
        ({"now": "0001-01-01T00:00:00"}, "out_of_range", "now"),
        ({"brakes": []}, "too_few", "brakes"),
        ({"brakes": ["B1", "B1"]}, "duplicate_brake", "brakes"),
        ({"jobs": [JOBS[0], JOBS[0]]}, "duplicate_job", "jobs"),
        ({"jobs": [{**JOBS[0], "minutes": 0}]}, "out_of_range", "jobs.J1.minutes"),
        ({"jobs": [{**JOBS[0], "due": "soon"}]}, "not_a_time", "jobs.0.due"),
        ({"jobs": [{**JOBS[0], "due": "2026-03-02T08:00:00Z"}]}, "mixed_offsets", "jobs.0.due"),
        ({"jobs": [{**JOBS[0], "pinned": "B7"}]}, "not_a_time", "jobs.0.pinned"),
        ({"jobs": [{**JOBS[0], "pinned": {"brake": "B7"}}]}, "unknown_brake", "jobs.J1"),
        ({"changeover_min": {"other": -1}}, "out_of_range", "changeover_min"),
        ({"changeover_min": {}}, "changeover_unknown", "changeover_min"),
        ({"changeover_min": {"same": 0}}, "not_a_changeover", "changeover_min"),
        ({"changeover_min": {"A": {"A": 0}}}, "changeover_unknown", "changeover_min"),
        ({"shift": 1}, "unknown_field", "shift"),
    ],
)
def test_bad_input_is_refused_by_field(changes: dict[str, object], code: str, where: str) -> None:
    with pytest.raises(ShopError) as refused:
        answered(**changes)
    assert (refused.value.code, refused.value.where) == (code, where)
