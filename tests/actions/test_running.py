"""Times taken quietly at the brake: what counts as a part's time, what rests, what teaches."""

from datetime import datetime, timedelta
from typing import Any

import pytest

from server.actions import running
from server.actions.measured_time import accept_times
from server.actions.run import start_job
from server.errors import ShopError
from server.settings import ShopSettings
from server.storage.database import Session
from server.storage.queries.job import get_run
from server.storage.queries.measured_time import list_accepted_times, list_run_times
from server.storage.tables.column import utc_now


class Clock:
    """A clock the test moves."""

    def __init__(self) -> None:
        self.now = utc_now()

    def __call__(self) -> datetime:
        return self.now

    def pass_s(self, seconds_s: float) -> None:
        self.now += timedelta(seconds=seconds_s)


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    made = Clock()
    monkeypatch.setattr(running, "utc_now", made)
    return made


def begun(session: Session, clock: Clock) -> int:
    run = start_job(session, "J-1047", settings=ShopSettings(), by="Ann")
    run.phase_at = clock.now
    clock.pass_s(300)
    running.start_run(session, run.id or 0, by="Ann")
    clock.pass_s(120)
    running.pass_first_article(session, run.id or 0, by="Ann")
    return run.id or 0


def times_of(session: Session, run_id: int) -> dict[str, float]:
    return {one.kind: one.seconds_s for one in list_run_times(session, run_id)}


def test_set_up_first_article_and_parts_are_timed_apart(shop: Any, clock: Clock) -> None:
    with shop.writing() as session:
        run_id = begun(session, clock)
        for seconds_s in (40, 44, 400):  # the third part had a visitor: the middle one is usual
            clock.pass_s(seconds_s)
            running.count_parts(session, run_id, good=1, by="Ann")
        running.finish_run(session, run_id, by="Ann")
        assert times_of(session, run_id) == {
            "setup": 300.0,
            "first_article": 120.0,
            "bend": 11.0,  # 44 s over four steps
        }


def test_a_hold_is_nobodys_time(shop: Any, clock: Clock) -> None:
    with shop.writing() as session:
        run_id = begun(session, clock)
        clock.pass_s(30)
        running.count_parts(session, run_id, good=1, by="Ann")
        running.hold_run(session, run_id, "break or end of shift", by="Ann")
        clock.pass_s(3600)
        running.resume_run(session, run_id, by="Ann")
        clock.pass_s(32)
        running.count_parts(session, run_id, good=1, by="Ann")
        assert get_run(session, run_id).part_times_s == [30.0, 32.0]


def test_parts_counted_without_a_network_keep_their_own_times(shop: Any, clock: Clock) -> None:
    with shop.writing() as session:
        run_id = begun(session, clock)
        clock.pass_s(1000)  # both come at once, long after they were made
        running.count_parts(session, run_id, good=1, waited_s=960, by="Ann")
        running.count_parts(session, run_id, good=1, waited_s=915, by="Ann")
        assert get_run(session, run_id).part_times_s == [40.0, 45.0]


def test_only_times_somebody_accepted_teach(shop: Any, clock: Clock) -> None:
    with shop.writing() as session:
        known = len(list_accepted_times(session))
        run_id = begun(session, clock)
        assert len(list_accepted_times(session)) == known
        assert accept_times(session, run_id, accepted=True, by="Ann") == 2
        assert len(list_accepted_times(session)) == known + 2
        accept_times(session, run_id, accepted=False, by="Ann")
        assert len(list_accepted_times(session)) == known


def test_a_finished_run_is_not_held(shop: Any, clock: Clock) -> None:
    with shop.writing() as session:
        run_id = begun(session, clock)
        running.finish_run(session, run_id, by="Ann")
        with pytest.raises(ShopError, match="is finished"):
            running.hold_run(session, run_id, "other", by="Ann")
