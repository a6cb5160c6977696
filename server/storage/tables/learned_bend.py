"""What the shop's trials taught, for each metal, thickness and V; and what each set-up gave to it."""

from typing import Any

from sqlalchemy import UniqueConstraint
from sqlmodel import Field, SQLModel

from server.storage.tables.column import JSON_OR_NULL, Versioned, above_zero


class LearnedBend(Versioned, table=True):
    """The stored summary of all trials on one metal, thickness and V; `lots` as it is kept."""

    __tablename__ = "learned_bend"
    __table_args__ = (
        UniqueConstraint("material_code", "thickness_mm", "v_opening_mm"),
        *above_zero("thickness_mm", "v_opening_mm"),
    )

    id: int | None = Field(default=None, primary_key=True)
    family: str = Field(index=True)
    material_code: str = Field(foreign_key="material.code", index=True)
    thickness_mm: float
    v_opening_mm: float
    lots: dict[str, Any] = Field(default_factory=dict, sa_type=JSON_OR_NULL, nullable=False)


class SetupEvidence(SQLModel, table=True):
    """What one set-up gave to a learned bend, so that it can be taken back and given anew.

    `held_back`: so far from all that was known that nothing is learned from it until somebody
    confirms it.
    """

    __tablename__ = "setup_evidence"

    setup_id: int = Field(foreign_key="setup.id", primary_key=True, ondelete="CASCADE")
    learned_bend_id: int = Field(foreign_key="learned_bend.id", primary_key=True)
    lot_code: str = ""
    evidence: dict[str, Any] = Field(default_factory=dict, sa_type=JSON_OR_NULL, nullable=False)
    surprise_ratio: float = 0.0
    held_back: bool = False
    confirmed_by: str = ""
