"""The shop's own numbers, and each of them as a table."""

from datetime import UTC, datetime, timedelta

from fastapi import APIRouter
from starlette.responses import Response

from server.errors import ShopError
from server.shop.numbers import FinishedJob
from server.storage.queries.number import (
    DecidedQuote,
    list_decided_quotes,
    list_finished_jobs,
)
from server.web.house import Visit, Visiting
from server.web.pages.number import number_page, table_of
from server.web.table import answer_csv

router = APIRouter(prefix="/office/number", include_in_schema=False)
USUAL_DAYS = 365
MOST_DAYS = 36_500


@router.get("")
def numbers(visit: Visiting, days: int = USUAL_DAYS) -> Response:
    """How the shop does: of a number of days up to now, or of all with 0."""
    jobs, decided = _read(visit, days)
    frame = visit.frame("Numbers", "number", styles=("number",))
    return visit.answer(number_page(frame, jobs, decided, days=days))


@router.get("/{name}.csv")
def numbers_as_csv(visit: Visiting, name: str, days: int = USUAL_DAYS) -> Response:
    """One of the tables behind the page."""
    jobs, decided = _read(visit, days)
    table = table_of(name, jobs, decided, visit.house.settings.currency)
    if table is None:
        raise ShopError("not_found", "There is no such table.", remedy="Go back to the numbers.")
    return answer_csv(f"numbers {name}", *table)


def _read(visit: Visit, days: int) -> tuple[list[FinishedJob], list[DecidedQuote]]:
    within = min(max(days, 0), MOST_DAYS)
    since = datetime.now(UTC) - timedelta(days=within) if within else None
    with visit.database.reading() as session:
        return list_finished_jobs(session, since=since), list_decided_quotes(session, since=since)
