"""One job's page, gathered from the job, its part, sheets, runs and history."""

from typing import TYPE_CHECKING

from server.actions.job import MOVED, ways_on
from server.actions.repeat import RepeatOutlook, what_changed
from server.actions.stock import sheets_wanted
from server.errors import ShopError
from server.shop.job_state import JobState
from server.storage.database import Session
from server.storage.queries.attachment import certificates_of
from server.storage.queries.board import JobLine
from server.storage.queries.customer import customer_names
from server.storage.queries.history import list_events
from server.storage.queries.job import get_job, list_job_runs, list_repeats
from server.storage.queries.lot import get_lot
from server.storage.queries.order import list_operations
from server.storage.queries.part import find_newest_revision, get_part, get_revision
from server.storage.queries.stock import list_job_moves, list_sheets, reserved_by
from server.web.forms.due import today_here
from server.web.house import Visit
from server.web.pages.attachment import Attachments
from server.web.pages.history import history_of
from server.web.pages.job import JobShow, SheetOffer, SheetUse, Way, job_row, now_utc

if TYPE_CHECKING:
    from server.storage.tables.job import Job
    from server.storage.tables.part import Revision

MADE = ("made", "gone")
ASK_REASON: tuple[JobState, ...] = ("held", "lost")


def job_page(
    visit: Visit, session: Session, number: str, files: Attachments, *, saved: bool = False
) -> JobShow:
    """A job with everything that belongs to it."""
    job = get_job(session, number)
    revision = get_revision(session, job.part_number, job.revision_label)
    newest = find_newest_revision(session, job.part_number)
    name = customer_names(session, [job.customer_code])[job.customer_code]
    events = list_events(session, noun="job", key=number, most=30)
    outlook = what_changed(session, number) if job.state in MADE else RepeatOutlook((), False)
    return JobShow(
        frame=visit.frame(number, "job", styles=("tool", "job"), notice="Saved." if saved else ""),
        row=job_row(JobLine(job, name), now_utc()),
        part=get_part(session, job.part_number),
        revision=revision,
        newest_label=newest.label if newest else job.revision_label,
        ways=_ways(session, job),
        may_undo=any(event.did == MOVED for event in events),
        operations=list_operations(session, number),
        runs=list_job_runs(session, number),
        sheets=_sheets(session, number),
        offers=_offers(session, job, revision),
        changes=outlook.changes,
        price_stands=outlook.price_stands,
        repeats=list_repeats(session, number),
        attachments=files,
        history=history_of(events, visit.show),
    )


def _ways(session: Session, job: "Job") -> tuple[Way, ...]:
    return tuple(
        Way(
            state,
            _label(job.state, state),
            tuple(one for one in found if one.level == "stop"),
            tuple(one for one in found if one.level != "stop"),
            state in ASK_REASON,
        )
        for state, found in ways_on(session, job, today=today_here())
    )


def _label(before: str, after: JobState) -> str:
    """What the button of a move says; a move against the order of work says so."""
    words = {
        "priced": "Priced",
        "won": "Won",
        "ready": "Release to the floor",
        "running": "Running",
        "held": "Hold",
        "made": "Made",
        "gone": "Gone to the customer",
        "lost": "Lost",
    }
    order = tuple(words)
    back = after == "asked" or (
        before in order and order.index(after) < order.index(before) and before != "held"
    )
    return f"Back to {after}" if back else words[after]


def _sheets(session: Session, number: str) -> tuple[SheetUse, ...]:
    reserved = reserved_by(session, number)
    consumed: dict[str, int] = {}
    for move in list_job_moves(session, number):
        if move.kind == "consumed":
            consumed[move.lot_code] = consumed.get(move.lot_code, 0) + move.sheets_count
    codes = list(dict.fromkeys((*reserved, *consumed)))
    papers = certificates_of(session, codes)
    return tuple(
        SheetUse(
            get_lot(session, code),
            reserved.get(code, 0),
            consumed.get(code, 0),
            tuple((row.id or 0, row.name) for row in papers[code]),
        )
        for code in codes
    )


def _offers(session: Session, job: "Job", revision: "Revision") -> tuple[SheetOffer, ...]:
    """Sizes in stock the job could be cut from, those that take the fewest sheets first."""
    if job.state in ("made", "gone", "lost"):
        return ()
    sheets = list_sheets(
        session, material_code=revision.material_code, thickness_mm=revision.thickness_mm
    )
    free: dict[tuple[float, float], int] = {}
    for level in sheets.levels().values():
        if not level.lot.parent:
            size = (level.lot.width_mm, level.lot.height_mm)
            free[size] = free.get(size, 0) + level.free_count
    offers = []
    for (width_mm, height_mm), count in free.items():
        needed = _needed(session, job.number, width_mm, height_mm)
        if needed:
            offers.append(SheetOffer(width_mm, height_mm, count, needed))
    return tuple(
        sorted(offers, key=lambda one: (one.free_count < one.needed_count, one.needed_count))
    )


def _needed(session: Session, number: str, width_mm: float, height_mm: float) -> int:
    """Sheets of a size the job takes; none when its blank does not fit."""
    try:
        wanted = sheets_wanted(session, number, width_mm=width_mm, height_mm=height_mm)
    except ShopError:
        return 0
    return wanted.sheets_count
