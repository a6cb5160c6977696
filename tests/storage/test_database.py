"""The database under several people at once: nothing lost, readers steady, old versions refused."""

import sqlite3
import threading
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import pytest
from sqlalchemy.exc import OperationalError

from server.storage.database import Database, IntegrityError, StaleDataError
from server.storage.queries.material import get_material
from server.storage.queries.setting import find_setting, put_setting
from server.storage.tables.column import UtcTime
from server.storage.tables.event import Event
from server.storage.tables.tool import Holder

THREADS, TIMES = 8, 25


def pragma(database: Database, name: str, *, writing: bool) -> Any:
    engine = database.writer if writing else database.reader
    with engine.connect() as connection:
        return connection.exec_driver_sql(f"PRAGMA {name}").scalar()


@pytest.mark.parametrize("writing", [False, True])
def test_every_connection_keeps_the_rules(shop: Database, writing: bool) -> None:
    assert pragma(shop, "journal_mode", writing=writing) == "wal"
    assert pragma(shop, "foreign_keys", writing=writing) == 1
    assert pragma(shop, "busy_timeout", writing=writing) == 10_000
    assert pragma(shop, "synchronous", writing=writing) == 2  # FULL
    assert pragma(shop, "query_only", writing=writing) == (0 if writing else 1)


def test_eight_people_counting_at_once_lose_nothing(shop: Database) -> None:
    with shop.writing() as session:
        put_setting(session, "count", 0)
    together = threading.Barrier(THREADS)

    def count() -> None:
        together.wait()
        for _ in range(TIMES):
            with shop.writing() as session:
                put_setting(session, "count", find_setting(session, "count") + 1)

    with ThreadPoolExecutor(THREADS) as people:
        for done in [people.submit(count) for _ in range(THREADS)]:
            done.result()
    with shop.reading() as session:
        assert find_setting(session, "count") == THREADS * TIMES


def test_reading_before_locking_would_lose_one_of_two(shop: Database) -> None:
    """The test of the test: why a writer here locks before it reads."""
    with closing(sqlite3.connect(shop.path)) as ann, closing(sqlite3.connect(shop.path)) as bo:
        ann.execute("CREATE TABLE tally AS SELECT 0 AS n")
        ann.commit()
        read = [own.execute("SELECT n FROM tally").fetchone()[0] for own in (ann, bo)]
        for own, n in zip((ann, bo), read, strict=True):
            own.execute("UPDATE tally SET n = ?", (n + 1,))
            own.commit()
        assert ann.execute("SELECT n FROM tally").fetchone() == (1,)


def test_a_writer_holds_the_lock_from_its_first_look(shop: Database) -> None:
    with shop.writing() as session:
        get_material(session, "S235JR")
        with closing(sqlite3.connect(shop.path, timeout=0)) as other:
            with pytest.raises(sqlite3.OperationalError, match="locked"):
                other.execute("BEGIN IMMEDIATE")
            assert other.execute("SELECT count(*) FROM material").fetchone()[0] > 20


def test_a_reader_cannot_write(shop: Database) -> None:
    with shop.reading() as session:
        session.add(Event(did="x", noun="x", key="x"))
        with pytest.raises(OperationalError, match="readonly"):
            session.flush()


def test_a_reader_sees_one_steady_state_while_somebody_writes(shop: Database) -> None:
    with shop.reading() as reader:
        before = get_material(reader, "S235JR").name
        with shop.writing() as writer:
            get_material(writer, "S235JR").name = "Changed meanwhile"
        reader.expire_all()
        assert get_material(reader, "S235JR").name == before
    with shop.reading() as later:
        assert get_material(later, "S235JR").name == "Changed meanwhile"


def test_what_was_read_stays_readable_after_the_session(shop: Database) -> None:
    with shop.reading() as session:
        row = get_material(session, "S235JR")
    assert row.code == "S235JR"


def test_an_old_version_cannot_overwrite(shop: Database) -> None:
    with shop.reading() as session:
        old = get_material(session, "S235JR")
    with shop.writing() as session:
        get_material(session, "S235JR").name = "first"
    old.name = "second"
    with shop.writing() as session:
        session.add(old)
        with pytest.raises(StaleDataError):
            session.flush()
        session.rollback()
    with shop.reading() as session:
        row = get_material(session, "S235JR")
    assert (row.name, row.version) == ("first", 2)


def test_a_block_that_ends_badly_leaves_nothing_behind(shop: Database) -> None:
    def break_off() -> None:
        with shop.writing() as session:
            get_material(session, "S235JR").name = "half"
            session.flush()
            raise RuntimeError("half way")

    with pytest.raises(RuntimeError, match="half way"):
        break_off()
    with shop.reading() as session:
        assert get_material(session, "S235JR").name != "half"
    with shop.writing() as session:  # the lock was let go
        put_setting(session, "x", 1)


def test_a_duplicate_is_refused_by_the_schema(shop: Database) -> None:
    with pytest.raises(IntegrityError), shop.writing() as session:
        session.add(Holder(code="H1", name="again", height_mm=1, profile_mm=[]))


def test_times_are_kept_in_utc_and_come_back_aware(shop: Database) -> None:
    here = datetime(2026, 3, 1, 12, 30, tzinfo=timezone(timedelta(hours=-5)))
    with shop.writing() as session:
        session.add(Event(did="tested", noun="time", key="1", at=here))
    with shop.reading() as session:
        from server.storage.queries.history import list_events

        (event,) = list_events(session, noun="time", key="1")
    assert event.at == here
    assert event.at.tzinfo is UTC
    with pytest.raises(ValueError, match="without a zone"):
        UtcTime().process_bind_param(datetime(2026, 3, 1), None)  # noqa: DTZ001 - naive on purpose


def test_an_unchanged_row_is_not_a_new_version(shop: Database) -> None:
    with shop.writing() as session:
        row = get_material(session, "S235JR")
        row.name = str(row.name)
        session.add(row)
    with shop.reading() as session:
        assert get_material(session, "S235JR").version == 1
