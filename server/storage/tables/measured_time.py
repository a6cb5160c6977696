"""Times measured at the brake, for estimating."""

from datetime import datetime

from sqlmodel import Field, SQLModel

from server.storage.tables.column import UtcTime, above_zero, one_of, utc_now

TIME_KINDS = ("bend", "load", "setup", "tool_change", "first_article", "programming")


class MeasuredTime(SQLModel, table=True):
    """One time of a run; only an accepted one teaches. A bend's time is the run's usual one."""

    __tablename__ = "measured_time"
    __table_args__ = (one_of("kind", TIME_KINDS), *above_zero("seconds_s", "parts_count"))

    id: int | None = Field(default=None, primary_key=True)
    run_id: int = Field(foreign_key="run.id", index=True)
    job_number: str | None = Field(default=None, foreign_key="job.number", index=True)
    kind: str = Field(index=True)
    work_class: str = ""
    seconds_s: float
    parts_count: int = 1
    accepted: bool = False
    by: str = ""
    at: datetime = Field(default_factory=utc_now, sa_type=UtcTime, nullable=False)
