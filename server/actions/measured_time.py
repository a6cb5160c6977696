"""Times measured quietly at the brake: set-up, first article, bends; accepted by a person."""

from datetime import datetime
from statistics import median

from server.actions.history import keep
from server.errors import ShopError
from server.shop.brake_time import handling_class
from server.storage.database import Session
from server.storage.queries.bend_sequence import list_steps
from server.storage.queries.measured_time import list_run_times
from server.storage.queries.part import get_revision
from server.storage.queries.setup import find_setup_before, get_setup_place
from server.storage.tables.job import Run
from server.storage.tables.measured_time import MeasuredTime
from server.storage.tables.setup import Setup

LEAST_S = 1.0


def keep_times(session: Session, run: Run, kind: str, *, now: datetime) -> None:
    """Keep what the phase of a run that ends now has taken, without its rests."""
    if kind == "bend":
        _keep_bend(session, run)
        return
    since = run.phase_at or run.started_at
    if since is None:
        return
    seconds_s = (now - since).total_seconds() - run.rested_s
    if seconds_s >= LEAST_S:
        work = _setup_class(session, run) if kind == "setup" else _work_class(session, run)
        _add(session, run, kind, work, seconds_s, parts=1)


def accept_times(session: Session, run_id: int, *, accepted: bool, by: str) -> int:
    """Let a run's times teach the estimates, or keep them out; returns how many.

    Raises: ShopError `nothing_measured`.
    """
    times = list_run_times(session, run_id)
    if not times:
        raise ShopError(
            "nothing_measured", "No time was measured on this run.", remedy="Nothing to accept."
        )
    for one in times:
        one.accepted = accepted
        session.add(one)
    did = "accepted times" if accepted else "kept times out"
    keep(session, did, noun="run", key=str(run_id), by=by)
    return len(times)


def _keep_bend(session: Session, run: Run) -> None:
    """One bend's usual time: the middle of the times between good parts, over the steps."""
    times = [float(one) for one in run.part_times_s]
    if not times:
        return
    steps = max(1, len(list_steps(session, run.bend_sequence_id)))
    _add(session, run, "bend", _work_class(session, run), median(times) / steps, parts=len(times))


def _add(
    session: Session, run: Run, kind: str, work_class: str, seconds_s: float, *, parts: int
) -> None:
    session.add(
        MeasuredTime(
            run_id=run.id or 0,
            job_number=run.job_number,
            kind=kind,
            work_class=work_class,
            seconds_s=round(seconds_s, 1),
            parts_count=parts,
            by=run.operator,
        )
    )


def _work_class(session: Session, run: Run) -> str:
    revision = get_revision(session, run.part_number, run.revision_label)
    longest_mm = max(revision.blank_length_mm, revision.blank_width_mm)
    return handling_class(mass_kg=revision.mass_kg, longest_side_mm=longest_mm).name


def _setup_class(session: Session, run: Run) -> str:
    """What had to be changed since the last set-up on this brake."""
    if run.setup_id is None:
        return "die and punch"
    place = get_setup_place(session, run.setup_id)
    before = find_setup_before(session, place.setup)
    if before is None:
        return "die and punch"
    now_tools, old_tools = _tools_of(session, place.setup), _tools_of(session, before)
    punch, die = (now == old for now, old in zip(now_tools, old_tools, strict=True))
    if punch and die:
        return "same tools"
    if punch:
        return "die"
    return "punch" if die else "die and punch"


def _tools_of(session: Session, setup: Setup) -> tuple[frozenset[str], frozenset[str]]:
    steps = list_steps(session, setup.bend_sequence_id)
    return (
        frozenset(step.punch_code for step in steps),
        frozenset(step.die_code for step in steps),
    )
