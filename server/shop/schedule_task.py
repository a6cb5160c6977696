"""What is to be scheduled: brakes and cutters, tasks with due dates, families and their changeovers."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

from server.errors import Amount, ShopError, say
from server.mechanics.elementary import need_above, need_between
from server.shop.shop_calendar import ALWAYS_OPEN, ShopCalendar, Span

Order = Mapping[str, tuple[str, ...]]
"""Tasks of every resource, in the order they run."""

LONGEST_TASK_MIN = 100_000.0
HEAVIEST = 1000.0
MOST_TASKS = 2000


@dataclass(frozen=True, slots=True)
class Resource:
    """A brake or a cutter; `family_now` is the set-up on it, None when that does not matter.

    `closed` are hours it stands still while the shop works.
    """

    name: str
    kind: Literal["brake", "cutter", "other"] = "brake"
    family_now: str | None = None
    closed: tuple[Span, ...] = ()


@dataclass(frozen=True, slots=True)
class Pin:
    """A person's wish: `hot` runs before everything that is not; `start` and `resource` hold it."""

    hot: bool = False
    resource: str | None = None
    start: datetime | None = None


@dataclass(frozen=True, slots=True)
class Started:
    """A task already running: where, and since when."""

    resource: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Task:
    """One job's time on one kind of resource.

    `resources` are the ones that can do it. `ready` is when its material is there; `waits_for` says
    what arrives then. `after` names tasks that have to be finished first (the cut before the bend).
    Only a task with `due` can be late; `weight` is what a minute late counts against another's.
    """

    name: str
    minutes_min: float
    family: str
    resources: tuple[str, ...]
    due: datetime | None = None
    ready: datetime | None = None
    waits_for: str = "its material"
    weight: float = 1.0
    after: tuple[str, ...] = ()
    pin: Pin | None = None
    started: Started | None = None

    def __post_init__(self) -> None:
        where = f"jobs.{self.name}"
        need_above(f"{where}.minutes", self.minutes_min, 0.0, "min")
        need_between(f"{where}.minutes", self.minutes_min, 0.0, LONGEST_TASK_MIN, "min")
        need_between(f"{where}.weight", self.weight, 0.0, HEAVIEST, "ratio")


@dataclass(frozen=True, slots=True)
class Changeovers:
    """Minutes to change a resource from one family's tools to another's.

    `pairs` win over `same_min` and `other_min`; with `other_min` None every pair has to be given.
    """

    same_min: float = 0.0
    other_min: float | None = 0.0
    pairs: Mapping[tuple[str, str], float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for minutes in (self.same_min, self.other_min or 0.0, *self.pairs.values()):
            need_between("changeover_min", minutes, 0.0, LONGEST_TASK_MIN, "min")

    def minutes(self, before: str, after: str) -> float:
        """Minutes from one family to another.

        Raises: ShopError `changeover_unknown`.
        """
        known = self.pairs.get((before, after))
        if known is not None:
            return known
        if before == after:
            return self.same_min
        if self.other_min is None:
            raise ShopError(
                "changeover_unknown",
                say("No changeover is given from {a} to {b}.", a=before, b=after),
                remedy="Complete the matrix, or give one time for all others.",
                where="changeover_min",
            )
        return self.other_min


@dataclass(frozen=True, slots=True)
class ScheduleRequest:
    """Everything a schedule is made from. `now` is given: nothing here reads a clock.

    `effort_s` is about how long the search may take on an ordinary office PC; it is counted in work
    done, not by a clock, so the same input gives the same schedule. `previous` is the order on the
    wall, kept where nothing is gained by another.
    """

    now: datetime
    resources: tuple[Resource, ...]
    tasks: tuple[Task, ...]
    changeovers: Changeovers = field(default_factory=Changeovers)
    calendar: ShopCalendar = ALWAYS_OPEN
    changeover_weight: float = 1.0
    effort_s: float = 5.0
    previous: Order | None = None

    def __post_init__(self) -> None:
        need_between("time_budget_s", self.effort_s, 0.0, 3600.0, "s")
        need_between("changeover_weight", self.changeover_weight, 0.0, HEAVIEST, "ratio")
        names = _need_unique([r.name for r in self.resources], "brakes", "brake")
        tasks = _need_unique([t.name for t in self.tasks], "jobs", "job")
        if not names:
            raise ShopError(
                "no_resource",
                "There is no brake to schedule.",
                remedy="Give at least one.",
                where="brakes",
            )
        if len(self.tasks) > MOST_TASKS:
            raise ShopError(
                "too_many_jobs",
                say("More than {most} jobs at once.", most=Amount(MOST_TASKS, "count")),
                remedy="Schedule the next weeks only.",
                where="jobs",
            )
        for task in self.tasks:
            _need_known(task, names, tasks)
        _need_no_circle(self.tasks)

    def task(self, name: str) -> Task:
        """The task of this name; a name that is not there is our own mistake."""
        return next(task for task in self.tasks if task.name == name)


def _need_unique(names: list[str], where: str, what: str) -> frozenset[str]:
    seen: set[str] = set()
    for name in names:
        if name in seen:
            raise ShopError(
                f"duplicate_{what}",
                say("The {what} '{name}' is given twice.", what=what, name=name),
                remedy="Give every one its own name.",
                where=where,
            )
        seen.add(name)
    return frozenset(seen)


def _need_known(task: Task, resources: frozenset[str], tasks: frozenset[str]) -> None:
    where = f"jobs.{task.name}"
    asked = [*task.resources]
    asked += [task.pin.resource] if task.pin and task.pin.resource else []
    asked += [task.started.resource] if task.started else []
    for name in asked:
        if name not in resources:
            raise ShopError(
                "unknown_brake",
                say("'{job}' asks for '{name}', which is not here.", job=task.name, name=name),
                remedy=say("Use one of: {names}.", names=", ".join(sorted(resources))),
                where=where,
            )
    if not task.resources:
        raise ShopError(
            "no_brake_can",
            say("Nothing here can do '{job}'.", job=task.name),
            remedy="Name at least one brake or cutter for it.",
            where=where,
        )
    for name in task.after:
        if name not in tasks:
            raise ShopError(
                "unknown_job",
                say("'{job}' waits for '{name}', which is not here.", job=task.name, name=name),
                remedy="Add it, or leave it out when it is done.",
                where=where,
            )


def _need_no_circle(tasks: tuple[Task, ...]) -> None:
    waiting = {task.name: set(task.after) for task in tasks}
    while free := [name for name, after in waiting.items() if not after]:
        for name in free:
            del waiting[name]
        for after in waiting.values():
            after.difference_update(free)
    if waiting:
        raise ShopError(
            "jobs_in_a_circle",
            say("These wait for each other: {names}.", names=", ".join(sorted(waiting))),
            remedy="Take one of the links out.",
            where="jobs",
        )
