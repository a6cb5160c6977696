"""Pages about bend sequences."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from server.drawings.step import draw_step
from server.findings import Finding, Reason
from server.storage.plain_finding import findings_of, reasons_of
from server.storage.plain_scene import scene_of
from server.web.pages.page import Frame, Page
from server.web.pages.run import gauge_words

if TYPE_CHECKING:
    from server.storage.tables.bend_sequence import BendSequence, Step
    from server.storage.tables.part import Revision


@dataclass(frozen=True)
class StepStrip:
    """One step in the strip: two small pictures and its numbers."""

    step: "Step"
    picture_before: str
    picture_after: str
    gauge_words: str
    findings: tuple[Finding, ...]
    reasons: tuple[Reason, ...]


@dataclass(frozen=True)
class SequenceShow(Page):
    """One bend sequence: its strip of pictures, its cost, and what to know."""

    template: ClassVar[str] = "bend_sequence/show.html"
    frame: Frame
    sequence: "BendSequence"
    revision: "Revision"
    steps: list[StepStrip]
    findings: tuple[Finding, ...]
    blank_error_mm: float


@dataclass(frozen=True)
class SequenceBlocked(Page):
    """Why a part cannot be bent with what the shop owns, and what would free it."""

    template: ClassVar[str] = "bend_sequence/blocked.html"
    frame: Frame
    part_number: str
    revision_label: str
    blockers: tuple[Finding, ...]


def step_strips(steps: "list[Step]") -> list[StepStrip]:
    """The strip of a sequence's steps."""
    strips = []
    for step in steps:
        before, after = scene_of(step.scene)
        pictures = draw_step(before, after, side_up=step.side_up, title=f"Step {step.position}")
        strips.append(
            StepStrip(
                step=step,
                picture_before=pictures[0],
                picture_after=pictures[1],
                gauge_words=gauge_words(step),
                findings=findings_of(step.findings),
                reasons=reasons_of(step.reasons),
            )
        )
    return strips
