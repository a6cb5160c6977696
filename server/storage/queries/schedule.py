"""Reading what is to be scheduled, the shop's hours, and the plans made."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from sqlmodel import Session, col, select

from server.errors import ShopError, say
from server.storage.queries.job import list_jobs
from server.storage.tables.bend_sequence import BendSequence, Step
from server.storage.tables.brake import Brake
from server.storage.tables.customer import Customer
from server.storage.tables.job import Job, Run
from server.storage.tables.order import Operation
from server.storage.tables.part import Revision
from server.storage.tables.schedule import (
    ClosedDay,
    Hours,
    Pin,
    Placement,
    Resource,
    Schedule,
    Shift,
)

MOST_JOBS = 600
WORK_STATES = ("won", "ready", "running")


@dataclass(frozen=True, slots=True)
class JobWork:
    """A job with what its time follows from. `tools` are punches and dies of its sequence."""

    job: Job
    revision: Revision
    operations: tuple[Operation, ...]
    sequence: BendSequence | None
    punches: frozenset[str]
    dies: frozenset[str]
    run: Run | None


def list_work(session: Session, *, also: Sequence[str] = ()) -> list[JobWork]:
    """Jobs that are won and not made yet, by due date, and those named in `also`."""
    work = col(Job.state).in_(WORK_STATES) & col(Job.archived_at).is_(None)
    jobs = list(
        session.exec(
            select(Job)
            .where(work | col(Job.number).in_(also))
            .order_by(col(Job.due_at).is_(None), col(Job.due_at), col(Job.number))
            .limit(MOST_JOBS)
        )
    )
    numbers = [job.number for job in jobs]
    operations = defaultdict(list)
    for operation in session.exec(
        select(Operation)
        .where(col(Operation.job_number).in_(numbers))
        .order_by(col(Operation.position), col(Operation.id))
    ):
        operations[operation.job_number].append(operation)
    revisions = _revisions(session, jobs)
    runs = {
        run.job_number: run
        for run in session.exec(
            select(Run).where(col(Run.job_number).in_(numbers), col(Run.state) != "done")
        )
    }
    sequences = _sequences(session, jobs, runs)
    tools = _tools(session, {row.id for row in sequences.values() if row})
    found = []
    for job in jobs:
        sequence = sequences[job.number]
        punches, dies = tools.get(sequence.id if sequence else None, (frozenset(), frozenset()))
        found.append(
            JobWork(
                job,
                revisions[job.part_number, job.revision_label],
                tuple(operations[job.number]),
                sequence,
                punches,
                dies,
                runs.get(job.number),
            )
        )
    return found


def _revisions(session: Session, jobs: Iterable[Job]) -> dict[tuple[str, str], Revision]:
    parts = {job.part_number for job in jobs}
    query = select(Revision).where(col(Revision.part_number).in_(parts))
    return {(row.part_number, row.label): row for row in session.exec(query)}


def _sequences(
    session: Session, jobs: Iterable[Job], runs: dict[str | None, Run]
) -> dict[str, BendSequence | None]:
    """The sequence each job runs by: its run's, its own, or the newest of its revision."""
    rows = list(
        session.exec(
            select(BendSequence)
            .where(
                col(BendSequence.part_number).in_({job.part_number for job in jobs}),
                col(BendSequence.archived_at).is_(None),
            )
            .order_by(col(BendSequence.id))
        )
    )
    by_id = {row.id: row for row in rows}
    newest = {
        (row.part_number, row.revision_label): row
        for row in sorted(rows, key=lambda row: (row.state == "ready", row.id or 0))
    }
    found = {}
    for job in jobs:
        run = runs.get(job.number)
        chosen = run.bend_sequence_id if run else job.bend_sequence_id
        found[job.number] = by_id.get(chosen) or newest.get((job.part_number, job.revision_label))
    return found


def _tools(
    session: Session, sequences: set[int | None]
) -> dict[int | None, tuple[frozenset[str], frozenset[str]]]:
    rows = session.exec(
        select(Step.bend_sequence_id, Step.punch_code, Step.die_code)
        .where(col(Step.bend_sequence_id).in_(sequences))
        .distinct()
    )
    found: dict[int | None, tuple[set[str], set[str]]] = defaultdict(lambda: (set(), set()))
    for sequence, punch, die in rows:
        found[sequence][0].add(punch)
        found[sequence][1].add(die)
    return {
        sequence: (frozenset(punches), frozenset(dies))
        for sequence, (punches, dies) in found.items()
    }


def list_resources(session: Session, *, with_archived: bool = False) -> list[Resource]:
    """What work runs on, in the shop's order."""
    query = select(Resource).order_by(col(Resource.position), col(Resource.code))
    if not with_archived:
        query = query.where(col(Resource.archived_at).is_(None))
    return list(session.exec(query))


def get_resource(session: Session, code: str) -> Resource:
    """One resource.

    Raises: ShopError `not_found`.
    """
    found = session.get(Resource, code)
    if found is None:
        raise ShopError(
            "not_found",
            say("There is no '{code}' to schedule.", code=code),
            remedy="Choose one of the list.",
            where="resource_code",
        )
    return found


