"""Orders (an enquiry is an order nobody has placed yet) and the routing of their lines."""

from datetime import datetime

from sqlalchemy import Index
from sqlmodel import Field, SQLModel

from server.storage.tables.column import Kept, UtcTime, no_longer_than, not_below_zero, one_of
from server.storage.tables.job import JOB_STATES

OPERATION_KINDS = ("cut", "bend", "weld", "finish", "bought_out")
OPERATION_STATES = ("waiting", "done")


class Order(Kept, table=True):
    """What a customer asked for or ordered; its lines are the jobs.

    `state` is that of the line that is least far, kept by the actions that move jobs.
    """

    __tablename__ = "order"
    __table_args__ = (
        one_of("state", JOB_STATES),
        *no_longer_than(40, "number"),
        *no_longer_than(80, "their_reference"),
        Index("ix_order_state_due", "archived_at", "state", "due_at", "number"),
        Index("ix_order_customer", "customer_code", "asked_at"),
    )

    number: str = Field(primary_key=True)
    customer_code: str = Field(foreign_key="customer.code")
    their_reference: str = Field(default="", index=True)
    state: str = "asked"
    asked_at: datetime | None = Field(default=None, sa_type=UtcTime)
    ordered_at: datetime | None = Field(default=None, sa_type=UtcTime)
    due_at: datetime | None = Field(default=None, sa_type=UtcTime)
    note: str = ""


class Operation(SQLModel, table=True):
    """One step of a job's way through the shop."""

    __tablename__ = "operation"
    __table_args__ = (
        one_of("kind", OPERATION_KINDS),
        one_of("state", OPERATION_STATES),
        *not_below_zero("estimated_s"),
        Index("ix_operation_job", "job_number", "position"),
    )

    id: int | None = Field(default=None, primary_key=True)
    job_number: str = Field(foreign_key="job.number")
    position: int
    kind: str
    words: str = ""
    estimated_s: float | None = None
    state: str = "waiting"
    done_at: datetime | None = Field(default=None, sa_type=UtcTime)
    done_by: str = ""
