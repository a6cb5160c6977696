"""When the machine would not move: what was found, and by whom."""

from datetime import datetime

from sqlmodel import Field, SQLModel

from server.storage.tables.column import UtcTime, no_longer_than, utc_now


class Stoppage(SQLModel, table=True):
    """One search for why the ram does not move; `cause` is a code of the decision list."""

    __tablename__ = "stoppage"
    __table_args__ = (*no_longer_than(1000, "note"),)

    id: int | None = Field(default=None, primary_key=True)
    brake_code: str = Field(foreign_key="brake.code", index=True)
    run_id: int | None = Field(default=None, foreign_key="run.id", index=True)
    cause: str = ""
    words: str = ""
    moves_again: bool = False
    note: str = ""
    by: str = ""
    at: datetime = Field(default_factory=utc_now, sa_type=UtcTime, nullable=False)
