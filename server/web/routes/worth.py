"""Which one tool to buy would free the most of the blocked parts."""

from fastapi import APIRouter
from starlette.responses import Response

from server.actions import planning as actions
from server.storage.queries.planning import find_last_planning, list_blocked_plannings
from server.web.house import Visit, Visiting
from server.web.pages.worth import WorthPage, WorthPanel, worth_panel
from server.web.planner import Asks

router = APIRouter(prefix="/office/worth", include_in_schema=False)
AT_ONCE_S = 0.5


@router.get("")
def show(visit: Visiting, asks: Asks) -> Response:
    """The blocked parts, and what the last search found."""
    panel = _panel(visit, asks)
    if visit.in_page:
        return visit.answer(panel)
    frame = visit.frame("Which tool to buy", "tool", styles=("bend_sequence",))
    return visit.answer(WorthPage(frame, panel))


@router.post("")
def search(visit: Visiting, asks: Asks) -> Response:
    """Try every tool of the catalogue on every blocked part."""
    number = actions.ask_worth(asks)
    actions.wait_for(asks, number, AT_ONCE_S)
    return visit.answer(_panel(visit, asks)) if visit.in_page else visit.go_to("/office/worth")


@router.post("/stop")
def stop(visit: Visiting, asks: Asks) -> Response:
    """Stop the search; what was tried so far is kept."""
    with visit.database.reading() as session:
        last = find_last_planning(session, "worth")
    if last is not None:
        actions.stop_planning(asks, last.id or 0, keep_best=True)
        actions.wait_for(asks, last.id or 0, AT_ONCE_S)
    return visit.answer(_panel(visit, asks)) if visit.in_page else visit.go_to("/office/worth")


def _panel(visit: Visit, asks: Asks) -> WorthPanel:
    with visit.database.reading() as session:
        last = find_last_planning(session, "worth")
    under_way = None
    if last is not None and last.state == "running":
        under_way = actions.find_under_way(asks, last.id or 0)
    with visit.database.reading() as session:
        last = find_last_planning(session, "worth")
        blocked = list_blocked_plannings(session)
    return worth_panel(blocked, last, under_way.told if under_way else None)
