"""Notes and photos on a run."""

from pathlib import Path

from server.actions.history import keep
from server.errors import ShopError
from server.files.photo import write_photo
from server.storage.database import Session
from server.storage.queries.job import get_run
from server.storage.queries.note import find_note_by_key
from server.storage.tables.column import utc_now
from server.storage.tables.note import Note


def add_note(
    session: Session,
    run_id: int,
    *,
    text: str,
    photo: bytes = b"",
    folder: Path,
    position: int | None = None,
    request_key: str = "",
    by: str,
) -> Note:
    """Keep words, a photo, or both on a run.

    Raises: ShopError `not_found`, `nothing_to_note`, `too_large`, `not_a_photo`.
    """
    known = find_note_by_key(session, request_key)
    if known is not None:
        return known
    run = get_run(session, run_id)
    if not text and not photo:
        raise ShopError(
            "nothing_to_note",
            "There is neither a word nor a photo.",
            remedy="Write something, or take a photo.",
            where="text",
        )
    note = Note(
        request_key=request_key or None,
        run_id=run_id,
        job_number=run.job_number,
        part_number=run.part_number,
        position=position,
        text=text,
        photo=write_photo(folder, photo) if photo else "",
        by=by,
    )
    run.changed_at = utc_now()
    session.add_all((note, run))
    session.flush()
    keep(session, "noted", noun="run", key=str(run_id), by=by, after={"text": text[:100]})
    return note
