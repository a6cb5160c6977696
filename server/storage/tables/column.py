"""Columns and habits all tables share: UTC times, versions, checked words, JSON."""

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import JSON, CheckConstraint, DateTime
from sqlalchemy.orm import declared_attr
from sqlalchemy.types import TypeDecorator
from sqlmodel import Field, SQLModel

SQLModel.metadata.naming_convention = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}
METADATA = SQLModel.metadata
Row = SQLModel
JSON_OR_NULL = JSON(none_as_null=True)


class UtcTime(TypeDecorator[datetime]):
    """An aware UTC time; stored without a zone, given back with one."""

    impl = DateTime
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Any) -> datetime | None:
        """Refuse a time without a zone; store UTC."""
        del dialect
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a time without a zone cannot be stored")
        return value.astimezone(UTC).replace(tzinfo=None)

    def process_result_value(self, value: datetime | None, dialect: Any) -> datetime | None:
        """Give the zone back."""
        del dialect
        return None if value is None else value.replace(tzinfo=UTC)


def utc_now() -> datetime:
    """The time now, in UTC."""
    return datetime.now(UTC)


def one_of(column: str, words: Sequence[str]) -> CheckConstraint:
    """A check that a text column holds one of the words (or nothing, where it may be empty)."""
    listed = ", ".join(f"'{word}'" for word in words)
    return CheckConstraint(f"{column} IN ({listed})", name=f"{column}_known")


def above_zero(*columns: str) -> tuple[CheckConstraint, ...]:
    """Checks that numbers are above zero (an empty value passes)."""
    return tuple(CheckConstraint(f"{name} > 0", name=f"{name}_above_zero") for name in columns)


def not_below_zero(*columns: str) -> tuple[CheckConstraint, ...]:
    """Checks that numbers are not below zero (an empty value passes)."""
    return tuple(CheckConstraint(f"{name} >= 0", name=f"{name}_not_below_zero") for name in columns)


def no_longer_than(length: int, *columns: str) -> tuple[CheckConstraint, ...]:
    """Checks on the length of texts, which SQLite would otherwise not keep."""
    return tuple(
        CheckConstraint(f"length({name}) <= {length}", name=f"{name}_not_too_long")
        for name in columns
    )


class Versioned(SQLModel):
    """Something two people may edit: its version grows, an old version cannot overwrite."""

    version: int = Field(default=1, nullable=False)
    created_at: datetime = Field(default_factory=utc_now, sa_type=UtcTime, nullable=False)
    changed_at: datetime = Field(
        default_factory=utc_now,
        sa_type=UtcTime,
        nullable=False,
        sa_column_kwargs={"onupdate": utc_now},
    )

    @declared_attr.directive
    def __mapper_args__(cls) -> dict[str, Any]:  # noqa: N805 - a class method to SQLAlchemy
        """Let the database refuse a change made on an old version."""
        return {"version_id_col": cls.__table__.c.version}  # type: ignore[attr-defined]


class Kept(Versioned):
    """Something that is archived instead of deleted, so that history stays whole."""

    archived_at: datetime | None = Field(default=None, sa_type=UtcTime)
