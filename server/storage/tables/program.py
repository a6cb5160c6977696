"""The memory map: what each program number of a control holds, and what it held before."""

from datetime import datetime
from typing import Any

from sqlalchemy import CheckConstraint, Index
from sqlmodel import Field, SQLModel

from server.storage.tables.column import JSON_OR_NULL, UtcTime, not_below_zero, utc_now


class Program(SQLModel, table=True):
    """One program as it was keyed; `ended_at` when something else was keyed over it.

    `which` of `many` where a long sequence was split; `digits` are the numbers as keyed, by
    'step field', so that an archived program can be keyed again.
    """

    __tablename__ = "program"
    __table_args__ = (
        CheckConstraint("program >= 1", name="program_counts_from_one"),
        CheckConstraint("which >= 1 AND which <= many", name="which_of_many"),
        *not_below_zero("steps_count"),
        Index("ix_program_now", "brake_code", "ended_at", "program"),
    )

    id: int | None = Field(default=None, primary_key=True)
    brake_code: str = Field(foreign_key="brake.code")
    program: int
    bend_sequence_id: int | None = Field(default=None, foreign_key="bend_sequence.id", index=True)
    setup_id: int | None = Field(default=None, foreign_key="setup.id")
    part_number: str
    revision_label: str
    sequence_label: str
    which: int = 1
    many: int = 1
    steps_count: int = 0
    digits: dict[str, Any] = Field(default_factory=dict, sa_type=JSON_OR_NULL, nullable=False)
    keyed_by: str = ""
    keyed_at: datetime = Field(default_factory=utc_now, sa_type=UtcTime, nullable=False)
    ended_at: datetime | None = Field(default=None, sa_type=UtcTime)
    replaced_by: str = ""
