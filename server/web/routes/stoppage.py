"""Help when the ram will not move."""

from fastapi import APIRouter
from starlette.responses import Response

from server.actions.stoppage import log_stoppage
from server.shop.decision_list import LOOKS
from server.storage.database import Session
from server.storage.queries.brake import list_brakes
from server.storage.queries.job import get_run
from server.storage.queries.stoppage import count_causes, list_stoppages
from server.web.forms.form import Form
from server.web.house import Typed, Visiting
from server.web.pages.stoppage import help_show

router = APIRouter(prefix="/brake/help", include_in_schema=False)


@router.get("")
def show_help(visit: Visiting, run: int | None = None, looked: str = "") -> Response:
    """Where to look, in order."""
    with visit.database.reading() as session:
        code = _brake_code(session, run)
        page = help_show(
            frame=visit.frame(
                "It does not move", "brake", side="brake", styles=("panel", "setup", "stoppage")
            ),
            brake_code=code,
            run_id=run,
            looked_at=_codes(looked),
            causes=count_causes(session, code),
            log=list_stoppages(session, code, most=8),
        )
    return visit.answer(page)


@router.post("")
def found(visit: Visiting, typed: Typed) -> Response:
    """What it was, or that nothing was found; kept with a name."""
    form = Form(typed, visit.unit)
    run_id = form.whole("run", least=1, most=10**9, default=0) or None
    with visit.database.writing() as session:
        log_stoppage(
            session,
            brake_code=_brake_code(session, run_id),
            looked_at=_codes(typed.get("looked", "")),
            cause=form.text("cause", most=40),
            note=form.text("note", most=1000),
            run_id=run_id,
            by=visit.person,
        )
    back = f"{visit.brake}/run/{run_id}" if run_id and typed.get("cause") else ""
    return visit.go_to(back or f"{visit.brake}/help#log")


def _brake_code(session: Session, run_id: int | None) -> str:
    """The run's brake, else the shop's first.

    Raises: ShopError `not_found`.
    """
    if run_id:
        return get_run(session, run_id).brake_code
    brakes = list_brakes(session)
    return brakes[0].code if brakes else ""


def _codes(text: str) -> frozenset[str]:
    known = {look.code for look in LOOKS}
    return frozenset(text.split(",")) & known
