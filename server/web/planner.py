"""Asking the planner from a request: one pool for the whole server."""

from typing import Annotated, cast

from fastapi import Depends

from server.actions.planner_pool import PlannerPool
from server.actions.planning import Asking
from server.web.house import Visiting


def asking(visit: Visiting) -> Asking:
    """The request as somebody who asks the planner."""
    pool = cast("PlannerPool", visit.request.app.state.planner)
    return Asking(visit.database, pool, visit.house.settings, visit.person)


Asks = Annotated[Asking, Depends(asking)]
