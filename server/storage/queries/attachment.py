"""Reading attached files' records."""

from sqlmodel import Session, col, select

from server.errors import ShopError
from server.storage.tables.attachment import Attachment


def list_attachments(session: Session, noun: str, key: str) -> list[Attachment]:
    """Files attached to one thing, newest first."""
    query = (
        select(Attachment)
        .where(
            col(Attachment.noun) == noun,
            col(Attachment.key) == key,
            col(Attachment.removed_at).is_(None),
        )
        .order_by(col(Attachment.added_at).desc(), col(Attachment.id).desc())
    )
    return list(session.exec(query))


def get_attachment(session: Session, attachment_id: int) -> Attachment:
    """One attached file's record, removed or not.

    Raises: ShopError `not_found`.
    """
    found = session.get(Attachment, attachment_id)
    if found is None:
        raise ShopError("not_found", "There is no such file.", remedy="Reload the page.")
    return found


def certificates_of(session: Session, lot_codes: list[str]) -> dict[str, list[Attachment]]:
    """Certificates on file of some lots, by lot."""
    found: dict[str, list[Attachment]] = {code: [] for code in lot_codes}
    query = select(Attachment).where(
        col(Attachment.noun) == "lot",
        col(Attachment.key).in_(lot_codes),
        col(Attachment.certificate),
        col(Attachment.removed_at).is_(None),
    )
    for row in session.exec(query):
        found[row.key].append(row)
    return found
