"""Care by date and running hours, whichever comes first."""

from datetime import datetime, timedelta

import pytest

from server.errors import ShopError
from server.shop.care import (
    STARTING_CARE,
    CareDone,
    CareTask,
    HourReading,
    care_list,
    need_readings_in_order,
)

NOW = datetime.fromisoformat("2026-03-02T08:00")
DAY = timedelta(days=1)
GREASE = CareTask("Grease", "lubrication", "Every point.", every_h=40)
LEVEL = CareTask("Level", "frame", "Along and across.", every_days=30)
FILTER = CareTask("Filter", "hydraulics", "Change.", every_days=365, every_h=1000)
READINGS = (HourReading(NOW - 10 * DAY, 900.0), HourReading(NOW - DAY, 963.0))


def test_days_and_hours_each_say_when_and_the_first_counts() -> None:
    done = [
        CareDone("Grease", NOW - 10 * DAY, 925.0),
        CareDone("Level", NOW - 28 * DAY),
        CareDone("Filter", NOW - 100 * DAY, 400.0),
    ]
    listed = {one.task.name: one for one in care_list([GREASE, LEVEL, FILTER], done, now=NOW,
                                                      readings=READINGS)}  # fmt: skip
    assert listed["Grease"].left_h == 2.0  # 925 + 40 - 963
    assert listed["Grease"].state == "due soon"
    assert listed["Grease"].due_at == NOW + timedelta(days=2 / 7)  # 63 h in 9 days
    assert (listed["Level"].left_days, listed["Level"].state) == (2.0, "due soon")
    assert (listed["Filter"].left_h, listed["Filter"].left_days) == (437.0, 265.0)
    assert listed["Filter"].state == "later"


def test_the_most_urgent_is_first_and_never_done_comes_before_due_soon() -> None:
    done = [
        CareDone("Grease", NOW - 10 * DAY, 900.0),
        CareDone("Level", NOW - 28 * DAY),
    ]
    order = [one.task.name for one in care_list([LEVEL, FILTER, GREASE], done, now=NOW,
                                                readings=READINGS)]  # fmt: skip
    assert order == ["Grease", "Filter", "Level"]


def test_overdue_is_told_with_how_long() -> None:
    (one,) = care_list([LEVEL], [CareDone("Level", NOW - 35 * DAY)], now=NOW)
    assert one.state == "overdue"
    assert "5 days over" in str(one.told)


def test_what_was_undone_or_lies_ahead_does_not_count() -> None:
    done = [CareDone("Level", NOW - DAY, undone=True), CareDone("Level", NOW + DAY)]
    (one,) = care_list([LEVEL], done, now=NOW)
    assert one.state == "never done"


def test_hours_without_a_meter_reading_are_not_made_up() -> None:
    (one,) = care_list([GREASE], [CareDone("Grease", NOW - DAY)], now=NOW, readings=READINGS)
    assert one.state == "never done"
    assert "meter was not read" in str(one.told)
    (one,) = care_list([GREASE], [CareDone("Grease", NOW - DAY, 960.0)], now=NOW)
    assert one.left_h is None


def test_a_task_needs_an_interval_and_a_meter_only_goes_on() -> None:
    with pytest.raises(ShopError, match="no interval"):
        CareTask("x", "y", "z")
    with pytest.raises(ShopError, match="no interval"):
        CareTask("x", "y", "z", every_days=0)
    need_readings_in_order(READINGS)
    with pytest.raises(ShopError, match="963 h before and 900 h after"):
        need_readings_in_order([HourReading(NOW, 900.0), HourReading(NOW - DAY, 963.0)])


def test_starting_care_names_what_the_issue_asks_for_and_defers_to_the_manual() -> None:
    words = " ".join(task.name.lower() for task in STARTING_CARE)
    for wanted in ("lubrication", "filter", "oil level", "oil age", "level and anchors",
                   "back gauge square", "tool inspection", "emergency stop"):  # fmt: skip
        assert wanted in words
    assert all("manual comes first" in task.source for task in STARTING_CARE)
