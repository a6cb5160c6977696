"""The live stream: it tells that something changed, that it is still there, and when it ends."""

import asyncio
from collections.abc import AsyncIterator, Callable
from functools import partial
from typing import Any

import pytest

from server.actions.run import start_job
from server.actions.running import count_parts, finish_run, start_run
from server.settings import ShopSettings
from server.storage.queries.job import find_run_mark
from server.web import live as module
from server.web.live import Live, Told, events_of


def mark_of(shop: Any, run_id: int) -> str | None:
    with shop.reading() as session:
        found = find_run_mark(session, run_id)
    return None if found is None or found.done else str(found)


def begun(shop: Any) -> int:
    with shop.writing() as session:
        run = start_job(session, "J-1041", settings=ShopSettings(), by="Ann")
        start_run(session, run.id or 0, by="Ann")
        return run.id or 0


async def heard(words: AsyncIterator[Told]) -> Told:
    return await asyncio.wait_for(anext(words), 3)


def acted(shop: Any, act: Callable[[Any], object]) -> None:
    with shop.writing() as session:
        act(session)


def test_a_change_by_anybody_is_told_with_another_version(shop: Any) -> None:
    run_id = begun(shop)

    async def scene() -> None:
        live = Live(shop)
        words = live.follow(partial(mark_of, shop, run_id))
        first = await heard(words)
        assert first.word == "changed"
        await asyncio.to_thread(
            acted, shop, lambda session: count_parts(session, run_id, good=1, by="Bo")
        )
        second = await heard(words)
        assert second.word == "changed"
        assert second.version != first.version
        await asyncio.to_thread(acted, shop, lambda session: finish_run(session, run_id, by="Bo"))
        assert (await heard(words)).word == "ended"
        with pytest.raises(StopAsyncIteration):
            await heard(words)
        assert live.followers == 0

    asyncio.run(scene())


def test_a_quiet_shop_is_still_here(shop: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "STILL_HERE_S", 0.05)
    run_id = begun(shop)

    async def scene() -> None:
        live = Live(shop)
        events = events_of(live, partial(mark_of, shop, run_id))
        assert (await anext(events)).event == "changed"
        here = await asyncio.wait_for(anext(events), 3)
        assert here.event == "here"
        assert here.data["boot"] == live.boot

    asyncio.run(scene())


def test_a_page_that_leaves_is_forgotten(shop: Any) -> None:
    run_id = begun(shop)

    async def scene() -> None:
        live = Live(shop)
        words = live.follow(partial(mark_of, shop, run_id))
        await heard(words)
        assert live.followers == 1
        await words.aclose()  # type: ignore[attr-defined]
        assert live.followers == 0
        await asyncio.to_thread(
            acted, shop, lambda session: count_parts(session, run_id, good=1, by="Bo")
        )

    asyncio.run(scene())
