"""The live stream: tells an open page that what it shows has changed, and at which version.

It says nothing else. The page then asks for what is new, so that a word that is lost can never show
a wrong number. Every few seconds it says that it is still there; a page that hears nothing knows
that it is alone.
"""

import asyncio
import secrets
from collections.abc import AsyncIterator, Callable
from dataclasses import dataclass, field

from anyio import to_thread
from fastapi.sse import ServerSentEvent

from server.storage.database import Database

STILL_HERE_S = 4.0
SETTLE_S = 0.02

Mark = str | None


@dataclass(frozen=True, slots=True)
class Told:
    """One word to a page: `changed` with the version now, `here`, or `ended`."""

    word: str
    version: str = ""


@dataclass
class Live:
    """Wakes the streams of one database after every change of it."""

    database: Database
    boot: str = field(default_factory=lambda: secrets.token_hex(4))
    changes: int = 0
    _waiting: dict[asyncio.Event, asyncio.AbstractEventLoop] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.database.after_commit.append(self.changed)

    def changed(self) -> None:
        """Something was committed; called from whatever thread did it."""
        self.changes += 1
        for event, loop in list(self._waiting.items()):
            if not loop.is_closed():
                loop.call_soon_threadsafe(event.set)

    @property
    def followers(self) -> int:
        """How many pages listen now."""
        return len(self._waiting)

    async def follow(self, mark: Callable[[], Mark]) -> AsyncIterator[Told]:
        """What one page is told; `mark` reads what it shows, None when there is nothing more."""
        event = asyncio.Event()
        self._waiting[event] = asyncio.get_running_loop()
        seen: Mark = None
        try:
            while True:
                event.clear()
                now = await to_thread.run_sync(mark)
                if now is None:
                    yield Told("ended")
                    return
                yield Told("here" if now == seen else "changed", now)
                seen = now
                await _until(event)
        finally:
            self._waiting.pop(event, None)


async def events_of(live: Live, mark: Callable[[], Mark]) -> AsyncIterator[ServerSentEvent]:
    """The stream of one page, as it goes over the wire; every word names the server's own start."""
    async for told in live.follow(mark):
        yield ServerSentEvent(
            event=told.word, data={"version": told.version, "boot": live.boot}, retry=2000
        )


async def _until(event: asyncio.Event) -> None:
    """Wait for a change, or until it is time to say that we are still here."""
    try:
        await asyncio.wait_for(event.wait(), STILL_HERE_S)
    except TimeoutError:
        return
    await asyncio.sleep(SETTLE_S)  # several changes at once are told once
