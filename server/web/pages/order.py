"""Pages about enquiries and orders."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from server.errors import Sentence
from server.web.forms.conflict import Conflict
from server.web.forms.form import Form
from server.web.pages.attachment import Attachments
from server.web.pages.history import History
from server.web.pages.job import JobRow
from server.web.pages.page import Frame, Page

if TYPE_CHECKING:
    from server.storage.tables.customer import Customer
    from server.storage.tables.order import Order
    from server.storage.tables.part import Part, Revision


@dataclass(frozen=True)
class Understood(Page):
    """What was understood from a line while it is typed: the part, the day, the trouble."""

    template: ClassVar[str] = "order/_understood.html"
    part: "Part | None"
    revision: "Revision | None"
    has_sequence: bool
    due: str
    in_days: int | None
    trouble: tuple[Sentence, ...]


@dataclass(frozen=True)
class PartHits(Page):
    """Parts like what was typed, to choose from."""

    template: ClassVar[str] = "order/_parts.html"
    hits: tuple[tuple[str, str], ...]
    text: str


@dataclass(frozen=True)
class OrderEdit(Page):
    """A new enquiry with its first line."""

    template: ClassVar[str] = "order/edit.html"
    frame: Frame
    form: Form
    customers: tuple[tuple[str, str], ...]
    understood: Understood


@dataclass(frozen=True)
class OrderShow(Page):
    """One enquiry or order with its lines."""

    template: ClassVar[str] = "order/show.html"
    frame: Frame
    order: "Order"
    customer: "Customer"
    rows: tuple[JobRow, ...]
    total_minor: int | None
    form: Form
    line: Form
    customers: tuple[tuple[str, str], ...]
    understood: Understood
    conflict: Conflict
    attachments: Attachments
    history: History
