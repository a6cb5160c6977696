"""Reading what people did."""

from sqlmodel import Session, col, select

from server.errors import ShopError
from server.storage.tables.event import Event


def list_events(session: Session, *, noun: str, key: str, most: int = 12) -> list[Event]:
    """What was done to one thing, newest first."""
    query = (
        select(Event)
        .where(col(Event.noun) == noun, col(Event.key) == key)
        .order_by(col(Event.at).desc(), col(Event.id).desc())
        .limit(most)
    )
    return list(session.exec(query))


def list_noun_events(session: Session, *nouns: str, most: int = 12) -> list[Event]:
    """What was done to things of a few kinds, newest first; each kind by its own index."""
    found: list[Event] = []
    for noun in nouns:
        query = select(Event).where(col(Event.noun) == noun)
        query = query.order_by(col(Event.at).desc(), col(Event.id).desc()).limit(most)
        found += session.exec(query)
    return sorted(found, key=lambda event: (event.at, event.id or 0), reverse=True)[:most]


def get_event(session: Session, event_id: int) -> Event:
    """One thing that was done.

    Raises: ShopError `not_found`.
    """
    found = session.get(Event, event_id)
    if found is None:
        raise ShopError(
            "not_found",
            "That entry is not in the history.",
            remedy="Reload the page.",
            where="form",
        )
    return found
