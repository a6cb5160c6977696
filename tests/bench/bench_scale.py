"""Board, list, search and part recall with 1,000 and with 100,000 jobs: server times and ratios.

    python -m tests.bench.bench_scale

The large shop has 100,000 jobs, 20,000 parts, 500 customers and 1,000,000 events; the small one a
hundredth of each. Both have about 300 jobs that are still open, as a busy small shop has.
"""

import asyncio
import random
import sqlite3
import statistics
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import httpx
from fastapi import FastAPI

from server.actions.first_start import fill_once
from server.settings import ShopSettings
from server.storage.database import Database
from server.storage.migrate import migrate
from server.web.app import make_app

ROUNDS = 60
BASE = "http://127.0.0.1:8040"
OPEN = ("asked", "priced", "won", "ready", "running", "held", "made")
MOST_OPEN = 300
KINDS = ("bracket", "channel", "guard", "panel", "tray", "cover", "plate", "angle", "clip", "duct")


def filled(path: Path, *, jobs_count: int, parts_count: int, events_count: int) -> Database:
    """The demo shop with so much of everything beside it, written in bulk."""
    migrate(path)
    database = Database(path)
    fill_once(database, empty=False)
    database.close()
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("PRAGMA synchronous=OFF")
        _fill(connection, jobs_count, parts_count, events_count)
        connection.commit()
    return Database(path)


def _fill(
    connection: sqlite3.Connection, jobs_count: int, parts_count: int, events_count: int
) -> None:
    chance = random.Random(8040)  # the same shop every time
    now = datetime.now(UTC).replace(tzinfo=None)
    customers = [f"C-{place:04d}" for place in range(max(5, jobs_count // 200))]
    _copy(
        connection, "customer", "code", ((code, {"name": f"Customer {code}"}) for code in customers)
    )
    parts = [f"P-{place:05d}" for place in range(parts_count)]
    _copy(
        connection,
        "part",
        "number",
        (
            (number, {"name": f"{chance.choice(KINDS)} {chance.choice(KINDS)} {place * 7 % 9973}",
                      "changed_at": str(now - timedelta(minutes=parts_count - place))})
            for place, number in enumerate(parts)
        ),
    )  # fmt: skip
    _copy(connection, "revision", "part_number", ((number, {"label": "A"}) for number in parts))
    _copy(connection, "job", "number", _jobs(chance, now, jobs_count, parts, customers))
    connection.executemany(
        'INSERT INTO event (at, "by", did, noun, key) VALUES (?, ?, ?, ?, ?)',
        (
            (
                str(now - timedelta(seconds=31 * (events_count - place))),
                "bench",
                "moved",
                chance.choice(("job", "job", "job", "part", "lot", "order")),
                f"J-{1 + place % jobs_count + 200_000}",
            )
            for place in range(events_count)
        ),
    )


def _jobs(
    chance: random.Random, now: datetime, count: int, parts: list[str], customers: list[str]
) -> Iterator[tuple[str, dict[str, object]]]:
    for place in range(count):
        left = count - place
        state = (
            chance.choice(OPEN) if left <= MOST_OPEN else chance.choice(("gone",) * 9 + ("lost",))
        )
        yield (
            f"J-{200_001 + place}",
            {
                "state": state,
                "part_number": parts[chance.randrange(len(parts))],
                "customer_code": chance.choice(customers),
                "due_at": str(now + timedelta(hours=12 * (MOST_OPEN // 2 - left))),
                "quantity_count": chance.randint(1, 200),
                "order_number": None,
                "bend_sequence_id": None,
                "held_reason": "bench" if state == "held" else "",
            },
        )


def _copy(
    connection: sqlite3.Connection,
    table: str,
    key: str,
    rows: Iterator[tuple[str, dict[str, object]]],
) -> None:
    """Rows like the demo's first one, with other keys and some other values."""
    cursor = connection.execute(f"SELECT * FROM {table} LIMIT 1")
    names = [column[0] for column in cursor.description]
    model = dict(zip(names, cursor.fetchone(), strict=True))
    marks = ", ".join("?" for _ in names)
    listed = ", ".join(f'"{name}"' for name in names)
    connection.executemany(
        f"INSERT INTO {table} ({listed}) VALUES ({marks})",
        ([({**model, **other, key: value})[name] for name in names] for value, other in rows),
    )


PAGES = (
    ("board", "/office/job"),
    ("list, open", "/office/job?view=list"),
    ("list, every state", "/office/job?view=list&state=all"),
    ("list, one customer's gone", "/office/job?view=list&state=gone&customer=C-0003"),
    ("list, begins with", "/office/job/rows?text=j-2005&state=all"),
    ("today", "/office"),
    ("one job", "/office/job/J-200500"),
    ("scan of a job", "/office/find?q=J-200500"),
    ("search by likeness", "/office/find?q=chanel+gard+4242"),
    ("search by customer", "/office/find?q=customer+c-0004"),
    ("part finder", "/office/order/parts?part_number=braket+duct"),
    ("parts, newest", "/office/part"),
    ("one part", "/office/part/P-00042"),
    ("materials with history", "/office/material"),
)


async def medians_ms(app: FastAPI) -> list[float]:
    """Median server time of each page [ms], after one that warms up."""
    transport = httpx.ASGITransport(app=app)
    found = []
    async with httpx.AsyncClient(transport=transport, base_url=BASE) as client:
        for name, address in PAGES:
            times = []
            for _ in range(ROUNDS + 3):
                start = time.perf_counter()
                answer = await client.get(address)
                times.append(1000 * (time.perf_counter() - start))
                if answer.status_code not in (200, 303):
                    raise RuntimeError(f"{name}: {answer.status_code}")
            found.append(statistics.median(times[3:]))
    return found


def main() -> None:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as folder:
        results = []
        for name, jobs, parts, events in (
            ("small", 1_000, 200, 10_000),
            ("large", 100_000, 20_000, 1_000_000),
        ):
            start = time.perf_counter()
            database = filled(
                Path(folder) / name / "shop.db",
                jobs_count=jobs,
                parts_count=parts,
                events_count=events,
            )
            took_s = time.perf_counter() - start
            print(f"{name}: {jobs} jobs, {parts} parts, {events} events, made in {took_s:.0f} s")
            results.append(asyncio.run(medians_ms(make_app(database, ShopSettings()))))
            database.close()
        print(f"{'page':28} {'small':>9} {'large':>9}   ratio")
        for (name, _), small, large in zip(PAGES, *results, strict=True):
            print(f"{name:28} {small:6.1f} ms {large:6.1f} ms  {large / small:5.2f} x")


if __name__ == "__main__":
    main()
