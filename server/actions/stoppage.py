"""When the ram will not move: what was looked at, what it was, kept with a name."""

from collections.abc import Collection

from server.actions.history import keep
from server.errors import ShopError
from server.shop.decision_list import find_look, log_line
from server.storage.database import Session
from server.storage.queries.brake import get_brake
from server.storage.queries.job import get_run
from server.storage.tables.stoppage import Stoppage


def log_stoppage(
    session: Session,
    *,
    brake_code: str,
    looked_at: Collection[str],
    cause: str = "",
    note: str = "",
    run_id: int | None = None,
    by: str,
) -> Stoppage:
    """Keep one search. Without a cause it ended with a call for a qualified person.

    Raises: ShopError `not_found`, `no_such_look`.
    """
    get_brake(session, brake_code)
    if run_id is not None:
        get_run(session, run_id)
    if cause and find_look(cause) is None:
        raise ShopError(
            "no_such_look", "That is not on the list.", remedy="Take the list anew.", where="cause"
        )
    looked = {*looked_at, cause} - {""}
    moves_again = bool(cause) and cause != "qualified_person"
    row = Stoppage(
        brake_code=brake_code,
        run_id=run_id,
        cause=cause,
        words=str(log_line(looked, found=cause or None)),
        moves_again=moves_again,
        note=note,
        by=by,
    )
    session.add(row)
    session.flush()
    after = {"cause": cause, "moves_again": moves_again}
    keep(session, "searched", noun="brake", key=brake_code, by=by, after=after)
    return row
