"""The schedule: what work runs on, the shop's hours, people's wishes, and every plan made."""

from datetime import date, datetime
from typing import Any

from sqlalchemy import CheckConstraint, Index
from sqlmodel import Field, SQLModel

from server.storage.tables.column import (
    JSON_OR_NULL,
    Kept,
    UtcTime,
    Versioned,
    above_zero,
    no_longer_than,
    not_below_zero,
    one_of,
    utc_now,
)

RESOURCE_KINDS = ("brake", "cutter", "other")
WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
HOURS_KINDS = ("open", "closed")
SCHEDULE_STATES = ("solving", "proposed", "kept", "replaced", "dropped", "failed")


class Resource(Kept, table=True):
    """What one job at a time runs on. `does` lists the kinds of operation it can do."""

    __tablename__ = "resource"
    __table_args__ = (one_of("kind", RESOURCE_KINDS), *no_longer_than(40, "code"))

    code: str = Field(primary_key=True)
    name: str
    kind: str
    does: list[Any] = Field(sa_type=JSON_OR_NULL, nullable=False)
    brake_code: str | None = Field(default=None, foreign_key="brake.code", unique=True)
    position: int = 1


class Shift(SQLModel, table=True):
    """Working hours of one weekday, by the clock on the wall; an end before the start is next day."""

    __tablename__ = "shift"
    __table_args__ = (
        one_of("weekday", WEEKDAYS),
        CheckConstraint("start_min BETWEEN 0 AND 1439", name="start_in_day"),
        CheckConstraint("end_min BETWEEN 0 AND 1439", name="end_in_day"),
    )

    id: int | None = Field(default=None, primary_key=True)
    weekday: str
    start_min: int
    end_min: int


class ClosedDay(SQLModel, table=True):
    """A day on which no shift starts."""

    __tablename__ = "closed_day"

    day: date = Field(primary_key=True)
    name: str = ""


class Hours(SQLModel, table=True):
    """Extra or closed hours, of the whole shop or of one resource that stands still."""

    __tablename__ = "hours"
    __table_args__ = (
        one_of("kind", HOURS_KINDS),
        CheckConstraint("end_at > start_at", name="end_after_start"),
    )

    id: int | None = Field(default=None, primary_key=True)
    kind: str
    resource_code: str | None = Field(default=None, foreign_key="resource.code")
    start_at: datetime = Field(sa_type=UtcTime, nullable=False)
    end_at: datetime = Field(sa_type=UtcTime, nullable=False)
    reason: str = ""
    made_by: str = ""


class Pin(SQLModel, table=True):
    """A person's wish for one operation of a job: first of all, or where and when."""

    __tablename__ = "pin"

    job_number: str = Field(foreign_key="job.number", primary_key=True)
    position: int = Field(primary_key=True)
    hot: bool = False
    resource_code: str | None = Field(default=None, foreign_key="resource.code")
    start_at: datetime | None = Field(default=None, sa_type=UtcTime)
    made_by: str = ""
    made_at: datetime = Field(default_factory=utc_now, sa_type=UtcTime, nullable=False)


class Schedule(Versioned, table=True):
    """One plan: the one kept, one proposed beside it (a what-if), or one of before.

    `wishes` is what a proposal asks for beyond the pins; `outcome` holds what was found out of it:
    why jobs are late, what the resources' time goes to, and what it changes against the plan kept.
    """

    __tablename__ = "schedule"
    __table_args__ = (
        one_of("state", SCHEDULE_STATES),
        *not_below_zero("objective_min", "bound_min", "changeover_min", "changeovers_count"),
        Index("ix_schedule_state", "state", "id"),
    )

    id: int | None = Field(default=None, primary_key=True)
    state: str = "solving"
    title: str = ""
    planned_from_at: datetime = Field(default_factory=utc_now, sa_type=UtcTime, nullable=False)
    based_on_id: int | None = Field(default=None, foreign_key="schedule.id")
    wishes: dict[str, Any] = Field(default_factory=dict, sa_type=JSON_OR_NULL, nullable=False)
    outcome: dict[str, Any] = Field(default_factory=dict, sa_type=JSON_OR_NULL, nullable=False)
    trouble: list[Any] = Field(default_factory=list, sa_type=JSON_OR_NULL, nullable=False)
    objective_min: float = 0.0
    bound_min: float = 0.0
    changeover_min: float = 0.0
    changeovers_count: int = 0
    late_count: int = 0
    method: str = ""
    made_by: str = ""


class Placement(SQLModel, table=True):
    """Where and when one operation of a job runs in a plan; `changeover_at` is when it is set up."""

    __tablename__ = "placement"
    __table_args__ = (
        *above_zero("planned_min"),
        *not_below_zero("changeover_min", "late_min"),
        Index("ix_placement_resource", "schedule_id", "resource_code", "start_at"),
        Index("ix_placement_job", "job_number"),
    )

    schedule_id: int = Field(foreign_key="schedule.id", primary_key=True, ondelete="CASCADE")
    job_number: str = Field(foreign_key="job.number", primary_key=True)
    position: int = Field(primary_key=True)
    kind: str
    resource_code: str = Field(foreign_key="resource.code")
    family: str = ""
    changeover_at: datetime = Field(sa_type=UtcTime, nullable=False)
    changeover_min: float = 0.0
    start_at: datetime = Field(sa_type=UtcTime, nullable=False)
    finish_at: datetime = Field(sa_type=UtcTime, nullable=False)
    planned_min: float
    due_at: datetime | None = Field(default=None, sa_type=UtcTime)
    late_min: float = 0.0
    pinned: bool = False
    hot: bool = False
    running: bool = False
