"""Care of a brake: what is due by date or by running hours, whichever comes first."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from server.errors import Amount, Sentence, ShopError, say

CareState = Literal["overdue", "due soon", "later", "never done"]
MANUAL_FIRST = "common practice, no source; the machine's manual comes first"
SOON_SHARE = 0.1
"""Share of the interval before it is due from which it is shown as due soon. Common practice."""


@dataclass(frozen=True, slots=True)
class CareTask:
    """One thing to look after, every so many days or running hours."""

    name: str
    kind: str
    what: str
    every_days: int | None = None
    every_h: float | None = None
    source: str = MANUAL_FIRST

    def __post_init__(self) -> None:
        intervals = [value for value in (self.every_days, self.every_h) if value is not None]
        if not intervals or min(intervals) <= 0:
            raise ShopError(
                "no_interval",
                say("{name} has no interval.", name=self.name),
                remedy="Give days, running hours, or both, above zero.",
                where="every_days",
            )


@dataclass(frozen=True, slots=True)
class CareDone:
    """Somebody did it; `meter_h` is the brake's hour meter then."""

    task: str
    at: datetime
    meter_h: float | None = None
    by: str = ""
    undone: bool = False


@dataclass(frozen=True, slots=True)
class HourReading:
    """The brake's hour meter as somebody read it."""

    at: datetime
    meter_h: float


@dataclass(frozen=True, slots=True)
class CareDue:
    """When a task is due. Days and hours left are below zero when it is overdue."""

    task: CareTask
    state: CareState
    last: CareDone | None
    due_at: datetime | None
    left_days: float | None
    left_h: float | None
    told: Sentence


STARTING_CARE: tuple[CareTask, ...] = (
    CareTask("Guards, light curtain, emergency stop, pedal", "check",
             "Try every one before the first part; do not work when one does not stop the ram.",
             every_days=1),
    CareTask("Lubrication points", "lubrication", "Grease every point on the plate.", every_h=40),
    CareTask("Ram guides", "lubrication", "Wipe clean, look for scoring, oil.", every_h=40),
    CareTask("Tool inspection", "tools", "Look for cracks, chipped edges, worn shoulders and tips.",
             every_days=7),
    CareTask("Back gauge square", "gauge", "Measure both fingers to the die at two places.",
             every_days=30),
    CareTask("Oil level", "hydraulics", "Read the glass with the ram up; look for leaks.",
             every_days=7),
    CareTask("Oil filter", "hydraulics", "Change it, or at once when its indicator shows.",
             every_h=1000, every_days=365),
    CareTask("Oil age", "hydraulics", "Have the oil tested, or change it.",
             every_h=2000, every_days=730),
    CareTask("Level and anchors", "frame", "Level along and across; check the anchor nuts.",
             every_days=365),
)  # fmt: skip
"""What a new shop starts with; every interval is to be replaced by the manual's."""


def care_list(
    tasks: Iterable[CareTask],
    done: Iterable[CareDone],
    *,
    now: datetime,
    readings: Sequence[HourReading] = (),
) -> tuple[CareDue, ...]:
    """Every task with when it is due, the most urgent first.

    Args:
        tasks: what to look after.
        done: what was done; undone entries are left out.
        now: the time to judge by.
        readings: readings of the hour meter, for tasks by running hours.

    Returns: one `CareDue` for every task.
    """
    entries = [one for one in done if not one.undone and one.at <= now]
    meter_h = _meter_now(readings, now)
    due = [_due(task, entries, now, meter_h, readings) for task in tasks]
    order: dict[CareState, int] = {"overdue": 0, "never done": 1, "due soon": 2, "later": 3}
    return tuple(
        sorted(
            due,
            key=lambda one: (
                order[one.state],
                one.due_at.timestamp() if one.due_at else 0.0,
                one.task.name,
            ),
        )
    )


def _due(
    task: CareTask,
    entries: list[CareDone],
    now: datetime,
    meter_h: float | None,
    readings: Sequence[HourReading],
) -> CareDue:
    last = max(
        (one for one in entries if one.task == task.name), key=lambda one: one.at, default=None
    )
    if last is None:
        told = say("{name} was never recorded.", name=task.name)
        return CareDue(task, "never done", None, None, None, None, told)
    left_days = left_h = None
    shares, dates = [], []
    if task.every_days is not None:
        due = last.at + timedelta(days=task.every_days)
        left_days = (due - now) / timedelta(days=1)
        shares.append(left_days / task.every_days)
        dates.append(due)
    if task.every_h is not None and last.meter_h is not None and meter_h is not None:
        left_h = last.meter_h + task.every_h - meter_h
        shares.append(left_h / task.every_h)
        per_day = _hours_per_day(readings, now)
        if per_day:
            dates.append(now + timedelta(days=left_h / per_day))
    if not shares:
        told = say("{name}: the hour meter was not read when it was done.", name=task.name)
        return CareDue(task, "never done", last, None, None, None, told)
    state: CareState = "later"
    if min(shares) <= 0:
        state = "overdue"
    elif min(shares) <= SOON_SHARE:
        state = "due soon"
    return CareDue(
        task, state, last, min(dates, default=None), left_days, left_h,
        _told(task, state, left_days, left_h),
    )  # fmt: skip


def _told(
    task: CareTask, state: CareState, left_days: float | None, left_h: float | None
) -> Sentence:
    parts = []
    if left_days is not None:
        parts.append(f"{abs(left_days):.0f} days {'over' if left_days < 0 else 'left'}")
    if left_h is not None:
        parts.append(f"{abs(left_h):.0f} running hours {'over' if left_h < 0 else 'left'}")
    return say("{name}: {state}, {left}.", name=task.name, state=state, left=" and ".join(parts))


def _meter_now(readings: Sequence[HourReading], now: datetime) -> float | None:
    """The latest reading; the meter only goes on while the brake runs, so nothing is added."""
    past = [reading for reading in readings if reading.at <= now]
    return max(past, key=lambda reading: reading.at).meter_h if past else None


def _hours_per_day(readings: Sequence[HourReading], now: datetime) -> float | None:
    """Running hours a day between the first and the last reading; None for less than a day."""
    past = sorted((r for r in readings if r.at <= now), key=lambda reading: reading.at)
    if len(past) < 2:
        return None
    days = (past[-1].at - past[0].at) / timedelta(days=1)
    run_h = past[-1].meter_h - past[0].meter_h
    return run_h / days if days >= 1.0 and run_h > 0 else None


def need_readings_in_order(readings: Iterable[HourReading]) -> None:
    """Refuse an hour meter that runs backwards.

    Raises: ShopError `meter_runs_back`.
    """
    last: HourReading | None = None
    for reading in sorted(readings, key=lambda one: one.at):
        if last is not None and reading.meter_h < last.meter_h:
            raise ShopError(
                "meter_runs_back",
                say(
                    "The hour meter read {before} h before and {now} h after.",
                    before=Amount(last.meter_h, "count"),
                    now=Amount(reading.meter_h, "count"),
                ),
                remedy="Read it again; after a new meter, say so and start from its reading.",
                where="meter_h",
            )
        last = reading
