"""Twenty tablets live on one server: how long until each hears of a change, and of the new page.

    python -m tests.bench.bench_live [tablets] [changes]

A real server in its own process and real connections. One tablet counts a part; the time runs from
sending the count until every tablet's stream told of the new version (event), and until each has
fetched the page again as its script does (page). Two rounds: all tablets on one run, and on runs of
their own while one of them changes. A third round has nobody listening, for comparison.
"""

import asyncio
import json
import math
import socket
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import httpx

from server.actions.run import start_part
from server.actions.running import start_run
from server.cli.serve import open_shop
from server.settings import ShopSettings

TABLETS, CHANGES = 20, 100
PARTS = ("BR-1040", "HR-3005", "CB-6120", "CH-2210")


def share(values: list[float], ratio: float) -> float:
    """The value that a share of all do not exceed."""
    return sorted(values)[min(len(values) - 1, math.ceil(ratio * len(values)) - 1)]


class Tablet:
    """One open run page: listens, and fetches the page again when told."""

    def __init__(self, client: httpx.AsyncClient, run_id: int) -> None:
        self.client, self.run_id = client, run_id
        self.version = ""
        self.told = asyncio.Event()
        self.told_at, self.shown_at = 0.0, 0.0
        self.pages_count = 0

    async def listen(self) -> None:
        """Follow the stream until cancelled."""
        async with self.client.stream("GET", f"/brake/run/{self.run_id}/live") as stream:
            async for line in stream.aiter_lines():
                if not line.startswith("data:"):
                    continue
                version = json.loads(line[5:])["version"]
                if version == self.version:
                    continue
                self.version, self.told_at = version, time.perf_counter()
                page = await self.client.get(f"/brake/run/{self.run_id}")
                assert page.status_code == 200
                self.shown_at = time.perf_counter()
                self.pages_count += 1
                self.told.set()


async def count(client: httpx.AsyncClient, base: str, run_id: int) -> float:
    """Count a part; returns how long the answer took [ms]."""
    start = time.perf_counter()
    answer = await client.post(
        f"/brake/run/{run_id}/count", data={"good": "1"}, headers={"Origin": base}
    )
    assert answer.status_code == 204, answer.text
    return 1000 * (time.perf_counter() - start)


async def round_of(base: str, runs: list[int], changes: int) -> tuple[list[float], ...]:
    """(event, page, count) times in milliseconds of all tablets that had to hear."""
    limits = httpx.Limits(max_connections=None)
    async with httpx.AsyncClient(base_url=base, timeout=30, limits=limits) as client:
        tablets = [Tablet(client, run_id) for run_id in runs]
        listening = [asyncio.create_task(tablet.listen()) for tablet in tablets]
        for tablet in tablets:
            await tablet.told.wait()
        events: list[float] = []
        pages: list[float] = []
        counts: list[float] = []
        target = runs[0] if runs else 1
        for _ in range(changes):
            hearers = [tablet for tablet in tablets if tablet.run_id == target]
            for tablet in hearers:
                tablet.told.clear()
            start = time.perf_counter()
            counts.append(await count(client, base, target))
            for tablet in hearers:
                await asyncio.wait_for(tablet.told.wait(), 20)
                events.append(1000 * (tablet.told_at - start))
                pages.append(1000 * (tablet.shown_at - start))
            await asyncio.sleep(0.02)
        for task in listening:
            task.cancel()
        await asyncio.gather(*listening, return_exceptions=True)
    return events, pages, counts


def told(name: str, values: list[float]) -> str:
    """One line of the table."""
    if not values:
        return f"{name:34}       nobody had to hear"
    return (
        f"{name:34} p50 {statistics.median(values):7.1f} ms   p99 {share(values, 0.99):7.1f} ms"
        f"   most {max(values):7.1f} ms   ({len(values)})"
    )


def opened(folder: Path, how_many: int) -> list[int]:
    """A demo shop with a run for each tablet, as far as there are parts, all begun."""
    shop = open_shop(folder, empty=False)
    ids = []
    with shop.writing() as session:
        for number in PARTS:
            run = start_part(session, number, quantity=9999, settings=ShopSettings(), by="bench")
            start_run(session, run.id or 0, by="bench")
            ids.append(run.id or 0)
    shop.close()
    return [ids[index % len(ids)] for index in range(how_many)]


def main() -> None:
    """Measure and print."""
    tablets = int(sys.argv[1]) if len(sys.argv) > 1 else TABLETS
    changes = int(sys.argv[2]) if len(sys.argv) > 2 else CHANGES
    with tempfile.TemporaryDirectory() as name, socket.socket() as probe:
        runs = opened(Path(name), tablets)
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
        probe.close()
        command = [sys.executable, "-m", "server.cli.main", "serve"]
        command += ["--port", str(port), "--data", name]
        with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as server:
            assert server.stdout is not None
            base = server.stdout.readline().strip()
            httpx.get(f"{base}/health", timeout=30)  # it is up when it answers
            _, _, alone = asyncio.run(round_of(base, [], changes))
            together = asyncio.run(round_of(base, [runs[0]] * tablets, changes))
            apart = asyncio.run(round_of(base, runs, changes))
            server.terminate()
    print(f"{tablets} tablets, {changes} counts")
    print(told("count, nobody listens", alone))
    for where, (events, pages, counts) in (("one run", together), ("four runs", apart)):
        print(told(f"{where}: count answered", counts))
        print(told(f"{where}: every tablet told", events))
        print(told(f"{where}: every tablet shows it", pages))


if __name__ == "__main__":
    main()
