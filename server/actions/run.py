"""Runs at the brake: opened from a job or a part."""

from server.actions.job import follow_brake
from server.actions.learning import foretell_steps
from server.actions.part import need_newest
from server.actions.setup import prepare_setup
from server.errors import Amount, ShopError, say
from server.settings import ShopSettings
from server.storage.database import Session
from server.storage.queries.bend_sequence import (
    get_bend_sequence,
    list_bend_sequences,
    list_steps,
)
from server.storage.queries.job import find_open_run, get_job
from server.storage.queries.material import find_lot
from server.storage.queries.part import find_newest_revision, get_part, get_revision
from server.storage.queries.stock import reserved_by
from server.storage.queries.tool import get_die
from server.storage.tables.bend_sequence import BendSequence
from server.storage.tables.column import utc_now
from server.storage.tables.job import Run

CAN_START = ("won", "ready", "running", "held")
SAME_V_MM = 0.01


def start_job(session: Session, job_number: str, *, settings: ShopSettings, by: str) -> Run:
    """The run of a job: the one that is open, or a new one on the newest ready sequence.

    Raises: ShopError `not_found`, `wrong_state`, `superseded`, `no_sequence`, `blank_not_for_tools`.
    """
    job = get_job(session, job_number)
    open_run = find_open_run(session, job_number=job.number)
    if open_run is not None:
        return open_run
    if job.state not in CAN_START:
        raise ShopError(
            "wrong_state",
            say("Job {number} is {state}, not ready to run.", number=job.number, state=job.state),
            remedy="The office has to release it first.",
        )
    if not job.old_revision_agreed:
        need_newest(session, job.part_number, job.revision_label)
    sequence = (
        get_bend_sequence(session, job.bend_sequence_id)
        if job.bend_sequence_id is not None
        else ready_sequence(session, job.part_number, job.revision_label)
    )
    need_blank_for_tools(session, sequence)
    lot = find_lot(session, job.lot_code or next(iter(reserved_by(session, job.number)), None))
    setup = prepare_setup(
        session,
        sequence,
        settings=settings,
        thickness_mm=lot.measured_thickness_mm if lot else None,
        lot_code=lot.code if lot else None,
    )
    foretell_steps(session, setup.id or 0)
    run = Run(
        job_number=job.number,
        part_number=job.part_number,
        revision_label=job.revision_label,
        bend_sequence_id=sequence.id or 0,
        setup_id=setup.id,
        brake_code=sequence.brake_code,
        quantity_count=max(1, job.quantity_count - job.good_count),
        operator=by,
        started_at=utc_now(),
    )
    session.add(run)
    session.flush()
    follow_brake(session, job, "running", by=by)
    return run


def start_part(
    session: Session, part_number: str, *, quantity: int, settings: ShopSettings, by: str
) -> Run:
    """A run of a part without a job: the open one, or a new one.

    Raises: ShopError `not_found`, `no_revision`, `no_sequence`, `blank_not_for_tools`.
    """
    part = get_part(session, part_number)
    newest = find_newest_revision(session, part.number)
    if newest is None:
        raise ShopError(
            "no_revision",
            say("Part {number} has not been drawn.", number=part.number),
            remedy="Draw it in the office first.",
        )
    sequence = ready_sequence(session, part.number, newest.label)
    open_run = find_open_run(session, bend_sequence_id=sequence.id)
    if open_run is not None:
        return open_run
    need_blank_for_tools(session, sequence)
    setup = prepare_setup(session, sequence, settings=settings)
    foretell_steps(session, setup.id or 0)
    run = Run(
        part_number=part.number,
        revision_label=newest.label,
        bend_sequence_id=sequence.id or 0,
        setup_id=setup.id,
        brake_code=sequence.brake_code,
        quantity_count=quantity,
        operator=by,
        started_at=utc_now(),
    )
    session.add(run)
    session.flush()
    return run


def ready_sequence(session: Session, part_number: str, label: str) -> BendSequence:
    """The newest bend sequence of a revision that is ready for the floor.

    Raises: ShopError `no_sequence`.
    """
    for sequence in list_bend_sequences(session, part_number, label):
        if sequence.state == "ready":
            return sequence
    raise ShopError(
        "no_sequence",
        say("{number} revision {label} has no bend sequence yet.", number=part_number, label=label),
        remedy="Plan one in the office, on the part's page.",
    )


def need_blank_for_tools(session: Session, sequence: BendSequence) -> None:
    """Refuse tools the blank was not worked out for: the part would come out wrong.

    Raises: ShopError `blank_not_for_tools` with the error in length.
    """
    revision = get_revision(session, sequence.part_number, sequence.revision_label)
    made_for = revision.blank_v_opening_mm
    if made_for is None:
        return
    steps = list_steps(session, sequence.id or 0)
    used = {step.die_code for step in steps if step.depth_mm is not None}  # others take no V
    for code in sorted(used):
        die = get_die(session, code)
        if abs(die.v_opening_mm - made_for) > SAME_V_MM and sequence.flat_length_mm is not None:
            error_mm = sequence.flat_length_mm - revision.blank_length_mm
            raise ShopError(
                "blank_not_for_tools",
                say(
                    "The blank was cut for V {made_for}; {die} has V {v}. The part would be {error} "
                    "out.",
                    made_for=Amount(made_for, "mm"),
                    die=die.code,
                    v=Amount(die.v_opening_mm, "mm"),
                    error=Amount(abs(error_mm), "mm"),
                ),
                remedy="Use the die the blank is for, or release a revision for this one and "
                "cut new blanks.",
            )
