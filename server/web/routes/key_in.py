"""Keying a run into the control: the sheet, its program number, and the read-back."""

from collections.abc import Mapping

from fastapi import APIRouter, Request
from starlette.responses import Response

from server.actions import key_in as actions
from server.planning.key_in import KEY_FIELDS
from server.planning.read_back import Place
from server.storage.queries.job import get_run_place
from server.web.forms.form import Form
from server.web.house import Typed, Visit, Visiting
from server.web.pages.key_in import key_in_place, key_in_show

router = APIRouter(prefix="/brake/run/{run_id}/key-in", include_in_schema=False)
MOST_STEPS = 400
MOST_PROGRAMS = 40


@router.get("")
def show_key_in(visit: Visiting, run_id: int) -> Response:
    """The key-in sheet."""
    with visit.database.reading() as session:
        told = actions.key_in(session, run_id)
        checks = actions.kept_read_back(session, run_id)
        place = get_run_place(session, run_id)
    frame = visit.frame(
        f"Key in {place.run.part_number}",
        "brake",
        side="brake",
        styles=("panel", "setup", "key_in"),
        scripts=("panel", "keypad", "print", "follow_page"),
    )
    page = key_in_show(
        told, checks, frame=frame, run=place.run, job=place.job, base=_base(visit, run_id)
    )
    return visit.answer(page)


@router.get("/place")
def place(visit: Visiting, request: Request, run_id: int) -> Response:
    """What choosing these program numbers would overwrite."""
    chosen = _numbers(Form(dict(request.query_params), visit.unit))
    with visit.database.reading() as session:
        told = actions.key_in(session, run_id, chosen=chosen)
    return visit.answer(key_in_place(told, base=_base(visit, run_id), brake=visit.brake))


@router.post("/keep")
def keep(visit: Visiting, run_id: int, typed: Typed) -> Response:
    """Note under which numbers the programs were keyed."""
    numbers = _numbers(Form(typed, visit.unit))
    with visit.database.writing() as session:
        actions.keep_programs(session, run_id, numbers, by=visit.person)
    return visit.go_to(_base(visit, run_id))


@router.post("/read-back")
def read_back(visit: Visiting, run_id: int, typed: Typed) -> Response:
    """Compare what the control shows with the sheet."""
    form = Form(typed, visit.unit)
    shown = form.whole("step_count", least=0, most=MOST_STEPS, default=-1)
    form.need_ok()
    with visit.database.writing() as session:
        actions.check_read_back(
            session,
            run_id,
            typed=_places(typed, "typed"),
            ticked=frozenset(_places(typed, "tick")),
            step_count=None if shown < 0 else shown,
            by=visit.signer(),
        )
    return visit.go_to(f"{_base(visit, run_id)}#read")


@router.post("/override")
def override(visit: Visiting, run_id: int, typed: Typed) -> Response:
    """Let a locked start go, with a name and a reason."""
    with visit.database.writing() as session:
        actions.override_read_back(
            session, run_id, reason=Form(typed).text("reason", most=200), by=visit.signer()
        )
    return visit.go_to(f"{_base(visit, run_id)}#read")


def _base(visit: Visit, run_id: int) -> str:
    return f"{visit.brake}/run/{run_id}/key-in"


def _numbers(form: Form) -> list[int]:
    """Program numbers in the order of the programs.

    Raises: ShopError for one that is no number.
    """
    names = [f"number_{which}" for which in range(1, MOST_PROGRAMS + 1)]
    numbers = [form.whole(name, least=1, most=100_000) for name in names if name in form.typed]
    form.need_ok()
    return numbers


def _places(typed: Mapping[str, str], kind: str) -> dict[Place, str]:
    """Fields like `typed_3_y`: step 3's Y. An empty one was not read."""
    found: dict[Place, str] = {}
    for step in range(1, MOST_STEPS + 1):
        for name in KEY_FIELDS:
            text = typed.get(f"{kind}_{step}_{name}", "").strip()
            if text:
                found[(step, name)] = text[:20]
    return found
