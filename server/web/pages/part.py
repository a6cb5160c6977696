"""Pages about parts."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from server.storage.queries.part import PartLine
from server.web.pages.attachment import Attachments
from server.web.pages.page import Frame, Page
from server.web.pages.starter import Starter

if TYPE_CHECKING:
    from server.storage.tables.bend_sequence import BendSequence
    from server.storage.tables.part import Draft, Part, Revision


@dataclass(frozen=True)
class PartRow:
    """A part in the list, with its small picture."""

    line: PartLine
    picture: str


@dataclass(frozen=True)
class PartRows(Page):
    """The rows of the list of parts, as found."""

    template: ClassVar[str] = "part/_rows.html"
    rows: list[PartRow]
    text: str
    more: int


@dataclass(frozen=True)
class PartList(Page):
    """All parts, and drawings in progress."""

    template: ClassVar[str] = "part/list.html"
    frame: Frame
    rows: PartRows
    drafts: "list[Draft]"
    draft_paths: tuple[str, ...]
    starters: tuple[Starter, ...]
    count: int


@dataclass(frozen=True)
class PartShow(Page):
    """One part with a revision."""

    template: ClassVar[str] = "part/show.html"
    frame: Frame
    part: "Part"
    revision: "Revision | None"
    revisions: "list[Revision]"
    section_picture: str
    fold: str
    flat_picture: str
    sequences: "list[BendSequence]"
    brakes: tuple[str, ...]
    dies: tuple[str, ...]
    punches: tuple[str, ...]
    attachments: Attachments
