"""Files that belong to something: drawings, certificates, letters, photos."""

from datetime import datetime

from sqlalchemy import Index
from sqlmodel import Field, SQLModel

from server.storage.tables.column import UtcTime, no_longer_than, not_below_zero, one_of, utc_now

ATTACHED_TO = ("part", "job", "order", "customer", "lot")


class Attachment(SQLModel, table=True):
    """A file by the hash of its content; the content itself lies beside the database.

    `certificate` marks a mill certificate of a lot.
    """

    __tablename__ = "attachment"
    __table_args__ = (
        one_of("noun", ATTACHED_TO),
        *not_below_zero("size_bytes"),
        *no_longer_than(200, "name"),
        Index("ix_attachment_about", "noun", "key"),
    )

    id: int | None = Field(default=None, primary_key=True)
    noun: str
    key: str
    content_sha256: str = Field(index=True)
    name: str
    media_type: str
    size_bytes: int
    certificate: bool = False
    added_by: str = ""
    added_at: datetime = Field(default_factory=utc_now, sa_type=UtcTime, nullable=False)
    removed_at: datetime | None = Field(default=None, sa_type=UtcTime)
