"""Reading what goes on a job's papers."""

from dataclasses import dataclass

from sqlmodel import Session, col, select

from server.storage.queries.bend_sequence import KeyedStep, list_keyed_steps
from server.storage.queries.job import get_job
from server.storage.queries.material import find_lot, get_material
from server.storage.queries.order import list_operations
from server.storage.queries.part import find_newest_revision, get_part, get_revision
from server.storage.tables.bend_sequence import BendSequence
from server.storage.tables.brake import Brake
from server.storage.tables.customer import Customer
from server.storage.tables.job import Job, Run
from server.storage.tables.material import Lot, Material
from server.storage.tables.order import Operation
from server.storage.tables.part import Part, Revision
from server.storage.tables.setup import Setup


@dataclass(frozen=True, slots=True)
class JobPaper:
    """A job with everything its papers tell. Without a bend sequence there are no steps."""

    job: Job
    customer: Customer | None
    part: Part
    revision: Revision
    newest_label: str
    material: Material
    lot: Lot | None
    operations: tuple[Operation, ...]
    sequence: BendSequence | None
    brake: Brake | None
    run: Run | None
    setup: Setup | None
    steps: tuple[KeyedStep, ...]


def get_job_paper(session: Session, job_number: str) -> JobPaper:
    """A job with what its papers tell; set-up and steps are those of its last run, where it has one.

    Raises: ShopError `not_found`.
    """
    job = get_job(session, job_number)
    revision = get_revision(session, job.part_number, job.revision_label)
    newest = find_newest_revision(session, job.part_number)
    run = session.exec(
        select(Run).where(col(Run.job_number) == job.number).order_by(col(Run.id).desc()).limit(1)
    ).first()
    sequence = _sequence_of(session, job, run)
    setup = session.get(Setup, run.setup_id) if run and run.setup_id else None
    return JobPaper(
        job=job,
        customer=session.get(Customer, job.customer_code) if job.customer_code else None,
        part=get_part(session, job.part_number),
        revision=revision,
        newest_label=newest.label if newest else revision.label,
        material=get_material(session, revision.material_code),
        lot=find_lot(session, setup.lot_code if setup and setup.lot_code else job.lot_code),
        operations=tuple(list_operations(session, job.number)),
        sequence=sequence,
        brake=session.get(Brake, sequence.brake_code) if sequence else None,
        run=run,
        setup=setup,
        steps=tuple(list_keyed_steps(session, sequence.id or 0, setup.id if setup else None))
        if sequence
        else (),
    )


def _sequence_of(session: Session, job: Job, run: Run | None) -> BendSequence | None:
    """The sequence a job runs by, or would: its run's, its own, or the newest that is ready."""
    chosen = run.bend_sequence_id if run else job.bend_sequence_id
    if chosen is not None:
        return session.get(BendSequence, chosen)
    query = select(BendSequence).where(
        col(BendSequence.part_number) == job.part_number,
        col(BendSequence.revision_label) == job.revision_label,
        col(BendSequence.state) == "ready",
        col(BendSequence.archived_at).is_(None),
    )
    return session.exec(query.order_by(col(BendSequence.id).desc()).limit(1)).first()
