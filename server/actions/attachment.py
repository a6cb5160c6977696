"""Attaching files to parts, jobs, orders, customers and lots."""

from pathlib import Path

from server.actions.history import keep
from server.errors import ShopError, say
from server.files.attachment import media_type_of, plain_name, write_attachment
from server.storage.database import Session
from server.storage.queries.attachment import get_attachment
from server.storage.queries.customer import get_customer
from server.storage.queries.job import get_job
from server.storage.queries.lot import get_lot
from server.storage.queries.order import get_order
from server.storage.queries.part import get_part
from server.storage.tables.attachment import ATTACHED_TO, Attachment
from server.storage.tables.column import utc_now

__all__ = ["ATTACHED_TO", "attach", "remove_attachment", "restore_attachment"]


def attach(
    session: Session,
    folder: Path,
    *,
    noun: str,
    key: str,
    name: str,
    data: bytes,
    certificate: bool = False,
    by: str,
) -> Attachment:
    """Keep a file and hang it on something the shop has.

    Raises: ShopError `not_found` for what it would hang on, `no_file`, `too_large`.
    """
    _need(session, noun, key)
    row = Attachment(
        noun=noun,
        key=key,
        content_sha256=write_attachment(folder, data),
        name=plain_name(name),
        media_type=media_type_of(name),
        size_bytes=len(data),
        certificate=certificate and noun == "lot",
        added_by=by,
    )
    session.add(row)
    session.flush()
    keep(session, "attached", noun=noun, key=key, by=by, after={"file": row.name, "id": row.id})
    return row


def remove_attachment(session: Session, attachment_id: int, *, by: str) -> Attachment:
    """Take a file off what it hangs on; its content stays, so that this can be undone.

    Raises: ShopError `not_found`.
    """
    row = get_attachment(session, attachment_id)
    row.removed_at = utc_now()
    session.add(row)
    keep(session, "took off", noun=row.noun, key=row.key, by=by, after={"file": row.name})
    return row


def restore_attachment(session: Session, attachment_id: int, *, by: str) -> Attachment:
    """Hang a file back on.

    Raises: ShopError `not_found`.
    """
    row = get_attachment(session, attachment_id)
    row.removed_at = None
    session.add(row)
    keep(session, "attached", noun=row.noun, key=row.key, by=by, after={"file": row.name})
    return row


def _need(session: Session, noun: str, key: str) -> None:
    match noun:
        case "part":
            get_part(session, key)
        case "job":
            get_job(session, key)
        case "order":
            get_order(session, key)
        case "customer":
            get_customer(session, key)
        case "lot":
            get_lot(session, key)
        case _:
            raise ShopError(
                "not_found",
                say("Nothing can be attached to a {noun}.", noun=noun[:20]),
                remedy="Go back.",
            )
