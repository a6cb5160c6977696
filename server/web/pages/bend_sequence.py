"""Pages about bend sequences: the strip of steps, other ways, dimensions, the sheet in hand."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from server.actions.work_out import section_of_faces
from server.actions.work_out_flat import part_of_faces
from server.drawings.flat import draw_flat
from server.drawings.section import SectionWords, draw_section
from server.errors import Sentence
from server.findings import Finding
from server.geometry.plain_part import flat_part_of
from server.planning.blank import as_drawn
from server.planning.drawn_part import drawn_part_of
from server.planning.errand import Told
from server.planning.order import OrderCost
from server.planning.order_check import ChosenStep
from server.storage.plain_outcome import ways_of
from server.web.display import Display
from server.web.forms.arrangement import Arrangement, order_text, past_text
from server.web.forms.form import Problem
from server.web.pages.page import Frame, Page
from server.web.pages.sequence_dimension import SequenceDimensions
from server.web.pages.step_card import StepCard

if TYPE_CHECKING:
    from server.storage.tables.bend_sequence import BendSequence
    from server.storage.tables.part import Revision
    from server.storage.tables.planning import Planning


@dataclass(frozen=True)
class SequenceStrip(Page):
    """The steps in order, and the form that arranges them."""

    template: ClassVar[str] = "bend_sequence/_strip.html"
    sequence: "BendSequence"
    cards: tuple[StepCard, ...]
    order: str
    past: str
    ahead: str
    arranged: bool
    cost: OrderCost
    kept_cost: OrderCost
    blocked_count: int
    punches: tuple[str, ...]
    other: "BendSequence | None"
    key_picture: str
    problem: Problem | None = None


@dataclass(frozen=True)
class WayRow:
    """Another way to bend the part, to compare and to look at."""

    asked: Sentence
    cost: OrderCost
    order: str
    bends: tuple[int, ...]


@dataclass(frozen=True)
class SequenceWays(Page):
    """Other ways than the one kept: under way, or compared."""

    template: ClassVar[str] = "bend_sequence/_ways.html"
    sequence_id: int
    state: str
    told: Told | None
    ways: tuple[WayRow, ...]
    kept_cost: OrderCost
    kept_bends: tuple[int, ...]


@dataclass(frozen=True)
class SequenceShow(Page):
    """One bend sequence: its strip of pictures, its cost, and what to know."""

    template: ClassVar[str] = "bend_sequence/show.html"
    frame: Frame
    sequence: "BendSequence"
    revision: "Revision"
    strip: SequenceStrip
    ways: SequenceWays
    dimensions: SequenceDimensions
    findings: tuple[Finding, ...]
    blank_error_mm: float


def key_picture(revision: "Revision", show: Display) -> str:
    """The part with its bends numbered: a section, or the flat of a part that is none."""
    section = section_of_faces(revision.faces)
    if section is None:
        flat = part_of_faces(revision.faces)
        return draw_flat(flat, title="The blank with its bends", length=show.length, names=True)
    section = as_drawn(section, drawn_part_of(revision.drawn).profile.bends)
    words = SectionWords(
        legs=[f"leg {number}" for number in range(1, len(section.legs) + 1)],
        bends=[f"{number}" for number in range(1, len(section.bends) + 1)],
        numbered=True,
    )
    return draw_section(section, title="The part with its bends", words=words)


def bends_of_revision(revision: "Revision") -> tuple[tuple[int, float, str, str], ...]:
    """Each bend of a revision: its number from 1, its angle with its sign, and its two sides."""
    part = flat_part_of(revision.faces)
    noun = "leg" if revision.kind == "profile" else "face"
    return tuple(
        (
            number,
            bend.bend_angle_deg,
            f"{noun} {bend.faces[0] + 1}",
            f"{noun} {bend.faces[1] + 1}",
        )
        for number, bend in enumerate(part.bends, start=1)
    )


def strip_page(
    sequence: "BendSequence",
    cards: tuple[StepCard, ...],
    arrangement: Arrangement,
    *,
    cost: OrderCost | None,
    punches: Sequence[str],
    other: "BendSequence | None",
    picture: str,
) -> SequenceStrip:
    """The strip as it stands; no cost for the sequence as it was kept."""
    kept = OrderCost(**sequence.cost)
    return SequenceStrip(
        sequence=sequence,
        cards=cards,
        order=order_text(arrangement.order),
        past=past_text(arrangement.past),
        ahead=past_text(arrangement.ahead),
        arranged=cost is not None,
        cost=cost or kept,
        kept_cost=kept,
        blocked_count=sum(card.blocked for card in cards),
        punches=tuple(punches),
        other=other,
        key_picture=picture,
    )


def ways_page(
    sequence: "BendSequence",
    kept: Sequence[ChosenStep],
    planning: "Planning | None",
    told: Told | None,
) -> SequenceWays:
    """Other ways as far as they are known."""
    found = ways_of(planning.outcome["found"]) if planning and planning.state == "found" else ()
    return SequenceWays(
        sequence_id=sequence.id or 0,
        state=planning.state if planning else "",
        told=told,
        ways=tuple(
            WayRow(one.asked, one.cost, order_text(one.steps), tuple(s.bend for s in one.steps))
            for one in found
        ),
        kept_cost=OrderCost(**sequence.cost),
        kept_bends=tuple(step.bend for step in kept),
    )
