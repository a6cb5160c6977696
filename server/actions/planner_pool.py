"""Planning in other processes, so that every page keeps answering while a long plan is made.

Two lanes with one process each, started when first needed: `plan` for what may take long, `check`
for what a person waits for while dragging a step. An errand that does not stop when it is asked to
is ended with its process; the next errand starts another one. Processes are spawned, not forked:
the same on Windows, macOS and Linux.
"""

import logging
import multiprocessing
import threading
import time
from collections.abc import Callable
from concurrent.futures import Future, wait
from contextlib import suppress
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from queue import SimpleQueue
from typing import Literal

from server.actions.planning_worker import (
    Answered,
    AnyErrand,
    AnyOutcome,
    Asked,
    StopNumber,
    Telling,
    work,
)
from server.errors import ShopError
from server.planning.errand import Told

log = logging.getLogger("bendwright")
LaneName = Literal["plan", "check"]
LANES: tuple[LaneName, ...] = ("plan", "check")
LOOK_EVERY_S = 0.05
PATIENCE_S = 3.0
"""How long an errand may go on after it was asked to stop."""


class StoppedError(Exception):
    """The errand was cancelled, or the server is stopping."""


@dataclass(frozen=True, slots=True)
class Ending:
    """How an errand ended: with an outcome, or with a ShopError, a `StoppedError` or a bug."""

    outcome: AnyOutcome | None
    error: Exception | None = None


STOPPED = Ending(None, StoppedError())


@dataclass
class Handle:
    """One errand on its way: how far it is, its outcome, and the way to stop it.

    `future` ends with the outcome, a ShopError, or `StoppedError`.
    """

    number: int
    errand: AnyErrand
    then: Callable[[Ending], None] | None = None
    future: "Future[AnyOutcome]" = field(default_factory=Future)
    told: Told = field(default_factory=lambda: Told("waiting for its turn"))
    asked_s: float = field(default_factory=time.monotonic)
    asked_to_stop_s: float | None = None
    discard: bool = False

    def stop(self, *, discard: bool) -> None:
        """Ask to stop: with what was found so far, or with nothing."""
        self.discard = self.discard or discard
        if self.asked_to_stop_s is None:
            self.asked_to_stop_s = time.monotonic()

    def wait(self, most_s: float) -> bool:
        """Wait for the end, but not longer than this; whether it has ended."""
        return bool(wait([self.future], most_s).done)

    def end(self, ending: Ending) -> None:
        """Pass the ending on: first to who asked, so that others find it kept."""
        if self.then is not None:
            try:
                self.then(ending)
            except Exception as error:
                log.exception("what planning came to could not be kept")
                ending = Ending(None, error)
        if ending.outcome is not None:
            self.future.set_result(ending.outcome)
        else:
            self.future.set_exception(ending.error or StoppedError())

    @property
    def under_way(self) -> bool:
        """Whether it has not ended yet."""
        return not self.future.done()

    @property
    def too_late(self) -> bool:
        """Whether it was asked to stop and did not."""
        since = self.asked_to_stop_s
        return since is not None and time.monotonic() - since > PATIENCE_S


class PlannerPool:
    """Both lanes. Nothing is started before the first errand."""

    def __init__(self) -> None:
        self._lanes = {name: _Lane(name) for name in LANES}
        self._named: dict[int, Handle] = {}

    def ask(
        self,
        errand: AnyErrand,
        *,
        lane: LaneName = "plan",
        then: Callable[[Ending], None] | None = None,
        name: int | None = None,
    ) -> Handle:
        """Send an errand on its way. `then` is called once it has ended, before others see it end.

        An errand with a name is found again by it as long as it is under way.
        """
        handle = self._lanes[lane].ask(errand, then)
        if name is not None:
            self._named = {known: one for known, one in self._named.items() if one.under_way}
            self._named[name] = handle
        return handle

    def find(self, name: int) -> Handle | None:
        """The errand of a name while it is under way, else None."""
        handle = self._named.get(name)
        return handle if handle is not None and handle.under_way else None

    def warm(self, lane: LaneName = "check") -> None:
        """Start a lane's process now, so that the first errand need not wait for it."""
        self._lanes[lane].warm()

    def close(self) -> None:
        """Stop every errand and end the processes."""
        for lane in self._lanes.values():
            lane.close()


