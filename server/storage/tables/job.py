"""Jobs (one order line to make) and their runs at the brake."""

from datetime import datetime

from sqlalchemy import ForeignKeyConstraint, Index
from sqlmodel import Field

from server.storage.tables.column import (
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
    """One order line to make, with the revision it was ordered at."""

    __tablename__ = "job"
    __table_args__ = (
        ForeignKeyConstraint(
            ["part_number", "revision_label"], ["revision.part_number", "revision.label"]
        ),
        one_of("state", JOB_STATES),
        *above_zero("quantity_count"),
        *not_below_zero("good_count", "scrap_count", "rework_count"),
        *no_longer_than(40, "number"),
        Index("ix_job_state_due", "state", "due_at"),
    )

    number: str = Field(primary_key=True)
    customer: str = Field(default="", index=True)
    part_number: str = Field(index=True)
    revision_label: str
    quantity_count: int
    state: str = "asked"
    held_reason: str = ""
    due_at: datetime | None = Field(default=None, sa_type=UtcTime)
    lot_code: str | None = Field(default=None, foreign_key="lot.code")
    bend_sequence_id: int | None = Field(default=None, foreign_key="bend_sequence.id")
    good_count: int = 0
    scrap_count: int = 0
    rework_count: int = 0
    note: str = ""


class Run(Versioned, table=True):
    """Where a job stands at the brake. Its version is what the live pages compare."""

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
