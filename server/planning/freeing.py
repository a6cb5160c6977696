"""What would free a part that cannot be bent: tools, lines in pieces, another contact, a shorter leg.

Every suggestion is a plan that was made and found possible; nothing is guessed.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from server.errors import Amount, Sentence, ShopError, place, say
from server.mechanics.tooling import Die, Finger, Punch
from server.planning.plan_task import PlanTask, ProfileShape
from server.planning.planner import DEFAULT_WORK, Plan, plan
from server.planning.search import KeepGoing, Progress, always

SUGGESTION_WORK = DEFAULT_WORK // 8
MOST_SHORTENED = 3
SHORTEN_TO_RATIO = 0.4
SHORTEN_STEPS = 6
FINGER_STEPS_MM = (5.0, 10.0, 20.0)
FINGERS = "other_finger_height"
NOTHING_TO_DO = frozenset({"bend_longer_than_bed", "force_over_brake"})


@dataclass(frozen=True, slots=True)
class Suggestion:
    """One thing that would free the part, and the seconds a part would take then.

    `leg` and `length_mm` tell a shorter leg, `length_mm` alone another height of the fingers.
    """

    kind: str
    what: Sentence
    seconds: float
    tool: str | None = None
    leg: int | None = None
    length_mm: float | None = None


@dataclass(frozen=True, slots=True)
class ToolWorth:
    """One candidate tool and which of the blocked parts it would free."""

    tool: str
    frees: tuple[int, ...]


def what_would_free(
    task: PlanTask,
    blocked: Plan,
    *,
    owned_punches: Sequence[Punch] = (),
    owned_dies: Sequence[Die] = (),
    keep_going: KeepGoing = always,
) -> tuple[Suggestion, ...]:
    """Every change tried that makes the part possible, tools first.

    Another die is tried alone: a blank belongs to its die, so it means another revision.
    `owned_punches` and `owned_dies` are tools the shop has beside those of the task.
    """
    if blocked.sequence is not None:
        return ()
    codes = {finding.code for finding in blocked.blockers}
    found: list[Suggestion] = []
    for wanted, changed in _changes(task, owned_punches, owned_dies, codes):
        if not keep_going(Progress(0, 0, 0.0, None)):
            break
        if wanted.kind == FINGERS and any(one.kind == FINGERS for one in found):
            continue  # the nearest height is enough
        made = _try(changed, keep_going)
        if made is not None:
            found.append(replace(wanted, seconds=made))
    if isinstance(task.shape, ProfileShape) and not codes & NOTHING_TO_DO:
        found += _shorter_legs(task, task.shape, blocked, keep_going)
    return tuple(found)


def best_tool_to_buy(
    blocked: Sequence[PlanTask],
    *,
    candidate_punches: Sequence[Punch] = (),
    candidate_dies: Sequence[Die] = (),
    keep_going: KeepGoing = always,
) -> tuple[ToolWorth, ...]:
    """The candidates by how many of the blocked parts each would free, the best first.

    Ties keep the candidates' order, punches before dies; a candidate that frees nothing is left out.
    """
    worth: list[ToolWorth] = []
    tools: tuple[Punch | Die, ...] = (*candidate_punches, *candidate_dies)
    for tool in tools:
        freed = []
        for number, task in enumerate(blocked):
            if not keep_going(Progress(0, 0, 0.0, None)):
                break
            if _try(_with_tool(task, tool), keep_going) is not None:
                freed.append(number)
        if freed:
            worth.append(ToolWorth(tool.name, tuple(freed)))
    return tuple(sorted(worth, key=lambda one: -len(one.frees)))


def _changes(
    task: PlanTask,
    punches: Sequence[Punch],
    dies: Sequence[Die],
    codes: set[str],
) -> Iterator[tuple[Suggestion, PlanTask]]:
    """What to try, its seconds still to be found out, and the task with it."""
    known = {punch.name for punch in task.punches} | {die.name for die in task.dies}
    for punch in punches:
        if punch.name not in known:
            what = say("Use the punch {name}.", name=punch.name)
            yield Suggestion("other_punch", what, 0.0, punch.name), _with_tool(task, punch)
    for die in dies:
        if die.name not in known:
            what = say("Use the die {name}.", name=die.name)
            yield Suggestion("other_die", what, 0.0, die.name), replace(task, dies=(die,))
    if codes & {"meets_finger", "no_gauge_contact", "finger_meets_die"}:
        finger = task.brake.finger
        for up_mm in FINGER_STEPS_MM:
            for by_mm in (up_mm, -up_mm):
                low, high = finger.low_mm + by_mm, finger.high_mm + by_mm
                raised = replace(task.brake, finger=Finger(low, high, finger.width_mm))
                what = say("Set the fingers to {low} above the die.", low=Amount(low, "mm"))
                wanted = Suggestion(FINGERS, what, 0.0, length_mm=low)
                yield wanted, replace(task, brake=raised)
    if task.wishes.before or task.wishes.fixed_order or task.wishes.gauge_from:
        free = replace(task, wishes=type(task.wishes)())
        what = say("Take back the wishes for order and contacts.")
        yield Suggestion("other_order", what, 0.0), free
    if not task.split_groups and not isinstance(task.shape, ProfileShape):
        split = replace(task, split_groups=True)
        what = say("Bend the pieces of one line one at a time.")
        yield Suggestion("split", what, 0.0), split


def _shorter_legs(
    task: PlanTask, shape: ProfileShape, blocked: Plan, keep_going: KeepGoing
) -> list[Suggestion]:
    """The longest each of a few legs may be for the part to be possible."""
    found: list[Suggestion] = []
    named = [finding.bend for finding in blocked.blockers if finding.code.startswith("meets_")]
    legs = sorted({leg for bend in named if bend is not None for leg in (bend, bend + 1)})
    ends = [0, len(shape.legs_mm) - 1]
    for leg in sorted(dict.fromkeys([*ends, *legs]), key=lambda one: (one not in ends, one)):
        if len(found) >= MOST_SHORTENED:
            break
        high_mm = shape.legs_mm[leg]
        low_mm = high_mm * SHORTEN_TO_RATIO
        seconds = _try(_with_leg(task, shape, leg, low_mm), keep_going)
        if seconds is None:
            continue
        for _ in range(SHORTEN_STEPS):
            middle_mm = (low_mm + high_mm) / 2
            better = _try(_with_leg(task, shape, leg, middle_mm), keep_going)
            if better is None:
                high_mm = middle_mm
            else:
                low_mm, seconds = middle_mm, better
        found.append(
            Suggestion(
                "shorter_leg",
                say(
                    "Make leg {leg} {length} instead of {now}.",
                    leg=place(leg),
                    length=Amount(float(int(low_mm)), "mm"),
                    now=Amount(shape.legs_mm[leg], "mm"),
                ),
                seconds,
                leg=leg,
                length_mm=float(int(low_mm)),
            )
        )
    return found


def _with_leg(task: PlanTask, shape: ProfileShape, leg: int, length_mm: float) -> PlanTask:
    legs = (*shape.legs_mm[:leg], float(int(length_mm)), *shape.legs_mm[leg + 1 :])
    return replace(task, shape=replace(shape, legs_mm=legs))


def _with_tool(task: PlanTask, tool: Punch | Die) -> PlanTask:
    if isinstance(tool, Punch):
        return replace(task, punches=(*task.punches, tool))
    return replace(task, dies=(*task.dies, tool))


def _try(task: PlanTask, keep_going: KeepGoing) -> float | None:
    try:
        made = plan(task, work=SUGGESTION_WORK, keep_going=keep_going)
    except ShopError:
        return None
    return None if made.sequence is None else made.sequence.cost.seconds
