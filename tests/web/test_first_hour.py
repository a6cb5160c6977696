"""A shop that starts empty is led to its first bent part, with nothing from the demo."""

import asyncio
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from server.actions.first_start import fill_once
from server.settings import ShopSettings
from server.storage.database import Database
from server.storage.migrate import migrate
from server.storage.queries.first_hour import find_first_hour
from server.web.app import make_app
from tests.conftest import Office


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[Office]:
    migrate(tmp_path / "shop.db")
    database = Database(tmp_path / "shop.db")
    fill_once(database, empty=True)
    with asyncio.Runner() as runner:
        yield Office(make_app(database, ShopSettings()), runner)
    database.close()


def test_an_empty_shop_has_published_materials_and_nothing_of_the_demo(empty: Office) -> None:
    page = empty.get("/office").text
    assert "Your first hour" in page
    assert re.search(r"\d\d metals are there from published standards", page)
    for word in ("J-10", "BRAKE-1", "Northgate", "Brightwater"):
        assert word not in page
        assert word not in empty.get("/office/job").text
        assert word not in empty.get("/office/customer").text
        assert word not in empty.get("/office/stock").text
        assert word not in empty.get("/office/brake").text


def test_every_step_leads_to_a_page_that_is_there(empty: Office) -> None:
    card = empty.get("/office").text.split("first-hour")[1].split("</section>")[0]
    links = re.findall(r'href="([^"]+)"', card)
    assert len(links) >= 7
    for link in links:
        assert empty.get(link).status_code == 200, link


def test_what_was_done_is_ticked(empty: Office) -> None:
    before = empty.get("/office").text.count('class="done"')
    empty.post("/office/customer/new", {"code": "FIRST", "name": "First Customer"})
    assert empty.get("/office").text.count('class="done"') == before + 1


def test_the_demo_shop_is_past_its_first_hour(office: Office, shop: Database) -> None:
    assert "Your first hour" not in office.get("/office").text
    with shop.reading() as session:
        assert find_first_hour(session) is None
