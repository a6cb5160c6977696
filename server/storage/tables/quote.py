"""Quotes: what was offered to whom, in versions, with every price kept as it was worked out."""

from datetime import date, datetime
from typing import Any

from sqlalchemy import ForeignKeyConstraint, Index, UniqueConstraint
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
)

QUOTE_STATES = ("draft", "sent", "won", "lost")


class Quote(Kept, table=True):
    """One enquiry answered. Its parts and prices are in its versions; the newest one counts."""

    __tablename__ = "quote"
    __table_args__ = (
        one_of("state", QUOTE_STATES),
        *no_longer_than(40, "number"),
        *no_longer_than(120, "their_reference", "lost_reason"),
        Index("ix_quote_state_changed_at", "state", "changed_at"),
    )

    number: str = Field(primary_key=True)
    customer_code: str | None = Field(default=None, foreign_key="customer.code", index=True)
    order_number: str | None = Field(default=None, foreign_key="order.number", index=True)
    their_reference: str = ""
    state: str = "draft"
    lost_reason: str = ""
    decided_note: str = ""
    decided_at: datetime | None = Field(default=None, sa_type=UtcTime)
    note: str = ""
    made_by: str = ""


class QuoteVersion(Versioned, table=True):
    """One version of a quote; once sent it never changes. `position` counts from 1.

    `rates` are the shop's rates it was worked out with.
    """

    __tablename__ = "quote_version"
    __table_args__ = (
        UniqueConstraint("quote_number", "position"),
        *above_zero("position", "validity_days_count"),
    )

    id: int | None = Field(default=None, primary_key=True)
    quote_number: str = Field(foreign_key="quote.number")
    position: int = 1
    currency: str
    validity_days_count: int
    sent_at: datetime | None = Field(default=None, sa_type=UtcTime)
    valid_until: date | None = None
    terms: str = ""
    message: str = ""
    rates: dict[str, Any] = Field(default_factory=dict, sa_type=JSON_OR_NULL, nullable=False)
    made_by: str = ""


class QuoteLine(SQLModel, table=True):
    """One part of a quote version. `wish` is what was asked, `worked` what the prices rest on.

    `won_quantity_count` is the break the customer took, `job_number` what was made of it.
    """

    __tablename__ = "quote_line"
    __table_args__ = (
        ForeignKeyConstraint(
            ["part_number", "revision_label"], ["revision.part_number", "revision.label"]
        ),
        UniqueConstraint("quote_version_id", "position"),
        *above_zero("position", "won_quantity_count"),
    )

    id: int | None = Field(default=None, primary_key=True)
    quote_version_id: int = Field(foreign_key="quote_version.id", ondelete="CASCADE")
    position: int = 1
    part_number: str = Field(index=True)
    revision_label: str
    bend_sequence_id: int | None = Field(default=None, foreign_key="bend_sequence.id")
    job_number: str | None = Field(default=None, foreign_key="job.number", index=True)
    won_quantity_count: int | None = None
    wish: dict[str, Any] = Field(sa_type=JSON_OR_NULL, nullable=False)
    worked: dict[str, Any] = Field(default_factory=dict, sa_type=JSON_OR_NULL, nullable=False)
    findings: list[Any] = Field(default_factory=list, sa_type=JSON_OR_NULL, nullable=False)


class QuoteBreak(SQLModel, table=True):
    """The price at one quantity. `explained` is the tree of figures behind `total_minor`."""

    __tablename__ = "quote_break"
    __table_args__ = (
        UniqueConstraint("quote_line_id", "quantity_count"),
        *above_zero("quantity_count"),
        *not_below_zero("unit_price_minor", "total_minor", "sheets_count", "brake_min", "cut_min"),
    )

    id: int | None = Field(default=None, primary_key=True)
    quote_line_id: int = Field(foreign_key="quote_line.id", ondelete="CASCADE")
    quantity_count: int
    unit_price_minor: int
    total_minor: int
    rounding_minor: int = 0
    cost_minor: int
    cost_low_minor: int
    cost_high_minor: int
    sheets_count: int
    used_ratio: float | None = None
    brake_min: float
    cut_min: float
    minimum_applied: bool = False
    explained: dict[str, Any] = Field(sa_type=JSON_OR_NULL, nullable=False)
