"""First-article sheets: what was measured on the first part, as it was signed."""

from datetime import datetime
from typing import Any

from sqlmodel import Field, SQLModel

from server.storage.tables.column import JSON_OR_NULL, UtcTime, one_of, utc_now

VERDICTS = ("good", "not good", "not measured")


class FirstArticle(SQLModel, table=True):
    """One signed sheet; never changed, a later one stands beside it."""

    __tablename__ = "first_article"
    __table_args__ = (one_of("verdict", VERDICTS),)

    id: int | None = Field(default=None, primary_key=True)
    run_id: int = Field(foreign_key="run.id", index=True)
    job_number: str | None = Field(default=None, foreign_key="job.number", index=True)
    part_number: str = Field(default="", index=True)
    revision_label: str = ""
    verdict: str
    lines: list[Any] = Field(default_factory=list, sa_type=JSON_OR_NULL, nullable=False)
    facts: dict[str, Any] = Field(default_factory=dict, sa_type=JSON_OR_NULL, nullable=False)
    note: str = ""
    signed_by: str = ""
    signed_at: datetime = Field(default_factory=utc_now, sa_type=UtcTime, nullable=False)
