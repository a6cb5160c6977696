"""Care of a brake: what is due, what was done, and how often each thing is."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from server.actions.care import CareItem
from server.web.forms.form import Form
from server.web.pages.page import Frame, Page

if TYPE_CHECKING:
    from server.storage.tables.brake import Brake
    from server.storage.tables.care import CareEntry, CareTask, HourReading

STATE_TAGS = {"overdue": "stop", "never done": "care", "due soon": "care", "later": "good"}


@dataclass(frozen=True)
class CareShow(Page):
    """What is due on a brake, and the log."""

    template: ClassVar[str] = "care/show.html"
    frame: Frame
    machine: "Brake"
    others: "tuple[Brake, ...]"
    items: tuple[CareItem, ...]
    tags: dict[str, str]
    meter: "HourReading | None"
    log: "tuple[tuple[CareEntry, CareTask], ...]"


@dataclass(frozen=True)
class CareTaskEdit(Page):
    """How often each thing is done, in the office."""

    template: ClassVar[str] = "care/edit.html"
    frame: Frame
    machine: "Brake"
    tasks: "tuple[CareTask, ...]"
    form: Form
    task_id: int | None
    kinds: tuple[tuple[str, str], ...]
