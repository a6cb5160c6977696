"""The answer to a proposal: put on the wall with its wishes, dropped, or taken back again."""

from typing import Any

from server.actions.history import keep
from server.actions.schedule import NOUN
from server.actions.schedule_request import Wish, wishes_of
from server.errors import ShopError
from server.storage.database import Session
from server.storage.queries.schedule import (
    find_kept_schedule,
    get_schedule,
    list_proposals,
)
from server.storage.tables.column import utc_now
from server.storage.tables.schedule import Hours, Pin
from server.storage.tables.schedule import Schedule as ScheduleRow

GRANTED = "granted"
"""Where an accepted plan keeps what its wishes changed."""


def accept_plan(session: Session, schedule_id: int, *, by: str) -> ScheduleRow:
    """Put a proposal on the wall: its wishes become pins and hours, other proposals end.

    Raises: ShopError `not_found`, `not_a_proposal`, `made_beside_another`.
    """
    row = get_schedule(session, schedule_id)
    kept = find_kept_schedule(session)
    if row.state != "proposed":
        raise ShopError(
            "not_a_proposal",
            "This plan is not waiting for an answer.",
            remedy="Look at the schedule as it is now.",
        )
    if kept is not None and row.based_on_id != kept.id:
        raise ShopError(
            "made_beside_another",
            "Another plan was accepted since this one was made.",
            remedy="Drop it, and propose the same again beside the plan on the wall.",
        )
    if kept is not None:
        kept.state = "replaced"
        session.add(kept)
        session.flush()
    granted = [_grant(session, wish, by) for wish in wishes_of(row.wishes)]
    row.outcome = {**row.outcome, GRANTED: granted}
    row.state = "kept"
    session.add(row)
    for other in list_proposals(session):
        if other.id != row.id and other.state == "proposed":
            other.state = "dropped"
            session.add(other)
    session.flush()
    keep(session, "put on the wall", noun=NOUN, key=str(row.id), by=by, after={"what": row.title})
    return row


def drop_plan(session: Session, schedule_id: int, *, by: str) -> None:
    """Drop a proposal; the plan on the wall stays.

    Raises: ShopError `not_found`, `not_a_proposal`.
    """
    row = get_schedule(session, schedule_id)
    if row.state not in ("proposed", "failed"):
        raise ShopError(
            "not_a_proposal",
            "This plan is not waiting for an answer.",
            remedy="Look at the schedule as it is now.",
        )
    row.state = "dropped"
    session.add(row)
    keep(session, "dropped a plan", noun=NOUN, key=str(row.id), by=by, after={"what": row.title})


def find_plan_before(session: Session) -> ScheduleRow | None:
    """The plan that was on the wall before the one of now, while it can be put back."""
    kept = find_kept_schedule(session)
    if kept is None or kept.based_on_id is None or GRANTED not in kept.outcome:
        return None
    before = get_schedule(session, kept.based_on_id)
    return before if before.state == "replaced" else None


def take_back_plan(session: Session, schedule_id: int, *, by: str) -> ScheduleRow:
    """Put the plan before back on the wall; the one of now becomes a proposal again.

    The pins and closed hours that came with it go; jobs are not touched.

    Raises: ShopError `nothing_to_take_back`.
    """
    kept, before = find_kept_schedule(session), find_plan_before(session)
    if kept is None or kept.id != schedule_id or before is None:
        raise ShopError(
            "nothing_to_take_back",
            "This plan cannot be taken off the wall.",
            remedy="Look at the schedule as it is now.",
        )
    for undo in reversed(kept.outcome[GRANTED]):
        _take_back(session, undo)
    kept.outcome = {name: told for name, told in kept.outcome.items() if name != GRANTED}
    kept.state, before.state = "proposed", "kept"
    session.add_all((kept, before))
    session.flush()
    after = {"what": kept.title}
    keep(session, "took off the wall", noun=NOUN, key=str(kept.id), by=by, after=after)
    return before


def _grant(session: Session, wish: Wish, by: str) -> dict[str, Any]:
    """Let a wish hold from now on; tells what it needs to be taken back."""
    key = (wish.job_number, wish.position)
    undo: dict[str, Any] = {}
    if wish.kind in ("pin", "unpin"):
        pin = session.get(Pin, key)
        undo = {"pin": list(key), "before": pin.model_dump(mode="json") if pin else None}
        if wish.kind == "pin":
            pin = pin or Pin(job_number=key[0], position=key[1])
            pin.hot, pin.start_at = wish.hot, wish.start_at
            pin.resource_code = wish.resource_code or None
            pin.made_by, pin.made_at = by, utc_now()
            session.add(pin)
        elif pin is not None:
            session.delete(pin)
    elif wish.kind == "down" and wish.start_at and wish.end_at:
        closed = Hours(
            kind="closed",
            resource_code=wish.resource_code or None,
            start_at=wish.start_at,
            end_at=wish.end_at,
            reason=wish.reason,
            made_by=by,
        )
        session.add(closed)
        session.flush()
        undo = {"hours": closed.id}
    session.flush()
    return undo


def _take_back(session: Session, undo: dict[str, Any]) -> None:
    """What `_grant` did, undone."""
    if "hours" in undo:
        closed = session.get(Hours, undo["hours"])
        if closed is not None:  # somebody may have opened them again by hand
            session.delete(closed)
    elif "pin" in undo:
        pin = session.get(Pin, tuple(undo["pin"]))
        if pin is not None:
            session.delete(pin)
            session.flush()
        if undo["before"]:
            session.add(Pin.model_validate(undo["before"]))
    session.flush()
