"""The demo shop's orders, routing and sheets, kept by the same actions people use."""

from datetime import timedelta
from fractions import Fraction

from server.actions.lot import LotValues, save_lot
from server.actions.order import OperationValues, save_routing
from server.actions.stock import DeliveryValues, ReorderValues, receive, reserve_best
from server.actions.stock import save_reorder_point as set_reorder_point
from server.shop.job_state import OPEN_STATES
from server.storage.database import Session
from server.storage.queries.job import get_job
from server.storage.seed import seed_rows
from server.storage.tables.column import utc_now
from server.storage.tables.job import Job
from server.storage.tables.order import Order

BY = "demo"
FIRST_ORDER = 990
ORDERED = ("won", "ready", "running", "held", "made", "gone")


def load_demo_stock(session: Session) -> None:
    """An order and a routing for every demo job; sheets, reorder points, reservations."""
    for place, row in enumerate(seed_rows("job")):
        _give_order(session, get_job(session, row["number"]), f"O-{FIRST_ORDER + place}")
    for row in seed_rows("stock"):
        _stock(session, row)
    session.flush()


def _give_order(session: Session, job: Job, number: str) -> None:
    asked_at = utc_now() - timedelta(days=12)
    session.add(
        Order(
            number=number,
            customer_code=job.customer_code or "",
            their_reference=f"PO {int(number[2:]) * 7}",
            state=job.state,
            asked_at=asked_at,
            ordered_at=asked_at + timedelta(days=2) if job.state in ORDERED else None,
            due_at=job.due_at,
        )
    )
    session.flush()
    job.order_number = number
    if job.state in ("made", "gone") and job.due_at is not None:
        job.made_at = job.due_at - timedelta(days=1)
        job.gone_at = job.due_at if job.state == "gone" else None
    session.add(job)
    steps = [OperationValues("cut"), OperationValues("bend")]
    if "powder coat" in job.note:
        steps.append(OperationValues("finish", "powder coat"))
    for step in save_routing(session, job.number, steps, by=BY):
        if job.state not in OPEN_STATES or job.state == "made":
            step.state, step.done_at, step.done_by = "done", job.made_at, BY
            session.add(step)


def _stock(session: Session, row: dict[str, str]) -> None:
    size = (float(row["sheet_width_mm"]), float(row["sheet_length_mm"]))
    sheet = (row["material_code"], float(row["thickness_mm"]), *size)
    lot = receive(
        session,
        DeliveryValues(
            row["lot_code"],
            *sheet,
            int(row["sheets"]),
            Fraction(row["price_per_kg"]),
            row["heat_number"],
        ),
        by=BY,
    )
    session.flush()
    measured = LotValues(
        material_code=lot.material_code,
        thickness_mm=lot.thickness_mm,
        edges_mm=tuple(float(edge) for edge in row["measured_edges_mm"].split()),
        thickness_standard="",
        sheet_width_mm=lot.sheet_width_mm,
        heat_number=lot.heat_number,
        yield_strength_mpa=None,
        tensile_strength_mpa=None,
        note="",
    )
    save_lot(session, lot.code, measured, version=lot.version, by=BY)
    set_reorder_point(session, ReorderValues(*sheet, int(row["least"]), int(row["up_to"])), by=BY)
    if row["reserved_for"]:
        width_mm, height_mm = size
        reserve_best(session, row["reserved_for"], width_mm=width_mm, height_mm=height_mm, by=BY)
