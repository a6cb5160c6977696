"""Pages about jobs: the board, the list, one job."""

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING, ClassVar

from server.errors import Sentence
from server.findings import Finding
from server.shop.job_state import OPEN_STATES, JobState
from server.web.forms.conflict import Conflict
from server.web.forms.form import Form
from server.web.pages.attachment import Attachments
from server.web.pages.history import History
from server.web.pages.page import Frame, Page

if TYPE_CHECKING:
    from server.storage.queries.board import JobLine
    from server.storage.tables.customer import Customer
    from server.storage.tables.job import Job, Run
    from server.storage.tables.material import Lot
    from server.storage.tables.order import Operation
    from server.storage.tables.part import Part, Revision

TAGS: dict[JobState, str] = {
    "asked": "idle",
    "priced": "idle",
    "won": "",
    "ready": "good",
    "running": "good",
    "held": "care",
    "made": "good",
    "gone": "idle",
    "lost": "stop",
}


@dataclass(frozen=True, slots=True)
class JobRow:
    """One job in a list or on the board."""

    job: "Job"
    customer: str
    tag: str
    late: bool


def job_row(line: "JobLine", now: datetime) -> JobRow:
    """A job as lists show it; late when it is not made by its day."""
    job = line.job
    state: JobState = next(one for one in TAGS if one == job.state)
    behind = state in OPEN_STATES and state != "made"
    late = bool(behind and job.due_at is not None and job.due_at < now)
    return JobRow(job, line.customer, TAGS[state], late)


@dataclass(frozen=True, slots=True)
class Column:
    """The jobs of one state; `count` is counted to a thousand."""

    state: JobState
    rows: tuple[JobRow, ...]
    count: int


@dataclass(frozen=True)
class JobBoard(Page):
    """Jobs in columns by state."""

    template: ClassVar[str] = "job/board.html"
    frame: Frame
    columns: tuple[Column, ...]
    low_stock: tuple[Finding, ...]


@dataclass(frozen=True)
class JobRows(Page):
    """A page of the list, with what can be done to the chosen ones."""

    template: ClassVar[str] = "job/_rows.html"
    rows: tuple[JobRow, ...]
    more: str
    states: tuple[JobState, ...]
    wished: str


@dataclass(frozen=True, slots=True)
class BulkNote:
    """What became of several jobs at once; `undo` is what would take it back, empty when nothing."""

    what: str
    done: tuple[str, ...]
    refused: tuple[tuple[str, Sentence], ...]
    undo: str
    papers: tuple[str, ...] = ()


@dataclass(frozen=True)
class JobList(Page):
    """Every job that fits a wish."""

    template: ClassVar[str] = "job/list.html"
    frame: Frame
    form: Form
    list_rows: JobRows
    customers: tuple[tuple[str, str], ...]
    state_choices: tuple[tuple[str, str], ...]
    due_choices: tuple[tuple[str, str], ...]
    bulk: BulkNote | None


@dataclass(frozen=True, slots=True)
class Way:
    """A state a job may move to, and what stands in the way."""

    state: JobState
    label: str
    stops: tuple[Finding, ...]
    cautions: tuple[Finding, ...]
    asks_reason: bool


@dataclass(frozen=True, slots=True)
class SheetUse:
    """Sheets of a lot that a job reserved or consumed."""

    lot: "Lot"
    reserved_count: int
    consumed_count: int
    certificates: tuple[tuple[int, str], ...]


@dataclass(frozen=True, slots=True)
class SheetOffer:
    """A size in stock that a job could be cut from."""

    width_mm: float
    height_mm: float
    free_count: int
    needed_count: int


@dataclass(frozen=True)
class JobShow(Page):
    """One job."""

    template: ClassVar[str] = "job/show.html"
    frame: Frame
    row: JobRow
    part: "Part"
    revision: "Revision"
    newest_label: str
    ways: tuple[Way, ...]
    may_undo: bool
    operations: "list[Operation]"
    runs: "list[Run]"
    sheets: tuple[SheetUse, ...]
    offers: tuple[SheetOffer, ...]
    changes: tuple[Finding, ...]
    price_stands: bool
    repeats: "list[Job]"
    attachments: Attachments
    history: History


@dataclass(frozen=True)
class JobEdit(Page):
    """One job's own values."""

    template: ClassVar[str] = "job/edit.html"
    frame: Frame
    form: Form
    number: str
    part: "Part"
    customer: "Customer | None"
    conflict: Conflict


def now_utc() -> datetime:
    """The time now, in UTC."""
    return datetime.now(UTC)
