"""Reading what the planner was asked and what it came to."""

from sqlmodel import Session, col, select

from server.errors import ShopError
from server.storage.tables.planning import Planning


def get_planning(session: Session, planning_id: int) -> Planning:
    """One question to the planner.

    Raises: ShopError `not_found`.
    """
    found = session.get(Planning, planning_id)
    if found is None:
        raise ShopError(
            "not_found", "The planner was not asked that.", remedy="Plan again from the part."
        )
    return found


def find_last_planning(
    session: Session, kind: str, *, sequence_id: int | None = None
) -> Planning | None:
    """The last question of a kind, of one sequence where it is named."""
    query = select(Planning).where(col(Planning.kind) == kind)
    if sequence_id is not None:
        query = query.where(col(Planning.bend_sequence_id) == sequence_id)
    return session.exec(query.order_by(col(Planning.id).desc()).limit(1)).first()


def list_blocked_plannings(session: Session) -> list[Planning]:
    """For each revision the last plan asked for, where that was blocked; newest first."""
    query = select(Planning).where(
        col(Planning.kind) == "plan", col(Planning.state).in_(("planned", "blocked"))
    )
    last: dict[tuple[str, str], Planning] = {}
    for row in session.exec(query.order_by(col(Planning.id).desc())):
        last.setdefault((row.part_number, row.revision_label), row)
    return [row for row in last.values() if row.state == "blocked"]
