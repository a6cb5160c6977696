"""Pages about customers."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from server.web.forms.conflict import Conflict
from server.web.forms.form import Form
from server.web.pages.attachment import Attachments
from server.web.pages.history import History
from server.web.pages.job import JobRow
from server.web.pages.page import Frame, Page

if TYPE_CHECKING:
    from server.storage.queries.customer import CustomerLine


@dataclass(frozen=True)
class CustomerList(Page):
    """Every customer."""

    template: ClassVar[str] = "customer/list.html"
    frame: Frame
    customers: "list[CustomerLine]"
    with_archived: bool
    history: History


@dataclass(frozen=True)
class CustomerEdit(Page):
    """One customer with its jobs, or a new one."""

    template: ClassVar[str] = "customer/edit.html"
    frame: Frame
    form: Form
    code: str
    archived: bool
    kept: bool
    jobs: tuple[JobRow, ...]
    attachments: Attachments
    conflict: Conflict
    history: History
