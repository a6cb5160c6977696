"""Orders a person arranges: checked at once, kept as another sequence that supersedes the old one."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from server.actions.bend_sequence import PlanWish, order_wish_of, plan_task, save_plan
from server.actions.planner_pool import Handle
from server.actions.planning import Asking, fitting
from server.errors import ShopError, say
from server.planning.errand import Checked, CheckErrand
from server.planning.order_check import ChosenStep
from server.planning.order_wish import OrderWish
from server.planning.plan_task import PlanTask
from server.planning.planner import Plan
from server.settings import ShopSettings
from server.storage.database import Session
from server.storage.queries.bend_sequence import get_bend_sequence, list_steps
from server.storage.queries.tolerance import find_tolerance, marked_of
from server.storage.tables.bend_sequence import BendSequence, Step
from server.storage.tables.column import utc_now

CHECK_MOST_S = 20.0


@dataclass(frozen=True, slots=True)
class CheckedOrder:
    """An arranged order after the check, and the task it was checked for."""

    task: PlanTask
    chosen: tuple[ChosenStep, ...]
    checked: Checked


def wish_of_sequence(sequence: BendSequence, steps: Sequence[Step]) -> PlanWish:
    """What a kept sequence was made with: brake, dies, sheet, and what was fixed."""
    return PlanWish(
        part_number=sequence.part_number,
        revision_label=sequence.revision_label,
        brake_code=sequence.brake_code,
        die_codes=tuple(
            dict.fromkeys(step.die_code for step in steps if step.depth_mm is not None)
        ),
        order=order_wish_of(sequence.wishes),
        thickness_mm=sequence.thickness_mm,
    )


def kept_order(sequence: BendSequence, steps: Sequence[Step]) -> tuple[ChosenStep, ...]:
    """The order as it was kept: what a person fixed, else only which bend comes when."""
    if sequence.arrangement:
        return tuple(ChosenStep(**step) for step in sequence.arrangement)
    return tuple(ChosenStep(step.bends[0]) for step in steps)


def kept_task(
    session: Session, sequence: BendSequence, steps: Sequence[Step], *, settings: ShopSettings
) -> PlanTask:
    """The task of a kept sequence with every punch that fits; a person's order needs no wishes.

    Raises: ShopError `not_found`, `no_tools`.
    """
    wish = replace(wish_of_sequence(sequence, steps), order=OrderWish())
    task = plan_task(session, wish, settings=settings)
    if len(task.dies) == 1:
        task = task.in_die(task.dies[0])
    used = {step.punch_code for step in steps}
    usual = fitting(task, task.dies[0], any_punch=True)
    return replace(task, punches=tuple(p for p in task.punches if p in usual or p.name in used))


def check_errand(
    session: Session,
    sequence_id: int,
    chosen: Sequence[ChosenStep] = (),
    *,
    settings: ShopSettings,
) -> CheckErrand:
    """The check of an order for a kept sequence; its own order where none is given.

    Raises: ShopError `not_found`, `no_tools`.
    """
    sequence = get_bend_sequence(session, sequence_id)
    steps = list_steps(session, sequence_id)
    task = kept_task(session, sequence, steps, settings=settings)
    tolerance = find_tolerance(session, sequence.part_number, sequence.revision_label)
    die_of = {
        bend: step.die_code for step in steps if step.depth_mm is not None for bend in step.bends
    }
    usual = next(iter(die_of.values()), task.dies[0].name)
    return CheckErrand(
        task,
        tuple(die_of.get(bend, usual) for bend in range(task.bend_count)),
        tuple(chosen) or kept_order(sequence, steps),
        marked=marked_of(tolerance),
    )


def check_order(asking: Asking, sequence_id: int, chosen: Sequence[ChosenStep]) -> CheckedOrder:
    """Check an order that a person arranged; long planning does not hold it up.

    Raises: ShopError `not_found`, `still_checking`, or from the check: `step_missing` and others.
    """
    with asking.database.reading() as session:
        errand = check_errand(session, sequence_id, chosen, settings=asking.settings)
    outcome = answer_in_time(asking.pool.ask(errand, lane="check"))
    assert isinstance(outcome, Checked)
    return CheckedOrder(errand.task, errand.chosen, outcome)


def answer_in_time(handle: Handle) -> object:
    """What a check came to.

    Raises: ShopError `still_checking` after 20 seconds, or the check's own.
    """
    if not handle.wait(CHECK_MOST_S):
        handle.stop(discard=True)
        raise ShopError(
            "still_checking",
            "This order takes too long to check.",
            remedy="Try again; a part with fewer bends is quicker.",
        )
    return handle.future.result()


def keep_order(
    asking: Asking, sequence_id: int, chosen: Sequence[ChosenStep], *, beside: bool
) -> BendSequence:
    """Check an arranged order and keep it as the next sequence of the part.

    The sequence it was made from is superseded and retired. `beside` keeps both, when somebody
    else superseded that sequence meanwhile.

    Raises: ShopError `edit_conflict`, `cannot_be_bent`, or as `check_order`.
    """
    with asking.database.reading() as session:
        _need_first(session, get_bend_sequence(session, sequence_id), beside=beside)
    order = check_order(asking, sequence_id, chosen)
    with asking.database.writing() as session:
        return _save(session, sequence_id, order, beside=beside, by=asking.by)


def _need_first(session: Session, before: BendSequence, *, beside: bool) -> None:
    """Refuse when somebody else has kept another order of the same sequence.

    Raises: ShopError `edit_conflict`.
    """
    if before.superseded_by_id is None or beside:
        return
    other = get_bend_sequence(session, before.superseded_by_id)
    raise ShopError(
        "edit_conflict",
        say(
            "{by} kept another order meanwhile, as sequence {label}.",
            by=other.made_by or "Somebody",
            label=other.label,
        ),
        remedy="Yours is still here: keep it beside the other, or take theirs.",
        where="form",
    )


def _save(
    session: Session, sequence_id: int, order: CheckedOrder, *, beside: bool, by: str
) -> BendSequence:
    before = get_bend_sequence(session, sequence_id)
    _need_first(session, before, beside=beside)
    checked = order.checked.check
    blocked = next((step for step in checked.steps if step.placed is None), None)
    plan = Plan(checked.sequence, 0.0, False, blocked.findings if blocked else (), 0)
    wish = replace(wish_of_sequence(before, list_steps(session, sequence_id)), order=OrderWish())
    row = save_plan(session, wish, order.task, plan, arranged="by hand", chosen=order.chosen, by=by)
    if before.superseded_by_id is None:
        before.superseded_by_id = row.id
        before.superseded_at = utc_now()
        before.state = "retired"
        session.add(before)
    return row
