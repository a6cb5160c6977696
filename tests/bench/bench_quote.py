"""How long a quote takes, and reading a million rows: `python -m tests.bench.bench_quote [rows]`.

The aim is a quote under 100 ms, nesting included. Times are this machine's.
"""

import asyncio
import io
import os
import random
import statistics
import subprocess
import sys
import tempfile
import time
import tracemalloc
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import httpx
from fastapi import FastAPI

from server.actions.first_start import fill_once
from server.actions.quote import rates_now
from server.actions.quote_work import LineWish, work_out_line
from server.files.table_csv import Column, dry_run, read_table, summed_up
from server.settings import ShopSettings
from server.shop.mixed_nesting import nest_mixed
from server.shop.quote import quote
from server.shop.sheet_room import Blank, NestSettings, Sheet
from server.storage.database import Database
from server.storage.migrate import migrate
from server.web.app import make_app
from tests.unit.shop.test_quote import EXAMPLE

ROUNDS = 60


def main() -> None:
    """Print the tables."""
    quote_times()
    page_times()
    nest_times()
    import_times()
    many_rows(int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000)


def quote_times() -> None:
    rng = random.Random(1)
    print("quote of four breaks, sheet 3000 x 1500, ms")
    print(f"{'blank':<24}{'median':>9}{'worst':>9}{'proven':>9}{'within':>9}")
    for name, low, high in (("60 to 1400 mm", 60, 1400), ("15 to 60 mm", 15, 60)):
        times, proven, gaps = [], 0, []
        for _ in range(ROUNDS):
            blank = Blank(round(rng.uniform(low, high), 1), round(rng.uniform(low, high), 1))
            request = replace(EXAMPLE, part=replace(EXAMPLE.part, blank=blank))
            start = time.perf_counter()
            done = quote(request)
            times.append((time.perf_counter() - start) * 1000)
            nest = done.breaks[0].nest
            assert nest is not None
            proven += nest.proven_best
            gaps.append(1 - nest.per_sheet_count / nest.bound_per_sheet_count)
        print(
            f"{name:<24}{statistics.median(times):>9.1f}{max(times):>9.1f}"
            f"{proven / ROUNDS:>9.0%}{statistics.mean(gaps):>9.2%}"
        )


def page_times() -> None:
    """The quote's page, and working a part out with all the database is asked for."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "shop.db"
        migrate(path)
        database = Database(path)
        fill_once(database, empty=False)
        wish = LineWish("HR-3005", "A", (1, 10, 50, 250))
        with database.reading() as session:
            times = []
            for _ in range(ROUNDS):
                start = time.perf_counter()
                work_out_line(session, wish, rates_now(session))
                times.append((time.perf_counter() - start) * 1000)
        print(
            f"\npart of four breaks worked out from the shop's records, ms: first {times[0]:.1f}, "
            f"median {statistics.median(times):.1f}, worst after {max(times[1:]):.1f}"
        )
        asyncio.run(_pages(make_app(database, ShopSettings())))
        database.close()


async def _pages(app: FastAPI) -> None:
    transport = httpx.ASGITransport(app=app)
    async with httpx.AsyncClient(transport=transport, base_url="http://127.0.0.1:8040") as client:
        for address in ("/office/quote/Q-1025", "/office/quote", "/office/number?days=0"):
            times = []
            for _ in range(ROUNDS):
                start = time.perf_counter()
                answer = await client.get(address)
                times.append((time.perf_counter() - start) * 1000)
            assert answer.status_code == 200
            print(
                f"{address:<24}{statistics.median(times[1:]):>8.1f} ms, {len(answer.text):,} letters"
            )
        start = time.perf_counter()
        await client.get("/office/quote/Q-1025/quote.pdf")
        first = time.perf_counter() - start
        start = time.perf_counter()
        await client.get("/office/quote/Q-1025/quote.pdf")
        again = time.perf_counter() - start
        print(f"its paper: first {first * 1000:.0f} ms, again {again * 1000:.0f} ms")


def nest_times() -> None:
    print("\nseveral parts on shared sheets")
    for count in (20, 80, 300, 600):
        wanted = [
            (Blank(300.0, 200.0), count // 2),
            (Blank(120.0, 80.0, "along_width"), count // 2),
        ]
        start = time.perf_counter()
        nest = nest_mixed(wanted=wanted, sheet=Sheet(3000, 1500), settings=NestSettings(5.0, 10.0))
        spent = time.perf_counter() - start
        print(
            f"{count:>6} blanks {spent * 1000:>8.0f} ms, {nest.sheets_count} sheets "
            f"(at least {nest.least_sheets_count})"
        )


def import_times() -> None:
    print("\nimport, s (no solver, no packing library)")
    for module in ("server.shop.quote", "server.shop.schedule", "server.shop.schedule_reason"):
        code = (
            "import sys, time; t = time.perf_counter(); import " + module + "; "
            "print(time.perf_counter() - t, 'ortools' in sys.modules, 'rectpack' in sys.modules)"
        )
        told = subprocess.run(
            [sys.executable, "-c", code], capture_output=True, text=True, check=True, env=os.environ
        )
        print(f"{module:<32}{told.stdout.strip()}")


class Lines(io.RawIOBase):
    """A CSV file of many rows that is never all in memory."""

    def __init__(self, count: int) -> None:
        self.rows: Iterator[bytes] = iter(self._made(count))
        self.at_start = True

    @staticmethod
    def _made(count: int) -> Iterator[bytes]:
        yield b"\xef\xbb\xbfnumber;name;mass_kg\r\n"
        for n in range(count):
            yield b"P-%d;plate %d;1,25\r\n" % (n, n % 97)

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: object) -> int:
        line = next(self.rows, b"")
        memoryview(buffer)[: len(line)] = line  # type: ignore[arg-type]
        return len(line)


class Seekable(io.BufferedReader):
    """Lets the head be read twice, as from a file."""

    def seek(self, offset: int, whence: int = 0, /) -> int:
        assert (offset, whence) == (0, 0)
        return 0

    def read(self, size: int | None = -1, /) -> bytes:
        return self.peek(65_536)[:size] if size == 65_536 else super().read(size)


def many_rows(count: int) -> None:
    print(f"\ndry run of {count:,} rows")
    columns = (Column("number", required=True), Column("name"), Column("mass_kg"))
    source = Seekable(Lines(count), 131_072)
    tracemalloc.start()
    start = time.perf_counter()
    seen = 0
    for _ in read_table(source, columns):
        seen += 1
    spent = time.perf_counter() - start
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    print(f"read only: {spent:.1f} s under tracing, {seen:,} rows, peak {peak / 1e6:.2f} MB")
    start = time.perf_counter()
    fates = dry_run(
        read_table(Seekable(Lines(count), 131_072), columns), key="number", known=lambda _: None
    )
    counted = summed_up(fates)
    print(f"dry run:   {time.perf_counter() - start:.1f} s, {counted.counts}")


if __name__ == "__main__":
    main()
