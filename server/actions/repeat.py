"""Repeating a job with one click, and what has changed since it was made."""

from dataclasses import dataclass
from datetime import datetime

from server.actions.history import keep
from server.actions.made_with import made_with, now_of, then_of
from server.actions.order import (
    LineValues,
    OperationValues,
    OrderValues,
    add_line,
    add_order,
    newest_revision,
    save_routing,
)
from server.actions.stock import sheets_wanted
from server.errors import ShopError, say
from server.findings import Finding, has_stop
from server.shop.repeat import changes_since
from server.storage.database import Session
from server.storage.queries.job import get_job
from server.storage.queries.material import find_lot
from server.storage.queries.order import list_operations
from server.storage.queries.stock import list_sheets
from server.storage.tables.job import Job

PRICE_MATTERS = frozenset({"material_price_changed"})


@dataclass(frozen=True, slots=True)
class RepeatOutlook:
    """What a repeat would meet: what changed, stops first, and whether the old price may stand."""

    changes: tuple[Finding, ...]
    price_stands: bool


def what_changed(session: Session, job_number: str, *, lot_code: str = "") -> RepeatOutlook:
    """What is different for a repeat of a job: price, revision, lot, tools, learned bends.

    Raises: ShopError `not_found`, `no_revision`.
    """
    job = get_job(session, job_number)
    kept = job.made_with or made_with(session, job)
    newest = newest_revision(session, job.part_number)
    lot = find_lot(session, lot_code or None)
    now = now_of(
        session,
        kept,
        revision=newest,
        lot_thickness_mm=lot.measured_thickness_mm if lot else None,
    )
    found = changes_since(
        then_of(kept), now, sheets_needed_count=_sheets_needed(session, job, newest.material_code)
    )
    stands = not has_stop(found) and not any(one.code in PRICE_MATTERS for one in found)
    return RepeatOutlook(found, stands)


def repeat_job(
    session: Session,
    job_number: str,
    *,
    quantity_count: int | None = None,
    due_at: datetime | None = None,
    by: str,
) -> Job:
    """The same again as a new enquiry: newest revision, same finish and routing.

    The price is kept only where nothing it rests on has changed; else the job is to be priced anew.

    Raises: ShopError `not_found`, `no_customer`, `no_revision`, `no_quantity`.
    """
    job = get_job(session, job_number)
    if job.customer_code is None:
        raise ShopError(
            "no_customer",
            say("{number} was made for no customer.", number=job.number),
            remedy="Start a new enquiry for one.",
        )
    outlook = what_changed(session, job_number)
    quantity = job.quantity_count if quantity_count is None else quantity_count
    same_price = outlook.price_stands and quantity >= job.quantity_count
    order = add_order(
        session,
        OrderValues(job.customer_code, f"repeat of {job.number}", due_at, ""),
        by=by,
    )
    again = add_line(
        session,
        order.number,
        LineValues(
            part_number=job.part_number,
            quantity_count=quantity,
            due_at=due_at,
            unit_price_minor=job.unit_price_minor if same_price else None,
            finish=job.finish,
            note=job.note,
        ),
        repeat_of=job.number,
        by=by,
    )
    old = list_operations(session, job.number)
    if old:
        scale = quantity / job.quantity_count
        save_routing(
            session,
            again.number,
            [
                OperationValues(
                    step.kind,
                    step.words,
                    None if step.estimated_s is None else step.estimated_s * scale,
                )
                for step in old
            ],
            by=by,
        )
    keep(session, "repeated", noun="job", key=job.number, by=by, after={"as": again.number})
    return again


def _sheets_needed(session: Session, job: Job, material_code: str) -> int:
    """Sheets of the largest size in stock that the repeat takes; 0 where none is in stock."""
    sheets = list_sheets(session, material_code=material_code)
    sizes = [(lot.width_mm, lot.height_mm) for lot in sheets.lots if not lot.parent]
    if not sizes:
        return 0
    width_mm, height_mm = max(sizes, key=lambda size: size[0] * size[1])
    wanted = sheets_wanted(session, job.number, width_mm=width_mm, height_mm=height_mm)
    return wanted.sheets_count
