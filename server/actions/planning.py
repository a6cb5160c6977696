"""Asking the planner: questions are answered in another process and what they come to is kept."""

import time
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

from server.actions.bend_sequence import (
    ANY_DIE,
    PlanWish,
    order_wish_of,
    plain_order_wish,
    plan_task,
    save_plan,
)
from server.actions.planner_pool import Ending, Handle, PlannerPool, StoppedError
from server.errors import Sentence, ShopError, say
from server.mechanics.inside_radius import loaded_inside_radius
from server.mechanics.tooling import Die, Punch
from server.mechanics.v_opening import VWish, rank_dies
from server.planning.errand import (
    AlternativeErrand,
    Alternatives,
    Blocked,
    CheckErrand,
    Errand,
    PlanErrand,
    Planned,
    Worth,
    WorthErrand,
)
from server.planning.plan_task import PlanTask, shape_bends
from server.planning.tool_catalogue import catalogue
from server.settings import ShopSettings
from server.storage.database import Database, Session
from server.storage.plain_finding import plain_sentence
from server.storage.plain_outcome import plain_blocked, plain_ways, plain_worth
from server.storage.queries.planning import get_planning, list_blocked_plannings
from server.storage.queries.tolerance import find_tolerance, marked_of
from server.storage.queries.tool import (
    die_of,
    list_dies_with_segments,
    list_punches_with_segments,
    punch_of,
)
from server.storage.tables.planning import Planning

SAME_RADIUS_MM = 1e-6
OUR_BUG = say("The planner failed; what went wrong is in the log.")
RESTARTED = say("The program was started again in the middle of it.")
AGAIN = say("Plan again.")


@dataclass(frozen=True, slots=True)
class Asking:
    """Who asks the planner, where its answers are kept, and by which settings."""

    database: Database
    pool: PlannerPool
    settings: ShopSettings
    by: str


def ask_plan(asking: Asking, wish: PlanWish) -> int:
    """Ask for the best bend sequence of a revision; returns the question's number.

    With any die allowed the shop's dies are tried one by one, the most usual V first, because a
    blank belongs to its die; the first that works is taken.

    Raises: ShopError `not_found`, `no_tools`.
    """
    with asking.database.reading() as session:
        errand = _plan_errand(session, wish, asking.settings)
    question = Planning(
        kind="plan",
        part_number=wish.part_number,
        revision_label=wish.revision_label,
        wish=_plain_wish(wish),
    )
    return _ask(asking, question, errand)


def ask_alternatives(asking: Asking, sequence_id: int, shown: CheckErrand) -> int:
    """Ask for other ways than the one shown; returns the question's number."""
    question = Planning(
        kind="alternative",
        bend_sequence_id=sequence_id,
        wish={"steps": [asdict(step) for step in shown.chosen]},
    )
    return _ask(asking, question, AlternativeErrand(shown))


def ask_worth(asking: Asking) -> int:
    """Ask which tool of the catalogue frees the most blocked parts; returns the question's number.

    Raises: ShopError `nothing_blocked`.
    """
    with asking.database.reading() as session:
        blocked = list_blocked_plannings(session)
        tasks = [
            plan_task(session, replace(wish_of(row), die_codes=()), settings=asking.settings)
            for row in blocked
        ]
    if not tasks:
        raise ShopError(
            "nothing_blocked",
            "No part waits for a tool.",
            remedy="Plan a part first; one that cannot be bent is then counted here.",
        )
    tools = [one.tool for one in catalogue()]
    errand = WorthErrand(
        tuple(tasks),
        tuple(tool for tool in tools if isinstance(tool, Punch)),
        tuple(tool for tool in tools if isinstance(tool, Die)),
    )
    parts = [[row.part_number, row.revision_label] for row in blocked]
    return _ask(asking, Planning(kind="worth", wish={"parts": parts}), errand)


def stop_planning(asking: Asking, planning_id: int, *, keep_best: bool) -> None:
    """Stop a question: with the best found so far, or with nothing.

    Raises: ShopError `not_found`.
    """
    handle = asking.pool.find(planning_id)
    if handle is not None:
        handle.stop(discard=not keep_best)
        return
    with asking.database.writing() as session:
        row = get_planning(session, planning_id)
        if row.state == "running":
            _fail(row, "failed", [RESTARTED, AGAIN])
            session.add(row)


def find_under_way(asking: Asking, planning_id: int) -> Handle | None:
    """The question while the planner works on it; one lost in a restart is ended."""
    handle = asking.pool.find(planning_id)
    if handle is None:
        stop_planning(asking, planning_id, keep_best=False)
    return handle


def wait_for(asking: Asking, planning_id: int, most_s: float) -> None:
    """Wait for the answer, but not longer than this."""
    handle = asking.pool.find(planning_id)
    if handle is not None:
        handle.wait(most_s)


