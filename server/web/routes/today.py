"""Today's work: what runs, what waits, what is due, what needs the office."""

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING, ClassVar

from fastapi import APIRouter
from starlette.responses import Response

from server.storage.queries.customer import customer_names
from server.storage.queries.first_hour import FirstHour, find_first_hour
from server.storage.queries.job import list_jobs, list_open_runs
from server.storage.queries.part import count_parts, list_drafts, parts_without_sequence
from server.web.house import Visiting
from server.web.pages.page import Frame, Page

if TYPE_CHECKING:
    from server.storage.tables.job import Job, Run
    from server.storage.tables.part import Draft, Part

router = APIRouter(prefix="/office", include_in_schema=False)
TO_DO = ("won", "ready", "running", "held")


@dataclass(frozen=True)
class TodayPage(Page):
    """The office's first page."""

    template: ClassVar[str] = "today/show.html"
    frame: Frame
    now: datetime
    runs: "list[Run]"
    jobs: "list[Job]"
    customers: dict[str | None, str]
    drafts: "list[Draft]"
    unplanned: "list[Part]"
    part_count: int
    first_hour: FirstHour | None


@router.get("")
def today(visit: Visiting) -> Response:
    """Today's work."""
    with visit.database.reading() as session:
        jobs = list_jobs(session, states=TO_DO, limit=20)
        page = TodayPage(
            frame=visit.frame("Today", "today", styles=("today",), scripts=("office_live",)),
            now=datetime.now(UTC),
            runs=list_open_runs(session),
            jobs=jobs,
            customers=customer_names(session, (job.customer_code for job in jobs)),
            drafts=list_drafts(session),
            unplanned=parts_without_sequence(session, limit=8),
            part_count=count_parts(session),
            first_hour=find_first_hour(session),
        )
    return visit.answer(page)
