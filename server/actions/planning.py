"""Planning a revision: the plan is made without holding the database, then kept."""

from dataclasses import dataclass, replace

from server.actions.bend_sequence import ANY_DIE, PlanWish, plan_task, save_plan
from server.findings import Finding
from server.mechanics.inside_radius import loaded_inside_radius
from server.mechanics.tooling import Die, Punch
from server.mechanics.v_opening import VWish, rank_dies
from server.planning.plan_task import PlanTask, shape_bends
from server.planning.planner import Plan, plan
from server.planning.search import KeepGoing, always
from server.settings import ShopSettings
from server.storage.database import Database
from server.storage.tables.bend_sequence import BendSequence

SAME_RADIUS_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Planned:
    """What planning came to: a sequence that was kept, or what blocks it."""

    sequence: BendSequence | None
    blockers: tuple[Finding, ...]


def plan_revision(
    database: Database,
    wish: PlanWish,
    *,
    settings: ShopSettings,
    by: str,
    keep_going: KeepGoing = always,
) -> Planned:
    """Plan a revision on a brake and keep the plan, or tell what blocks it.

    With any die allowed the shop's dies are tried one by one, the most usual V first, because a
    blank belongs to its die; the first that works is taken.

    Raises: ShopError `not_found`, `no_tools`, or what the planner says of the part.
    """
    with database.reading() as session:
        task = plan_task(session, wish, settings=settings)
    blockers: list[Finding] = []
    for one in plan_candidates(task, wish):
        found = plan(one, keep_going=keep_going)
        if found.sequence is not None:
            return Planned(_kept(database, wish, one, found, by), ())
        blockers += found.blockers
    return Planned(None, tuple(blockers))


def _kept(database: Database, wish: PlanWish, task: PlanTask, found: Plan, by: str) -> BendSequence:
    with database.writing() as session:
        return save_plan(session, wish, task, found, by=by)


def plan_candidates(task: PlanTask, wish: PlanWish) -> list[PlanTask]:
    """The task in each die to try, with the punches that leave the radius to the die."""
    dies = task.dies
    if wish.die_codes == (ANY_DIE,):
        dies = tuple(entry.die for entry in rank_dies(wish=_v_wish(task), dies=task.dies))
    return [
        replace(task.in_die(die), punches=_fitting(task, die, any_punch=not wish.punch_codes))
        for die in dies
    ]


def _fitting(task: PlanTask, die: Die, *, any_punch: bool) -> tuple[Punch, ...]:
    """Punches whose tip does not change the radius the die gives, where there are any."""
    if not any_punch:
        return task.punches
    ratio = task.material.radius_ratio
    fitting = tuple(
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
    return fitting or task.punches


def _v_wish(task: PlanTask) -> VWish:
    angles = [abs(bend.bend_angle_deg) for bend in shape_bends(task)]
    return VWish(
        thickness_mm=task.thickness_mm,
        bend_length_mm=100.0,
        bend_angle_deg=max(angles, default=90.0),
        material=task.material,
        punch=task.punches[0],
    )
