"""The page that tells which one tool to buy would free the most blocked parts."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from server.drawings.tool import draw_tool
from server.errors import Sentence
from server.planning.errand import Told
from server.planning.freeing import ToolWorth
from server.planning.tool_catalogue import Candidate, catalogue
from server.storage.plain_outcome import worth_of
from server.web.pages.page import Frame, Page

if TYPE_CHECKING:
    from server.storage.tables.planning import Planning


@dataclass(frozen=True)
class WorthRow:
    """One candidate tool, drawn, and the parts it would free."""

    words: Sentence
    picture: str
    parts: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class WorthPanel(Page):
    """The blocked parts, the search under way, and what it found."""

    template: ClassVar[str] = "worth/_panel.html"
    blocked: tuple[tuple[str, str, int], ...]
    state: str
    told: Told | None
    rows: tuple[WorthRow, ...]
    tried_count: int
    out_of_date: bool


@dataclass(frozen=True)
class WorthPage(Page):
    """The whole page around the panel."""

    template: ClassVar[str] = "worth/show.html"
    frame: Frame
    panel: WorthPanel


def worth_panel(
    blocked: "Sequence[Planning]", last: "Planning | None", told: Told | None
) -> WorthPanel:
    """What is blocked now, beside what the last search found."""
    parts = tuple((row.part_number, row.revision_label, row.id or 0) for row in blocked)
    tried = tuple((part, label) for part, label in last.wish["parts"]) if last else ()
    found = worth_of(last.outcome["found"]) if last and last.state == "found" else ()
    known = {one.tool.name: one for one in catalogue()}
    return WorthPanel(
        blocked=parts,
        state=last.state if last else "",
        told=told,
        rows=tuple(_row(known[one.tool], one, tried) for one in found if one.tool in known),
        tried_count=len(tried),
        out_of_date=last is not None and set(tried) != {part[:2] for part in parts},
    )


def _row(candidate: Candidate, one: ToolWorth, parts: Sequence[tuple[str, str]]) -> WorthRow:
    picture = draw_tool(candidate.tool.profile_mm, title=one.tool)
    return WorthRow(candidate.words, picture, tuple(parts[number] for number in one.frees))
