"""What the planner was asked and what it came to, so that nobody has to ask twice."""

from typing import Any

from sqlmodel import Field

from server.storage.tables.column import JSON_OR_NULL, Versioned, not_below_zero, one_of

PLANNING_KINDS = ("plan", "alternative", "worth")
PLANNING_STATES = ("running", "planned", "blocked", "found", "cancelled", "failed")


class Planning(Versioned, table=True):
    """One question to the planner. `bend_sequence_id` is what it made, or what it started from.

    `wish` is what was asked, `outcome` what blocks, what frees, or the other ways found; `trouble`
    a sentence and its remedy when it failed.
    """

    __tablename__ = "planning"
    __table_args__ = (
        one_of("kind", PLANNING_KINDS),
        one_of("state", PLANNING_STATES),
        *not_below_zero("spent_s"),
    )

    id: int | None = Field(default=None, primary_key=True)
    kind: str = "plan"
    state: str = "running"
    part_number: str = Field(default="", index=True)
    revision_label: str = ""
    bend_sequence_id: int | None = Field(default=None, foreign_key="bend_sequence.id", index=True)
    wish: dict[str, Any] = Field(default_factory=dict, sa_type=JSON_OR_NULL, nullable=False)
    outcome: dict[str, Any] = Field(default_factory=dict, sa_type=JSON_OR_NULL, nullable=False)
    trouble: list[Any] = Field(default_factory=list, sa_type=JSON_OR_NULL, nullable=False)
    spent_s: float = 0.0
    made_by: str = ""