def list_brakes_without_resource(session: Session) -> list[Brake]:
    """Brakes the schedule does not know yet."""
    known = select(Resource.brake_code).where(col(Resource.brake_code).is_not(None))
    query = select(Brake).where(col(Brake.archived_at).is_(None), col(Brake.code).not_in(known))
    return list(session.exec(query.order_by(col(Brake.code))))


def list_shifts(session: Session) -> list[Shift]:
    """The week's shifts."""
    return list(session.exec(select(Shift).order_by(col(Shift.start_min), col(Shift.id))))


def list_closed_days(session: Session) -> list[ClosedDay]:
    """Days on which no shift starts."""
    return list(session.exec(select(ClosedDay).order_by(col(ClosedDay.day))))


def list_hours(session: Session) -> list[Hours]:
    """Extra and closed hours."""
    return list(session.exec(select(Hours).order_by(col(Hours.start_at), col(Hours.id))))


def list_pins(session: Session) -> list[Pin]:
    """What people wished."""
    return list(session.exec(select(Pin).order_by(col(Pin.job_number), col(Pin.position))))


def find_kept_schedule(session: Session) -> Schedule | None:
    """The plan on the wall, or None."""
    query = select(Schedule).where(col(Schedule.state) == "kept").order_by(col(Schedule.id).desc())
    return session.exec(query.limit(1)).first()


def get_schedule(session: Session, schedule_id: int) -> Schedule:
    """A plan.

    Raises: ShopError `not_found`.
    """
    found = session.get(Schedule, schedule_id)
    if found is None:
        raise ShopError("not_found", "There is no such plan.", remedy="Look at the schedule.")
    return found


def list_proposals(session: Session) -> list[Schedule]:
    """Plans that are being made or wait for an answer, newest first."""
    query = select(Schedule).where(col(Schedule.state).in_(("solving", "proposed")))
    return list(session.exec(query.order_by(col(Schedule.id).desc()).limit(20)))


def list_placements(session: Session, schedule_id: int) -> list[Placement]:
    """Where and when everything runs in a plan, by time."""
    query = select(Placement).where(col(Placement.schedule_id) == schedule_id)
    return list(
        session.exec(
            query.order_by(
                col(Placement.start_at), col(Placement.resource_code), col(Placement.job_number)
            )
        )
    )


def list_queue(session: Session, *, states: Sequence[str], limit: int) -> list[Job]:
    """Jobs to bend, in the order of the plan on the wall; then those it does not know, by due date."""
    jobs = list_jobs(session, states=states)
    kept = find_kept_schedule(session)
    place: dict[str, int] = {}
    if kept is not None:
        query = (
            select(Placement.job_number)
            .where(col(Placement.schedule_id) == kept.id, col(Placement.kind) == "bend")
            .order_by(col(Placement.start_at))
        )
        for number in session.exec(query):
            place.setdefault(number, len(place))
    return sorted(jobs, key=lambda job: place.get(job.number, len(place)))[:limit]


@dataclass(frozen=True, slots=True)
class SequenceTools:
    """The tools of a bend sequence, and the sheet its revision is made of."""

    punches: frozenset[str]
    dies: frozenset[str]
    material_code: str
    thickness_mm: float


def get_sequence_tools(session: Session, sequence_id: int) -> SequenceTools:
    """A bend sequence's tools and sheet."""
    sequence = session.get_one(BendSequence, sequence_id)
    revision = session.get_one(Revision, (sequence.part_number, sequence.revision_label))
    punches, dies = _tools(session, {sequence_id}).get(sequence_id, (frozenset(), frozenset()))
    return SequenceTools(punches, dies, revision.material_code, revision.thickness_mm)


def get_placement(session: Session, schedule_id: int, job_number: str, position: int) -> Placement:
    """One operation of a plan.

    Raises: ShopError `not_found`.
    """
    found = session.get(Placement, (schedule_id, job_number, position))
    if found is None:
        raise ShopError(
            "not_found",
            say("{job} is not on this plan.", job=job_number),
            remedy="Look at the schedule as it is now.",
        )
    return found


def list_jobs_by_number(session: Session, numbers: Iterable[str]) -> list[Job]:
    """Some jobs."""
    return list(session.exec(select(Job).where(col(Job.number).in_(set(numbers)))))


def list_work_numbers(session: Session) -> set[str]:
    """Jobs that are won and not made yet."""
    query = select(Job.number).where(
        col(Job.state).in_(WORK_STATES), col(Job.archived_at).is_(None)
    )
    return set(session.exec(query.limit(MOST_JOBS)))


def list_enquiries(session: Session) -> list[Job]:
    """Jobs that are not won yet, for what they would change."""
    query = (
        select(Job)
        .where(col(Job.state).in_(("asked", "priced")), col(Job.archived_at).is_(None))
        .order_by(col(Job.due_at).is_(None), col(Job.due_at), col(Job.number))
    )
    return list(session.exec(query.limit(100)))


def customer_names(session: Session, codes: Iterable[str]) -> dict[str, str]:
    """Customers' names by their codes."""
    query = select(Customer.code, Customer.name).where(col(Customer.code).in_(set(codes)))
    return dict(session.exec(query).all())
