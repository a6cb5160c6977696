"""The shop's usual hours for every new shop; for the demo also a cutter, a bench and a first plan."""

from itertools import groupby

from server.actions.order import OperationValues, save_routing, set_operation_done
from server.actions.schedule import plan_now
from server.storage.database import Session
from server.storage.seed import seed_rows
from server.storage.tables.schedule import Resource, Shift

BY = "demo"
EFFORT_S = 0.25


def load_shifts(session: Session) -> None:
    """Working hours to start from; every shop changes them."""
    for row in seed_rows("shift"):
        session.add(
            Shift(
                weekday=row["weekday"],
                start_min=_minutes(row["start"]),
                end_min=_minutes(row["end"]),
            )
        )
    session.flush()


def load_demo_schedule(session: Session) -> None:
    """What the demo shop cuts and welds on, and its plan."""
    for row in seed_rows("resource"):
        session.add(
            Resource(
                code=row["code"],
                name=row["name"],
                kind=row["kind"],
                does=row["does"].split(),
                position=int(row["position"]),
            )
        )
    session.flush()
    _load_routing(session)
    plan_now(session, title="First plan", by=BY, effort_s=EFFORT_S)


def _load_routing(session: Session) -> None:
    """The demo jobs' way through the shop, some of it done."""
    for number, group in groupby(seed_rows("routing"), key=lambda row: row["job_number"]):
        rows = list(group)
        steps = [
            OperationValues(row["kind"], row["words"], 60 * float(row["estimated_min"]))
            for row in rows
        ]
        kept = save_routing(session, number, steps, by=BY)
        session.flush()
        for operation, row in zip(kept, rows, strict=True):
            if row["done"] == "yes":
                set_operation_done(session, number, operation.id or 0, done=True, by=BY)


def _minutes(clock: str) -> int:
    hours, minutes = clock.split(":")
    return int(hours) * 60 + int(minutes)
