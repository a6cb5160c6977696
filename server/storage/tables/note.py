"""Notes and photos made at the brake."""

from datetime import datetime

from sqlalchemy import UniqueConstraint
from sqlmodel import Field, SQLModel

from server.storage.tables.column import UtcTime, no_longer_than, utc_now


class Note(SQLModel, table=True):
    """Words, a photo, or both, left on a run at one of its steps."""

    __tablename__ = "note"
    __table_args__ = (UniqueConstraint("request_key"), *no_longer_than(1000, "text"))

    id: int | None = Field(default=None, primary_key=True)
    request_key: str | None = None
    run_id: int = Field(foreign_key="run.id", index=True)
    job_number: str | None = Field(default=None, foreign_key="job.number", index=True)
    part_number: str = Field(default="", index=True)
    position: int | None = None
    text: str = ""
    photo: str = ""
    by: str = ""
    at: datetime = Field(default_factory=utc_now, sa_type=UtcTime, nullable=False)
