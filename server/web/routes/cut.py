"""The cut list: what has to be cut, and what was."""

from fastapi import APIRouter
from starlette.responses import Response

from server.actions import cut as actions
from server.web.house import Visiting
from server.web.pages.cut import CutList

router = APIRouter(prefix="/office/cut", include_in_schema=False)


@router.get("")
def cut_list(visit: Visiting, done: str = "") -> Response:
    """Everything that has to be cut now."""
    with visit.database.reading() as session:
        lines = actions.list_cuts(session)
    notice = f"{done[:40]} is cut." if done else ""
    return visit.answer(
        CutList(visit.frame("Cut list", "stock", styles=("job",), notice=notice), lines)
    )


@router.post("/{job_number}")
def set_cut(visit: Visiting, job_number: str) -> Response:
    """Note that a job's blanks are cut."""
    with visit.database.writing() as session:
        actions.set_cut(session, job_number, by=visit.person)
    return visit.go_to(f"/office/cut?done={job_number}")
