"""Papers as PDF, and the short address that the code on a traveller opens."""

from datetime import UTC, datetime
from typing import Annotated

from fastapi import APIRouter, Query
from starlette.responses import Response

from server.actions.key_in import KeyIn, key_in
from server.storage.database import Session
from server.storage.queries.first_article import get_first_article
from server.storage.queries.job import find_job, find_open_run, get_job
from server.storage.queries.lot import get_lot
from server.storage.queries.material import get_material
from server.storage.queries.paper import JobPaper, get_job_paper
from server.web.house import Visit, Visiting
from server.web.pages.inspection_paper import inspection_paper
from server.web.pages.paper import (
    PaperReader,
    TravellersPaper,
    job_labels,
    lot_labels,
    traveller_paper,
)
from server.web.paper import answer_paper

router = APIRouter(include_in_schema=False)
MOST_LABELS = 200
MOST_TRAVELLERS = 100
MOST_SKIPPED = 50


@router.get("/paper/job/{number}/traveller.pdf")
def traveller(visit: Visiting, number: str) -> Response:
    """What goes with a job's sheets through the shop."""
    with visit.database.reading() as session:
        told = get_job_paper(session, number)
        keyed = _keyed(session, told)
    paper = traveller_paper(told, keyed, _reader(visit), now=datetime.now(UTC))
    return answer_paper(visit, paper, name=f"traveller {number}")


@router.get("/paper/travellers.pdf")
def travellers(visit: Visiting, job: Annotated[list[str], Query()]) -> Response:
    """Travellers of several jobs in one file, so that they are printed at once."""
    reader, now = _reader(visit), datetime.now(UTC)
    with visit.database.reading() as session:
        papers = []
        for number in dict.fromkeys(job[:MOST_TRAVELLERS]):
            told = get_job_paper(session, number)
            papers.append(traveller_paper(told, _keyed(session, told), reader, now=now))
    return answer_paper(visit, TravellersPaper(tuple(papers)), name=f"travellers {len(papers)}")


@router.get("/paper/job/{number}/inspection.pdf")
def inspection(visit: Visiting, number: str) -> Response:
    """An empty inspection sheet of a job, to be filled in by hand."""
    with visit.database.reading() as session:
        told = get_job_paper(session, number)
    paper = inspection_paper(told, None, _reader(visit), now=datetime.now(UTC))
    return answer_paper(visit, paper, name=f"inspection {number}")


@router.get("/paper/first-article/{sheet_id}.pdf")
def first_article(visit: Visiting, sheet_id: int) -> Response:
    """A first-article sheet as it was signed."""
    with visit.database.reading() as session:
        signed = get_first_article(session, sheet_id)
        told = get_job_paper(session, signed.job_number or "")
    paper = inspection_paper(told, signed, _reader(visit), now=datetime.now(UTC))
    return answer_paper(visit, paper, name=f"first article {told.job.number}")


@router.get("/paper/job/{number}/labels.pdf")
def labels_of_job(visit: Visiting, number: str, count: int = 1, skip: int = 0) -> Response:
    """Labels for a job's parts; `skip` are those of the sheet that are used up."""
    with visit.database.reading() as session:
        told = get_job_paper(session, number)
    paper = job_labels(told, count=_within(count, 1, MOST_LABELS), skipped=_skipped(skip))
    return answer_paper(visit, paper, name=f"labels {number}")


@router.get("/paper/lot/{code}/labels.pdf")
def labels_of_lot(visit: Visiting, code: str, count: int = 1, skip: int = 0) -> Response:
    """Labels for the sheets of a lot."""
    with visit.database.reading() as session:
        lot = get_lot(session, code)
        material = get_material(session, lot.material_code)
    count = _within(count, 1, MOST_LABELS)
    paper = lot_labels(lot, material, visit.show, count=count, skipped=_skipped(skip))
    return answer_paper(visit, paper, name=f"labels {code}")


@router.get("/J/{number}")
def scanned(visit: Visiting, number: str) -> Response:
    """Where a traveller's code leads: the job's run where it has one, else where it is started."""
    code = number.upper()
    with visit.database.reading() as session:
        job = (
            get_job(session, code)
            if find_job(session, number) is None
            else get_job(session, number)
        )
        run = find_open_run(session, job_number=job.number)
    return visit.go_to(f"/brake/run/{run.id}" if run else f"/brake?q={job.number}")


def _keyed(session: Session, told: JobPaper) -> KeyIn | None:
    """The numbers to type for a job that is set up and has depths to key."""
    setup = told.setup
    if told.run is None or setup is None or not setup.touch_off_checked:
        return None
    if not any(entry.keyed and entry.step.depth_mm is not None for entry in told.steps):
        return None
    return key_in(session, told.run.id or 0)


def _reader(visit: Visit) -> PaperReader:
    request = visit.request
    return PaperReader(
        shop=visit.house.settings.shop_name,
        person=visit.person,
        address=f"{request.url.scheme}://{request.url.netloc}",
        show=visit.show,
        shop_address=visit.house.settings.address_lines,
    )


def _skipped(skip: int) -> int:
    return _within(skip, 0, MOST_SKIPPED)


def _within(count: int, least: int, most: int) -> int:
    return min(max(count, least), most)
