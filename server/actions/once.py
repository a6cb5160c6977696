"""Carrying out a request once, however often a device sends it."""

from server.storage.database import Session
from server.storage.tables.event import RequestKey


def already_done(session: Session, request_key: str, did: str) -> bool:
    """Whether a named request was carried out before; if not, it is marked as done now.

    A request without a key is always new. The mark lives in the same transaction as the change.
    """
    key = request_key[:64]
    if not key:
        return False
    if session.get(RequestKey, key) is not None:
        return True
    session.add(RequestKey(key=key, did=did))
    return False
