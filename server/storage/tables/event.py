"""The history of everything, and requests already carried out (so none is carried out twice)."""

from datetime import datetime
from typing import Any

from sqlalchemy import Index
from sqlmodel import Field, SQLModel

from server.storage.tables.column import JSON_OR_NULL, UtcTime, utc_now


class Event(SQLModel, table=True):
    """One thing a person did: to what, when, by whom, and what it was before."""

    __tablename__ = "event"
    __table_args__ = (
        Index("ix_event_about", "noun", "key", "at"),
        Index("ix_event_noun", "noun", "at"),
        Index("ix_event_at", "at"),
    )

    id: int | None = Field(default=None, primary_key=True)
    at: datetime = Field(default_factory=utc_now, sa_type=UtcTime, nullable=False)
    by: str = ""
    did: str
    noun: str
    key: str
    before: dict[str, Any] | None = Field(default=None, sa_type=JSON_OR_NULL)
    after: dict[str, Any] | None = Field(default=None, sa_type=JSON_OR_NULL)


class RequestKey(SQLModel, table=True):
    """A request a device named and that was carried out; replaying it changes nothing."""

    __tablename__ = "request_key"

    key: str = Field(primary_key=True)
    at: datetime = Field(default_factory=utc_now, sa_type=UtcTime, nullable=False, index=True)
    did: str = ""


class Setting(SQLModel, table=True):
    """One of the shop's own choices."""

    __tablename__ = "setting"

    key: str = Field(primary_key=True)
    value: Any = Field(default=None, sa_type=JSON_OR_NULL)
    changed_at: datetime = Field(default_factory=utc_now, sa_type=UtcTime, nullable=False)
