"""Attached files: kept, downloaded, taken off, put back."""

from dataclasses import dataclass
from typing import Annotated
from urllib.parse import quote, urlencode

from fastapi import APIRouter, Depends, Request
from starlette.datastructures import UploadFile
from starlette.responses import Response

from server.actions import attachment as actions
from server.files.attachment import (
    LARGEST_BYTES,
    SHOWN,
    attachment_folder,
    read_attachment,
)
from server.storage.database import Session
from server.storage.queries import attachment as queries
from server.web.forms.form import Form
from server.web.house import Typed, Visiting
from server.web.pages.attachment import Attachments
from server.web.security import MOST_FIELDS, MOST_FILES

router = APIRouter(prefix="/office/attachment", include_in_schema=False)


@dataclass(frozen=True, slots=True)
class Posted:
    """A posted file by its name."""

    name: str
    data: bytes


async def posted_file(request: Request) -> Posted:
    """The file of a posted form, empty without one; one byte too many is enough to refuse it."""
    form = await request.form(max_fields=MOST_FIELDS, max_files=MOST_FILES)
    file = form.get("file")
    if not isinstance(file, UploadFile):
        return Posted("", b"")
    data = await file.read(LARGEST_BYTES + 1)
    await file.close()  # a large one lies in a temporary file
    return Posted(file.filename or "", data)


@router.post("")
def attach(
    visit: Visiting, typed: Typed, file: Annotated[Posted, Depends(posted_file)]
) -> Response:
    """Keep a file and hang it on something."""
    form = Form(typed)
    with visit.database.writing() as session:
        row = actions.attach(
            session,
            attachment_folder(visit.database.path),
            noun=form.choice("noun", actions.ATTACHED_TO),
            key=form.text("key", needed=True, most=40),
            name=file.name,
            data=file.data,
            certificate=form.yes("certificate"),
            by=visit.person,
        )
    return visit.go_to(page_of(row.noun, row.key) + "#attachments")


@router.get("/{attachment_id}/{name}")
def download(visit: Visiting, attachment_id: int, name: str) -> Response:
    """The file itself; what a browser could run is only ever downloaded."""
    with visit.database.reading() as session:
        row = queries.get_attachment(session, attachment_id)
    data = read_attachment(attachment_folder(visit.database.path), row.content_sha256)
    del name  # stands in the address for people; the record has the real one
    way = "inline" if row.media_type in SHOWN else "attachment"
    return Response(
        data,
        media_type=row.media_type,
        headers={
            "content-disposition": f"{way}; filename*=UTF-8''{quote(row.name)}",
            "content-security-policy": "sandbox; default-src 'none'",
            "cache-control": "private, max-age=86400, immutable",
        },
    )


@router.post("/{attachment_id}/removed")
def remove(visit: Visiting, attachment_id: int, typed: Typed) -> Response:
    """Take a file off what it hangs on, or put it back."""
    removed = Form(typed).yes("removed")
    act = actions.remove_attachment if removed else actions.restore_attachment
    with visit.database.writing() as session:
        row = act(session, attachment_id, by=visit.person)
    asked = f"?{urlencode({'removed': attachment_id})}" if removed else ""
    return visit.go_to(f"{page_of(row.noun, row.key)}{asked}#attachments")


def page_of(noun: str, key: str) -> str:
    """Where a thing with files has its page."""
    place = "stock/lot" if noun == "lot" else noun
    return f"/office/{place}/{quote(key)}"


def attachments_of(session: Session, noun: str, key: str, *, removed: int = 0) -> Attachments:
    """The files of a thing, for its page; `removed` is one that may be put back."""
    row = queries.get_attachment(session, removed) if removed else None
    mine = row is not None and (row.noun, row.key) == (noun, key) and row.removed_at is not None
    return Attachments(
        noun=noun,
        key=key,
        files=queries.list_attachments(session, noun, key),
        certificates=noun == "lot",
        removed=row if mine else None,
    )
