"""Server time, queries and weight of the pages a tablet waits for.

    python -m tests.bench.bench_pages

Times are compared in the same run with a bare framework page, so the machine cancels out.
"""

import asyncio
import gzip
import re
import statistics
import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import httpx
from fastapi import FastAPI
from sqlalchemy import event
from starlette.responses import HTMLResponse

from server.actions.first_start import fill_once
from server.actions.run import start_job
from server.settings import ShopSettings, house_folder
from server.storage.database import Database
from server.storage.migrate import migrate
from server.storage.tables.part import Part
from server.web.app import make_app
from server.web.kept_page import KeptPages

ROUNDS = 200
PARTS = 10_000
BASE = "http://127.0.0.1:8040"


def bare_app() -> FastAPI:
    """A page that only says hello."""
    app = FastAPI()

    @app.get("/")
    def hello() -> HTMLResponse:
        return HTMLResponse("<p>hello</p>")

    return app


async def median_ms(app: FastAPI, path: str, *, fresh: bool = False) -> tuple[float, bytes]:
    """Median server time of a page in milliseconds, and its content; fresh: never kept."""
    transport = httpx.ASGITransport(app=app)
    async with httpx.AsyncClient(transport=transport, base_url=BASE) as client:
        body = b""
        times = []
        for _ in range(ROUNDS):
            if fresh:
                app.state.house.pages = KeptPages()
            start = time.perf_counter()
            body = (await client.get(path)).content
            times.append(1000 * (time.perf_counter() - start))
    return statistics.median(times[ROUNDS // 10 :]), body


def counted(database: Database, act: Callable[[], Any]) -> int:
    """How many statements an act sends to the database."""
    seen: list[str] = []

    def note(*given: Any) -> None:
        if given[2].lstrip().upper().startswith(("SELECT", "INSERT", "UPDATE", "DELETE")):
            seen.append(given[2])

    for engine in (database.reader, database.writer):
        event.listen(engine, "before_cursor_execute", note)
    act()
    return len(seen)


def modules_of(name: str) -> set[str]:
    """The modules a script loads, and those they load."""
    if not name.startswith("js/"):
        return set()
    text = (house_folder("static") / name).read_text(encoding="utf-8")
    found = {f"js/{other}" for other in re.findall(r'(?:from|import) "\./([\w.]+)"', text)}
    return found | {deeper for one in found for deeper in modules_of(one)}


def weight_kb(body: bytes) -> float:
    """Page with everything it loads, compressed as it is sent, in kB."""
    text = body.decode()
    total = len(gzip.compress(body, 5))
    named = {part[8:].split("?")[0] for part in text.split('"') if part.startswith("/static/")}
    for name in named | {module for one in named for module in modules_of(one)}:
        content = (house_folder("static") / name).read_bytes()
        packed = name.endswith((".woff2", ".png"))
        total += len(content) if packed else len(gzip.compress(content, 5))
    for font in (house_folder("static") / "vendor/b612").glob("*.woff2"):
        total += font.stat().st_size
    return total / 1000


def main() -> None:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "shop.db"
        migrate(path)
        database = Database(path)
        fill_once(database, empty=False)
        with database.writing() as session:
            run_id = start_job(session, "J-1047", settings=ShopSettings(), by="bench").id
            session.add_all(
                Part(number=f"BULK-{number:05d}", name=f"bulk bracket {number * 7 % 9973}")
                for number in range(PARTS)
            )
        app = make_app(database, ShopSettings())
        hello, _ = asyncio.run(median_ms(bare_app(), "/"))
        print(f"bare page                    {hello:7.2f} ms   1.0 x")
        for name, address in (
            ("brake step page", f"/brake/run/{run_id}"),
            ("brake step page, first time", f"/brake/run/{run_id}"),
            ("brake queue", "/brake"),
            ("recall by exact number", "/office/find?q=BULK-07777"),
            ("recall by likeness", "/office/find?q=bulk+braket+4242"),
            ("part list", "/office/part"),
        ):
            fresh = "first time" in name
            taken, body = asyncio.run(median_ms(app, address, fresh=fresh))
            if fresh:
                app.state.house.pages = KeptPages()
            queries = counted(database, partial(once, app, address))
            weight = f"{weight_kb(body):6.1f} kB" if body else ""
            print(f"{name:28} {taken:7.2f} ms {taken / hello:5.1f} x  {queries} queries  {weight}")
        database.close()


def once(app: FastAPI, path: str) -> None:
    """One request."""

    async def ask() -> None:
        transport = httpx.ASGITransport(app=app)
        async with httpx.AsyncClient(transport=transport, base_url=BASE) as client:
            await client.get(path)

    asyncio.run(ask())


if __name__ == "__main__":
    main()
