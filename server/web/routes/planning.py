"""Asking the planner: choose tools and wishes, watch it work, stop it, see what blocks a part."""

import time

from fastapi import APIRouter
from starlette.responses import Response

from server.actions import planning as actions
from server.actions.arrangement import wish_of_sequence
from server.actions.planner_pool import Handle
from server.actions.tool_outlook import tool_outlook
from server.storage.database import Session
from server.storage.queries.bend_sequence import get_bend_sequence, list_steps
from server.storage.queries.brake import list_brakes
from server.storage.queries.part import get_revision
from server.storage.queries.planning import get_planning
from server.web.forms.plan_wish import read_plan_wish, typed_of_plan_wish
from server.web.house import Typed, Visit, Visiting
from server.web.pages.bend_sequence import bends_of_revision, key_picture
from server.web.pages.planning import PlanningNew, PlanningProgress, planning_show
from server.web.planner import Asks

router = APIRouter(prefix="/office/planning", include_in_schema=False)
AT_ONCE_S = 0.5


@router.post("")
def ask(visit: Visiting, asks: Asks, typed: Typed) -> Response:
    """Plan a part; an answer within half a second is shown at once."""
    number = actions.ask_plan(asks, read_plan_wish(typed))
    actions.wait_for(asks, number, AT_ONCE_S)
    return visit.go_to(_place(visit, number))


@router.get("/new")
def choose(visit: Visiting, part: str = "", revision: str = "", like: int = 0) -> Response:
    """Brake, die, punch and wishes to plan with; `like` takes them from a kept sequence."""
    with visit.database.reading() as session:
        page = _choose(visit, session, part, revision, like)
    return visit.answer(page)


@router.get("/{planning_id}")
def show(visit: Visiting, asks: Asks, planning_id: int) -> Response:
    """How far the planner is, or what it came to."""
    under_way = actions.find_under_way(asks, planning_id)
    if visit.in_page:
        return _next(visit, planning_id, under_way)
    return _shown(visit, planning_id, under_way)


@router.post("/{planning_id}/stop")
def stop(visit: Visiting, asks: Asks, planning_id: int, typed: Typed) -> Response:
    """Stop the planner: with the best so far, or with nothing."""
    actions.stop_planning(asks, planning_id, keep_best=typed.get("keep") == "best")
    actions.wait_for(asks, planning_id, AT_ONCE_S)
    return visit.go_to(_place(visit, planning_id))


def _place(visit: Visit, planning_id: int) -> str:
    """Where the answer is shown: the sequence that was made, else the question's own page."""
    with visit.database.reading() as session:
        row = get_planning(session, planning_id)
    if row.state == "planned":
        return f"/office/sequence/{row.bend_sequence_id}"
    return f"/office/planning/{planning_id}"


def _next(visit: Visit, planning_id: int, under_way: Handle | None) -> Response:
    """The open page asks how far it is: progress, or the way to the answer."""
    progress = _progress(planning_id, under_way)
    return visit.answer(progress) if progress else visit.go_to(_place(visit, planning_id))


def _progress(planning_id: int, under_way: Handle | None) -> PlanningProgress | None:
    if under_way is None:
        return None
    return PlanningProgress(planning_id, under_way.told, time.monotonic() - under_way.asked_s)


def _shown(visit: Visit, planning_id: int, under_way: Handle | None) -> Response:
    with visit.database.reading() as session:
        row = get_planning(session, planning_id)
    if row.state == "planned":
        return visit.go_to(f"/office/sequence/{row.bend_sequence_id}")
    title = "Planning" if row.state == "running" else "Cannot be bent yet"
    frame = visit.frame(f"{row.part_number} · {title}", "part", styles=("bend_sequence",))
    asked = typed_of_plan_wish(actions.wish_of(row)) if row.kind == "plan" else {}
    return visit.answer(planning_show(frame, row, _progress(planning_id, under_way), asked))


def _choose(visit: Visit, session: Session, part: str, label: str, like: int) -> PlanningNew:
    typed: dict[str, str] = {}
    if like:
        sequence = get_bend_sequence(session, like)
        part, label = sequence.part_number, sequence.revision_label
        typed = typed_of_plan_wish(wish_of_sequence(sequence, list_steps(session, like)))
    revision = get_revision(session, part, label)
    brakes = tuple(brake.code for brake in list_brakes(session))
    brake = typed.get("brake_code") or (brakes[0] if brakes else "")
    return PlanningNew(
        frame=visit.frame(f"Plan {part}", "part", styles=("bend_sequence",)),
        revision=revision,
        outlook=tool_outlook(session, part, label, brake, settings=visit.house.settings),
        brakes=brakes,
        typed=typed,
        key_picture=key_picture(revision, visit.show),
        bends=bends_of_revision(revision),
    )
