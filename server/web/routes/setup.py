"""Setting a run up on the tablet: tick, measure, touch off, sign, start."""

from typing import TYPE_CHECKING

from fastapi import APIRouter
from starlette.responses import Response

from server.actions import setting_up as actions
from server.actions.setup import TouchOffValues
from server.actions.setup_change import changes_since_last, note_die_turned
from server.storage.database import Session
from server.storage.queries.job import get_run, get_run_place
from server.storage.queries.setup import count_dies_of_block
from server.web.forms.form import Form
from server.web.house import Typed, Visit, Visiting
from server.web.pages.setup import SetupBoard, SetupShow, setup_board

if TYPE_CHECKING:
    from server.storage.tables.job import Run

router = APIRouter(prefix="/brake/run/{run_id}", include_in_schema=False)
EDGES = ("edge_1", "edge_2", "edge_3", "edge_4")
SCRIPTS = ("panel", "keypad", "follow_page")


@router.get("/setup")
def show_setup(visit: Visiting, run_id: int) -> Response:
    """The set-up page of a run."""
    with visit.database.reading() as session:
        place = get_run_place(session, run_id)
        board = _board(visit, session, place.run)
    frame = visit.frame(
        f"Set-up {place.run.part_number}",
        "brake",
        side="brake",
        styles=("panel", "setup"),
        scripts=SCRIPTS,
    )
    return visit.answer(SetupShow(frame, place.run, place.job, board.setup, board))


@router.post("/setup/tick")
def tick(visit: Visiting, run_id: int, typed: Typed) -> Response:
    """Tick a point of the list by name, or take the tick away."""
    form = Form(typed, visit.unit)
    with visit.database.writing() as session:
        actions.tick_item(
            session,
            run_id,
            form.text("code", most=40),
            on=typed.get("on", "yes") == "yes",
            request_key=typed.get("request_key", ""),
            by=visit.signer(),
        )
    return _again(visit, run_id)


@router.post("/setup/edges")
def edges(visit: Visiting, run_id: int, typed: Typed) -> Response:
    """Keep the sheet's thickness as measured at its edges."""
    form = Form.posted(typed, visit.unit)
    read = [form.length_mm(name, most_mm=60.0, needed=name == EDGES[0]) for name in EDGES]
    form.need_ok()
    with visit.database.writing() as session:
        actions.measure_sheet(
            session,
            run_id,
            [one for one in read if one is not None],
            settings=visit.house.settings,
            by=visit.person,
        )
    return _again(visit, run_id)


@router.post("/touch-off")
def touch_off(visit: Visiting, run_id: int, typed: Typed) -> Response:
    """Record a touch-off made on this set-up."""
    form = Form.posted(typed, visit.unit)
    values = TouchOffValues(
        on="die" if form.choice("on", ("sheet", "die"), "sheet") == "die" else "sheet",
        reading_mm=form.need_length_mm("reading", least_mm=-2000, most_mm=2000, above=False),
        tip_above_die_top_mm=form.need_length_mm("tip", most_mm=200, above=False),
    )
    form.need_ok()
    with visit.database.writing() as session:
        actions.touch_off(session, run_id, values, by=visit.person)
    page = "/setup" if typed.get("then") == "setup" else ""
    return visit.go_to(f"{visit.brake}/run/{run_id}{page}")


@router.post("/setup/scale")
def scale(visit: Visiting, run_id: int, typed: Typed) -> Response:
    """Record two readings of the brake's own scale of ram height."""
    form = Form.posted(typed, visit.unit)
    points = [
        (
            form.need_length_mm(f"height_{one}", most_mm=2000.0),
            form.need_number(f"scale_{one}", least=-1e5, most=1e5),
        )
        for one in (1, 2)
    ]
    form.need_ok()
    with visit.database.writing() as session:
        actions.keep_ram_scale(session, run_id, tuple(points), by=visit.person)
    return _again(visit, run_id)


@router.post("/setup/die")
def die_block(visit: Visiting, run_id: int, typed: Typed) -> Response:
    """Note how the die block stands."""
    turned = Form(typed).yes("turned")
    with visit.database.writing() as session:
        note_die_turned(session, run_id, turned=turned, by=visit.person)
    return _again(visit, run_id)


@router.post("/setup/start")
def start(visit: Visiting, run_id: int, typed: Typed) -> Response:
    """Sign the set-up and begin the first article."""
    with visit.database.writing() as session:
        actions.start_setup(
            session, run_id, request_key=typed.get("request_key", ""), by=visit.signer()
        )
    return visit.go_to(f"{visit.brake}/run/{run_id}")


def _again(visit: Visit, run_id: int) -> Response:
    """The board as it is after a change; the whole page for a browser without scripts."""
    if not visit.in_page:
        return visit.go_to(f"{visit.brake}/run/{run_id}/setup")
    with visit.database.reading() as session:
        return visit.answer(_board(visit, session, get_run(session, run_id)))


def _board(visit: Visit, session: Session, run: "Run") -> SetupBoard:
    state = actions.setup_state(session, run)
    last, changes = changes_since_last(session, state.place)
    dies = {entry.step.die_code for entry in state.place.steps}
    return setup_board(
        state=state,
        run=run,
        last=last,
        changes=changes,
        several_vs=any(count_dies_of_block(session, code) > 1 for code in dies),
        show=visit.show,
        brake=visit.brake,
        person=visit.person if visit.named else "",
    )
