"""What a drawing allows: its general tolerance class, and dimensions marked on the part."""

from typing import Any

from sqlalchemy import ForeignKeyConstraint
from sqlmodel import Field

from server.storage.tables.column import JSON_OR_NULL, Versioned, one_of

TOLERANCE_CLASSES = ("f", "m", "c", "v")


class Tolerance(Versioned, table=True):
    """Beside a revision, because marking a dimension changes neither its shape nor its blank.

    `marked` lists dimensions by their first and last leg, critical or not, with their own tolerance
    where the drawing gives one.
    """

    __tablename__ = "tolerance"
    __table_args__ = (
        ForeignKeyConstraint(
            ["part_number", "revision_label"], ["revision.part_number", "revision.label"]
        ),
        one_of("tolerance_class", TOLERANCE_CLASSES),
    )

    part_number: str = Field(primary_key=True)
    revision_label: str = Field(primary_key=True)
    tolerance_class: str = "m"
    marked: list[Any] = Field(default_factory=list, sa_type=JSON_OR_NULL, nullable=False)
    made_by: str = ""
