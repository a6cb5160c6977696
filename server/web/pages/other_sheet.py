"""Pages about a sequence on the sheet in hand, and on paper."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from server.actions.key_ahead import KeyedAhead
from server.actions.other_sheet import OtherSheet
from server.web.forms.form import Form
from server.web.pages.page import Frame, Page
from server.web.pages.step_card import StepCard

if TYPE_CHECKING:
    from server.storage.tables.bend_sequence import BendSequence
    from server.storage.tables.material import Lot
    from server.storage.tables.part import Revision

PAPERS = ("a4", "letter")


@dataclass(frozen=True)
class SequenceSheet(Page):
    """A kept sequence worked out for the sheet in hand: old, new and why."""

    template: ClassVar[str] = "bend_sequence/sheet.html"
    frame: Frame
    sequence: "BendSequence"
    revision: "Revision"
    form: Form
    found: OtherSheet | None
    lots: "Sequence[Lot]"


@dataclass(frozen=True)
class SequencePrint(Page):
    """A sequence on paper: what to key, how the sheet lies, what to measure."""

    template: ClassVar[str] = "bend_sequence/print.html"
    frame: Frame
    sequence: "BendSequence"
    revision: "Revision"
    paper: str
    cards: tuple[StepCard, ...]
    keyed: tuple[KeyedAhead, ...]
    key_picture: str
    control_unit: str
    touched_off: bool
