"""Jobs (one order line to make) and their runs at the brake."""

from datetime import datetime
from typing import Any

from sqlalchemy import ForeignKeyConstraint, Index
from sqlmodel import Field

from server.storage.tables.column import (
    JSON_OR_NULL,
    Kept,
    UtcTime,
    Versioned,
    above_zero,
    no_longer_than,
    not_below_zero,
    one_of,
)

JOB_STATES = ("asked", "priced", "won", "ready", "running", "held", "made", "gone", "lost")
RUN_STATES = ("setting_up", "first_article", "running", "held", "done")


class Job(Kept, table=True):
    """One order line to make, with the revision it was ordered at.

    `customer_code` is the order's, kept here too so that lists need no join. `moved_at` is when the
    state last changed, `material_due_at` when sheet that is not there is promised. `made_with` is
    what it rested on when it was made, for the question what changed since.
    """

    __tablename__ = "job"
    __table_args__ = (
        ForeignKeyConstraint(
            ["part_number", "revision_label"], ["revision.part_number", "revision.label"]
        ),
        one_of("state", JOB_STATES),
        *above_zero("quantity_count"),
        *not_below_zero("good_count", "scrap_count", "rework_count"),
        *above_zero("position"),
        *not_below_zero("unit_price_minor"),
        *no_longer_than(40, "number"),
        Index("ix_job_state_due", "archived_at", "state", "due_at", "number"),
        Index("ix_job_due", "archived_at", "due_at", "number"),
        Index("ix_job_customer", "customer_code", "archived_at", "state", "due_at", "number"),
        Index("ix_job_part", "part_number", "created_at"),
    )

    number: str = Field(primary_key=True)
    order_number: str | None = Field(default=None, foreign_key="order.number", index=True)
    position: int = 1
    customer_code: str | None = Field(default=None, foreign_key="customer.code")
    part_number: str
    revision_label: str
    quantity_count: int
    state: str = "asked"
    moved_at: datetime | None = Field(default=None, sa_type=UtcTime)
    held_reason: str = ""
    held_from: str = ""
    lost_reason: str = ""
    due_at: datetime | None = Field(default=None, sa_type=UtcTime)
    made_at: datetime | None = Field(default=None, sa_type=UtcTime)
    gone_at: datetime | None = Field(default=None, sa_type=UtcTime)
    material_due_at: datetime | None = Field(default=None, sa_type=UtcTime)
    hot: bool = False
    unit_price_minor: int | None = None
    finish: str = ""
    short_delivery_agreed: bool = False
    old_revision_agreed: bool = False
    repeat_of: str | None = Field(default=None, foreign_key="job.number")
    made_with: dict[str, Any] | None = Field(default=None, sa_type=JSON_OR_NULL)
    lot_code: str | None = Field(default=None, foreign_key="lot.code")
    bend_sequence_id: int | None = Field(default=None, foreign_key="bend_sequence.id")
    good_count: int = 0
    scrap_count: int = 0
    rework_count: int = 0
    note: str = ""


class Run(Versioned, table=True):
    """Where a job stands at the brake. Its version is what the live pages compare.

    `phase_at` is when its state was last changed, `counted_at` when its last part was counted,
    `rested_s` how long it was held since; `part_times_s` are the times between good parts.
    """

    __tablename__ = "run"
    __table_args__ = (
        one_of("state", RUN_STATES),
        *above_zero("quantity_count", "position"),
        *not_below_zero("good_count", "scrap_count", "rework_count"),
    )

    id: int | None = Field(default=None, primary_key=True)
    job_number: str | None = Field(default=None, foreign_key="job.number", index=True)
    part_number: str = Field(index=True)
    revision_label: str
    bend_sequence_id: int = Field(foreign_key="bend_sequence.id", index=True)
    setup_id: int | None = Field(default=None, foreign_key="setup.id")
    brake_code: str = Field(foreign_key="brake.code", index=True)
    quantity_count: int
    position: int = 1
    good_count: int = 0
    scrap_count: int = 0
    rework_count: int = 0
    state: str = "setting_up"
    held_reason: str = ""
    operator: str = ""
    started_at: datetime | None = Field(default=None, sa_type=UtcTime)
    ended_at: datetime | None = Field(default=None, sa_type=UtcTime)
    held_state: str = Field(default="", sa_column_kwargs={"server_default": ""})
    held_at: datetime | None = Field(default=None, sa_type=UtcTime)
    phase_at: datetime | None = Field(default=None, sa_type=UtcTime)
    counted_at: datetime | None = Field(default=None, sa_type=UtcTime)
    rested_s: float = Field(default=0.0, sa_column_kwargs={"server_default": "0"})
    part_times_s: list[Any] = Field(
        default_factory=list,
        sa_type=JSON_OR_NULL,
        nullable=False,
        sa_column_kwargs={"server_default": "[]"},
    )
