"""Care of the machine: what is due how often, who did it when, and the hour meter."""

from datetime import datetime

from sqlmodel import Field, SQLModel

from server.storage.tables.column import (
    Kept,
    UtcTime,
    above_zero,
    no_longer_than,
    not_below_zero,
    utc_now,
)


class CareTask(Kept, table=True):
    """One thing to look after on a brake, every so many days or running hours."""

    __tablename__ = "care_task"
    __table_args__ = (
        *above_zero("every_days", "every_h"),
        *no_longer_than(120, "name"),
    )

    id: int | None = Field(default=None, primary_key=True)
    brake_code: str = Field(foreign_key="brake.code", index=True)
    kind: str = ""
    name: str
    what: str = ""
    every_days: int | None = None
    every_h: float | None = None
    source: str = ""


class CareEntry(SQLModel, table=True):
    """Somebody did it: when, with which hour meter reading, and what was found."""

    __tablename__ = "care_entry"
    __table_args__ = (*not_below_zero("meter_h"),)

    id: int | None = Field(default=None, primary_key=True)
    care_task_id: int = Field(foreign_key="care_task.id", index=True)
    at: datetime = Field(default_factory=utc_now, sa_type=UtcTime, nullable=False)
    by: str = ""
    meter_h: float | None = None
    note: str = ""
    undone: bool = False


class HourReading(SQLModel, table=True):
    """The brake's hour meter as somebody read it."""

    __tablename__ = "hour_reading"
    __table_args__ = (*not_below_zero("meter_h"),)

    id: int | None = Field(default=None, primary_key=True)
    brake_code: str = Field(foreign_key="brake.code", index=True)
    at: datetime = Field(default_factory=utc_now, sa_type=UtcTime, nullable=False)
    meter_h: float
    by: str = ""
