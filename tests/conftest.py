"""What every test may ask for: a shop of its own, and an office that talks to it."""

import asyncio
import shutil
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import httpx
import pytest
from fastapi import FastAPI
from hypothesis import settings

settings.register_profile("same every time", derandomize=True, deadline=None)
settings.load_profile("same every time")

BASE = "http://127.0.0.1:8040"


@pytest.fixture(scope="session")
def filled_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A migrated database with the demo shop; made once, copied for each test."""
    from server.actions.first_start import fill_once
    from server.storage.database import Database
    from server.storage.migrate import migrate

    path = tmp_path_factory.mktemp("filled") / "shop.db"
    migrate(path)
    database = Database(path)
    fill_once(database, empty=False)
    database.close()
    return path


@pytest.fixture
def shop(filled_file: Path, tmp_path: Path) -> Iterator[Any]:
    """A shop of the test's own: the demo, changed by nobody else."""
    from server.storage.database import Database

    path = tmp_path / "shop.db"
    shutil.copyfile(filled_file, path)
    database = Database(path)
    yield database
    database.close()


@pytest.fixture
def app(shop: Any) -> Iterator[FastAPI]:
    """The application on the test's own shop."""
    from server.settings import ShopSettings
    from server.web.app import make_app

    made = make_app(shop, ShopSettings())
    yield made
    made.state.planner.close()
    made.state.house.practices.end_all()


@dataclass
class Office:
    """A browser at the office PC, without the browser: sends what one would send."""

    app: FastAPI
    runner: asyncio.Runner
    base: str = BASE
    cookies: httpx.Cookies = field(default_factory=httpx.Cookies)

    def get(self, path: str, headers: Mapping[str, str] | None = None) -> httpx.Response:
        return self.send("GET", path, headers=headers)

    def post(
        self,
        path: str,
        typed: Mapping[str, str] | None = None,
        *,
        headers: Mapping[str, str | None] | None = None,
    ) -> httpx.Response:
        """A form sent from our own page: the right Origin, unless the test says otherwise."""
        sent = {"Origin": self.base, **(headers or {})}
        kept = {name: value for name, value in sent.items() if value is not None}
        return self.send("POST", path, headers=kept, data=dict(typed or {}))

    def send(self, method: str, path: str, **wanted: Any) -> httpx.Response:
        return self.runner.run(self._send(method, path, **wanted))

    async def _send(self, method: str, path: str, **wanted: Any) -> httpx.Response:
        transport = httpx.ASGITransport(app=self.app, raise_app_exceptions=False)
        async with httpx.AsyncClient(
            transport=transport, base_url=self.base, cookies=self.cookies
        ) as client:
            response = await client.request(method, path, **wanted)
            self.cookies = client.cookies
            return response


@pytest.fixture
def office(app: FastAPI) -> Iterator[Office]:
    """Somebody at the office PC."""
    with asyncio.Runner() as runner:
        yield Office(app, runner)