def plan_candidates(task: PlanTask, wish: PlanWish) -> list[PlanTask]:
    """The task in each die to try, with the punches that leave the radius to the die."""
    dies = task.dies
    if wish.die_codes == (ANY_DIE,):
        dies = tuple(entry.die for entry in rank_dies(wish=v_wish(task), dies=task.dies))
    return [
        replace(task.in_die(die), punches=fitting(task, die, any_punch=not wish.punch_codes))
        for die in dies
    ]


def fitting(task: PlanTask, die: Die, *, any_punch: bool) -> tuple[Punch, ...]:
    """Punches whose tip does not change the radius the die gives, where there are any."""
    if not any_punch:
        return task.punches
    ratio = task.material.radius_ratio
    found = tuple(
        punch
        for punch in task.punches
        if abs(
            loaded_inside_radius(
                punch_tip_radius_mm=punch.tip_radius_mm,
                radius_ratio=ratio,
                v_opening_mm=die.v_opening_mm,
            )
            - ratio * die.v_opening_mm
        )
        < SAME_RADIUS_MM
    )
    return found or task.punches


def v_wish(task: PlanTask) -> VWish:
    """What the dies are ranked by for a whole part."""
    angles = [abs(bend.bend_angle_deg) for bend in shape_bends(task)]
    return VWish(
        thickness_mm=task.thickness_mm,
        bend_length_mm=100.0,
        bend_angle_deg=max(angles, default=90.0),
        material=task.material,
        punch=task.punches[0],
    )


def wish_of(row: Planning) -> PlanWish:
    """What was asked for."""
    plain = dict(row.wish)
    return PlanWish(
        part_number=row.part_number,
        revision_label=row.revision_label,
        brake_code=plain["brake_code"],
        die_codes=tuple(plain["die_codes"]),
        punch_codes=tuple(plain["punch_codes"]),
        order=order_wish_of(plain["order"]),
        split=bool(plain["split"]),
        thickness_mm=plain["thickness_mm"],
        lot_code=plain["lot_code"],
    )


def _plain_wish(wish: PlanWish) -> dict[str, Any]:
    return {
        "brake_code": wish.brake_code,
        "die_codes": list(wish.die_codes),
        "punch_codes": list(wish.punch_codes),
        "order": plain_order_wish(wish.order),
        "split": wish.split,
        "thickness_mm": wish.thickness_mm,
        "lot_code": wish.lot_code,
    }


def _plan_errand(session: Session, wish: PlanWish, settings: ShopSettings) -> PlanErrand:
    task = plan_task(session, wish, settings=settings)
    return PlanErrand(
        tasks=tuple(plan_candidates(task, wish)),
        marked=marked_of(find_tolerance(session, wish.part_number, wish.revision_label)),
        owned_punches=tuple(
            punch_of(*entry) for entry in list_punches_with_segments(session, purpose="bend")
        ),
        owned_dies=tuple(
            die_of(*entry) for entry in list_dies_with_segments(session, purpose="bend")
        ),
    )


def _ask(asking: Asking, question: Planning, errand: Errand) -> int:
    with asking.database.writing() as session:
        question.made_by = asking.by
        session.add(question)
        session.flush()
        number = question.id or 0
    begun_s = time.monotonic()

    def keep(ending: Ending) -> None:
        _keep(asking, number, ending, time.monotonic() - begun_s)

    asking.pool.ask(errand, then=keep, name=number)
    return number


def _keep(asking: Asking, number: int, ending: Ending, spent_s: float) -> None:
    """Keep what a question came to; called by the thread that speaks with the planner."""
    with asking.database.writing() as session:
        row = get_planning(session, number)
        row.spent_s = round(spent_s, 3)
        if ending.outcome is None:
            _keep_trouble(row, ending.error)
        else:
            _keep_outcome(session, row, ending.outcome, asking.by)
        session.add(row)


def _keep_outcome(session: Session, row: Planning, outcome: object, by: str) -> None:
    match outcome:
        case Planned():
            kept = save_plan(session, wish_of(row), outcome.task, outcome.plan, by=by)
            row.bend_sequence_id = kept.id
            row.state = "planned"
        case Blocked():
            row.outcome = plain_blocked(outcome)
            row.state = "blocked"
        case Alternatives():
            row.outcome = {"found": plain_ways(outcome.found)}
            row.state = "found"
        case Worth():
            row.outcome = {"found": plain_worth(outcome.found)}
            row.state = "found"


def _keep_trouble(row: Planning, error: Exception | None) -> None:
    if isinstance(error, StoppedError):
        row.state = "cancelled"
    elif isinstance(error, ShopError):
        _fail(row, "failed", [error.what, error.remedy])
    else:
        _fail(row, "failed", [OUR_BUG, AGAIN])


def _fail(row: Planning, state: str, told: Sequence[Any]) -> None:
    row.state = state
    row.trouble = [plain_sentence(one) for one in told]


def candidate_words() -> Mapping[str, Sentence]:
    """The sentence that says what each candidate tool is, by its name."""
    return {one.tool.name: one.words for one in catalogue()}
