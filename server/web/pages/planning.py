"""Pages about asking the planner: what to choose, how far it is, and what it came to."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from server.actions.tool_outlook import ToolOutlook
from server.drawings.step import draw_blocked
from server.errors import Sentence
from server.findings import Finding
from server.planning.dead_end import DeadEnd, DeadStroke
from server.planning.errand import Told
from server.planning.freeing import Suggestion
from server.storage.plain_finding import sentence_of
from server.storage.plain_outcome import blocked_of
from server.web.pages.page import Frame, Page

if TYPE_CHECKING:
    from server.storage.tables.part import Revision
    from server.storage.tables.planning import Planning


@dataclass(frozen=True)
class PlanningProgress(Page):
    """How far the planner is; asks again by itself."""

    template: ClassVar[str] = "planning/_progress.html"
    planning_id: int
    told: Told
    spent_s: float


@dataclass(frozen=True)
class BlockedStroke:
    """One bend that cannot be the last, with its picture and the overlap close by."""

    stroke: DeadStroke
    picture: str
    close_picture: str


@dataclass(frozen=True)
class BlockedIn:
    """Why the part cannot be bent in one choice of dies."""

    end: DeadEnd
    strokes: tuple[BlockedStroke, ...]


@dataclass(frozen=True)
class PlanningShow(Page):
    """One question: under way, or what blocks the part and what would free it."""

    template: ClassVar[str] = "planning/show.html"
    frame: Frame
    planning: "Planning"
    progress: PlanningProgress | None
    blocked: tuple[BlockedIn, ...]
    blockers: tuple[Finding, ...]
    suggestions: tuple[Suggestion, ...]
    proven: bool
    trouble: tuple[Sentence, ...]
    asked: Mapping[str, str]


@dataclass(frozen=True)
class PlanningNew(Page):
    """What to choose before planning: brake, die, punch, and what is fixed of the order."""

    template: ClassVar[str] = "planning/edit.html"
    frame: Frame
    revision: "Revision"
    outlook: ToolOutlook
    brakes: tuple[str, ...]
    typed: Mapping[str, str]
    key_picture: str
    bends: tuple[tuple[int, float, str, str], ...]


def planning_show(
    frame: Frame,
    planning: "Planning",
    progress: PlanningProgress | None,
    asked: Mapping[str, str],
) -> PlanningShow:
    """The page of one question."""
    found = blocked_of(planning.outcome) if planning.state == "blocked" else None
    shown = (
        {(finding.code, finding.bend, finding.tool) for finding in _shown(found.ends)}
        if found
        else set()
    )
    return PlanningShow(
        frame=frame,
        planning=planning,
        progress=progress,
        blocked=tuple(_blocked_in(end) for end in found.ends) if found else (),
        blockers=tuple(
            finding
            for finding in found.blockers
            if (finding.code, finding.bend, finding.tool) not in shown
        )
        if found
        else (),
        suggestions=found.suggestions if found else (),
        proven=found.proven if found else True,
        trouble=tuple(sentence_of(one) for one in planning.trouble),
        asked=asked,
    )


def _shown(ends: Sequence[DeadEnd]) -> list[Finding]:
    return [finding for end in ends for stroke in end.strokes for finding in stroke.findings]


def _blocked_in(end: DeadEnd) -> BlockedIn:
    strokes = []
    for stroke in end.strokes:
        names = ", ".join(str(bend + 1) for bend in stroke.bends)
        picture, close = draw_blocked(
            stroke.picture.picture,
            stroke.picture.overlap_mm,
            side_up=stroke.side_up,
            title=f"Bend {names}, blocked",
        )
        strokes.append(BlockedStroke(stroke, picture, close))
    return BlockedIn(end, tuple(strokes))