class _Lane:
    """One process and the thread that speaks with it."""

    def __init__(self, name: str) -> None:
        self.name = name
        self._context = multiprocessing.get_context("spawn")
        self._waiting: SimpleQueue[Handle | None] = SimpleQueue()
        self._lock = threading.Lock()
        self._number = 0
        self._thread: threading.Thread | None = None
        self._process: BaseProcess | None = None
        self._connection: Connection | None = None
        self._stopped: StopNumber | None = None
        self._now: Handle | None = None
        self._closed = False

    def ask(self, errand: AnyErrand, then: Callable[[Ending], None] | None) -> Handle:
        with self._lock:
            self._number += 1
            handle = Handle(self._number, errand, then)
            if not self._closed:
                self._waiting.put(handle)
                self._run_thread()
                return handle
        handle.end(STOPPED)
        return handle

    def warm(self) -> None:
        with self._lock:
            if not self._closed:
                self._run_thread()

    def close(self) -> None:
        with self._lock:
            self._closed = True
            thread = self._thread
            now = self._now
        if now is not None:
            now.stop(discard=True)
        if thread is not None:
            self._waiting.put(None)
            thread.join(timeout=PATIENCE_S)
        self._end_process()

    def _run_thread(self) -> None:
        if self._thread is None:
            self._thread = threading.Thread(
                target=self._speak, name=f"planner {self.name}", daemon=True
            )
            self._thread.start()

    def _speak(self) -> None:
        with suppress(OSError):  # tried again with the first errand
            self._start_process()
        while True:
            handle = self._waiting.get()
            if handle is None or self._closed:
                self._let_go(handle)
                return
            if handle.asked_to_stop_s is not None:
                handle.end(STOPPED)
                continue
            self._now = handle
            self._carry_out(handle)
            self._now = None

    def _let_go(self, handle: Handle | None) -> None:
        """Nothing that still waits is carried out any more."""
        while handle is not None or not self._waiting.empty():
            if handle is not None:
                handle.end(STOPPED)
            handle = None if self._waiting.empty() else self._waiting.get()

    def _carry_out(self, handle: Handle) -> None:
        answered: Answered | None = None
        try:
            connection = self._start_process()
            connection.send(Asked(handle.number, handle.errand))
            answered = self._answer(handle, connection)
        except (EOFError, OSError) as error:
            log.warning("the planner's process ended while it was at work: %r", error)
        except Exception:
            log.exception("an errand could not be sent to the planner")
        if answered is None or handle.too_late or self._closed:
            self._end_process()
        if handle.discard or self._closed:
            handle.end(STOPPED)
        else:
            handle.end(_ending(answered))

    def _answer(self, handle: Handle, connection: Connection) -> Answered | None:
        """Listen until the errand has ended; None when it had to be given up."""
        assert self._stopped is not None
        while True:
            if handle.asked_to_stop_s is not None:
                self._stopped.value = handle.number
            if handle.too_late or self._closed:
                return None
            if not connection.poll(LOOK_EVERY_S):
                continue
            told = connection.recv()
            if isinstance(told, Telling):
                handle.told = told.told
            elif isinstance(told, Answered):
                return told

    def _start_process(self) -> Connection:
        if self._process is not None and self._process.is_alive() and self._connection is not None:
            return self._connection
        self._end_process()
        here, there = self._context.Pipe()
        self._stopped = self._context.Value("q", 0, lock=False)
        self._process = self._context.Process(
            target=work, args=(there, self._stopped), name=f"planner {self.name}", daemon=True
        )
        self._process.start()
        there.close()
        self._connection = here
        return here

    def _end_process(self) -> None:
        process, self._process = self._process, None
        connection, self._connection = self._connection, None
        if connection is not None:
            connection.close()
        if process is not None:
            process.kill()  # it keeps nothing that would have to be put in order
            process.join(timeout=PATIENCE_S)


def _ending(answered: Answered | None) -> Ending:
    if answered is None:
        return Ending(None, _process_ended())
    if answered.trouble is not None:
        code, what, remedy, where = answered.trouble
        return Ending(None, ShopError(code, what, remedy=remedy, where=where))
    if answered.outcome is None:
        log.error("planning failed: %s", answered.bug)
        return Ending(None, RuntimeError(answered.bug))
    return Ending(answered.outcome)


def _process_ended() -> ShopError:
    return ShopError(
        "planner_ended",
        "The planner stopped in the middle.",
        remedy="Plan again; if it stays, tell whoever keeps the program.",
    )
