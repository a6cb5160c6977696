"""Reading stoppages: when a machine would not move, and what it was."""

from collections import Counter

from sqlmodel import Session, col, select

from server.storage.tables.stoppage import Stoppage


def list_stoppages(session: Session, brake_code: str, *, most: int = 30) -> list[Stoppage]:
    """The last searches on a brake, newest first."""
    query = (
        select(Stoppage)
        .where(col(Stoppage.brake_code) == brake_code)
        .order_by(col(Stoppage.at).desc(), col(Stoppage.id).desc())
        .limit(most)
    )
    return list(session.exec(query))


def count_causes(session: Session, brake_code: str) -> list[tuple[str, int]]:
    """How often each cause was found on a brake, most often first."""
    query = select(Stoppage.cause).where(
        col(Stoppage.brake_code) == brake_code, col(Stoppage.cause) != ""
    )
    return Counter(session.exec(query)).most_common()
