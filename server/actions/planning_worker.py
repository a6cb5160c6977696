"""The other process: takes planning errands one by one, tells how far it is, stops when asked.

Nothing of the database or the web is imported here, so that the process starts quickly and plans
without holding up anybody who looks at a page.
"""

import os
import time
import traceback
from dataclasses import dataclass
from multiprocessing.connection import Connection
from typing import Any, Protocol

from server.errors import ShopError
from server.planning.errand import Checkers, Errand, Outcome, Tell, Told, carry_out
from server.shop.schedule_errand import Scheduled, ScheduleErrand, carry_out_schedule

AnyErrand = Errand | ScheduleErrand
AnyOutcome = Outcome | Scheduled

TELL_EVERY_S = 0.1
LESS_URGENT = 10


class StopNumber(Protocol):
    """A number both processes see: errands up to it are to stop."""

    value: int


@dataclass(frozen=True, slots=True)
class Asked:
    """One errand with its number; numbers grow."""

    number: int
    errand: AnyErrand


@dataclass(frozen=True, slots=True)
class Answered:
    """What an errand came to: an outcome, a trouble a person can fix, or our own bug's trace."""

    number: int
    outcome: AnyOutcome | None = None
    trouble: tuple[str, Any, Any, str | None] | None = None
    bug: str = ""


@dataclass(frozen=True, slots=True)
class Telling:
    """How far the errand is."""

    number: int
    told: Told


def work(connection: Connection, stopped: StopNumber) -> None:
    """Carry out errands until the other end is gone. `stopped` holds the number to be stopped."""
    if hasattr(os, "nice"):
        os.nice(LESS_URGENT)  # whoever looks at a page comes first
    checkers = Checkers()
    while True:
        try:
            asked: Asked = connection.recv()
            connection.send(_answer(asked, connection, stopped, checkers))
        except (EOFError, BrokenPipeError, ConnectionResetError, KeyboardInterrupt):
            return


def _answer(
    asked: Asked, connection: Connection, stopped: StopNumber, checkers: Checkers
) -> Answered:
    last_s = time.monotonic()

    def tell(told: Told) -> bool:
        nonlocal last_s
        now_s = time.monotonic()
        if now_s - last_s >= TELL_EVERY_S:
            last_s = now_s
            connection.send(Telling(asked.number, told))
        return stopped.value < asked.number

    try:
        return Answered(asked.number, _carried_out(asked.errand, tell, checkers))
    except ShopError as trouble:
        told = (trouble.code, trouble.what, trouble.remedy, trouble.where)
        return Answered(asked.number, trouble=told)
    except (EOFError, BrokenPipeError, ConnectionResetError):
        raise
    except Exception:  # noqa: BLE001 - our own bug: told to the other process, which logs it
        return Answered(asked.number, bug=traceback.format_exc())


def _carried_out(errand: AnyErrand, tell: Tell, checkers: Checkers) -> AnyOutcome:
    if isinstance(errand, ScheduleErrand):
        return carry_out_schedule(errand, tell)
    return carry_out(errand, tell, checkers)
