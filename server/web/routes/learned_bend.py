"""What the shop knows, in the office."""

from fastapi import APIRouter
from starlette.responses import Response

from server.actions.learned_bend import learned_view, shop_knows
from server.actions.learning import confirm_setup
from server.actions.trial import confirm_trial
from server.web.forms.form import Form
from server.web.house import Typed, Visiting
from server.web.pages.learned_bend import learned_list, learned_show

router = APIRouter(prefix="/office/learned", include_in_schema=False)


@router.get("")
def learned(visit: Visiting) -> Response:
    """How often the first part was right, how sure the shop is, and what was odd."""
    frame = visit.frame(
        "What the shop knows", "learned", styles=("learned_bend",), scripts=("print",)
    )
    with visit.database.reading() as session:
        page = learned_list(shop_knows(session), frame=frame)
    return visit.answer(page)


@router.get("/{row_id}")
def learned_bend(visit: Visiting, row_id: int) -> Response:
    """One metal, thickness and V."""
    with visit.database.reading() as session:
        view, trials = learned_view(session, row_id)
    frame = visit.frame(
        f"{view.key.material_code} in V", "learned", styles=("learned_bend",), scripts=("print",)
    )
    return visit.answer(learned_show(view, trials, frame=frame))


@router.post("/trial")
def confirm_odd(visit: Visiting, typed: Typed) -> Response:
    """An odd reading is meant: learn from it."""
    trial_id = Form(typed).whole("trial", least=1, most=10**9)
    with visit.database.writing() as session:
        confirm_trial(session, trial_id, by=visit.person)
    return visit.go_to("/office/learned#odd")


@router.post("/setup")
def confirm_held_back(visit: Visiting, typed: Typed) -> Response:
    """A set-up that was held back is meant: learn from it."""
    form = Form(typed)
    setup_id = form.whole("setup", least=1, most=10**9)
    row_id = form.whole("learned", least=1, most=10**9)
    with visit.database.writing() as session:
        confirm_setup(session, setup_id, row_id, by=visit.person)
    return visit.go_to("/office/learned#odd")
