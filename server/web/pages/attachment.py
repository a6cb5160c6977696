"""Attached files as a part of other pages."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from server.web.pages.page import Page

if TYPE_CHECKING:
    from server.storage.tables.attachment import Attachment


@dataclass(frozen=True)
class Attachments(Page):
    """Files that hang on one thing, with a form for another."""

    template: ClassVar[str] = "attachment/_list.html"
    noun: str
    key: str
    files: "list[Attachment]"
    certificates: bool
    removed: "Attachment | None"
