"""Measuring at the brake: a bend is measured, answered, taken over, or taken back."""

from typing import Literal

from fastapi import APIRouter
from starlette.responses import Response

from server.actions import trial as actions
from server.mechanics.measured_angle import AngleConvention
from server.storage.database import Session
from server.storage.queries.brake import get_brake
from server.storage.queries.job import get_run
from server.storage.queries.trial import list_part_trials
from server.units.length import LengthUnit
from server.web.forms.form import Form
from server.web.house import Typed, Visit, Visiting
from server.web.pages.page import Page
from server.web.pages.trial import asked_page, told_page
from server.web.problems import OTHERWISE

router = APIRouter(prefix="/brake/run", include_in_schema=False)
MOST_EARLIER = 12
CONVENTIONS: dict[str, AngleConvention | None] = {"": None, "bend": "bend", "included": "included"}
Judgement = Literal["undo", "restore", "confirm"]


@router.post("/{run_id}/trial")
def measure(visit: Visiting, run_id: int, typed: Typed) -> Response:
    """Keep a measured bend, or ask what was meant."""
    values = _values(typed, visit.unit)
    key = typed.get("request_key", "")[:64]
    with visit.database.writing() as session:
        made = actions.record_trial(session, run_id, values, request_key=key, by=visit.person)
    if made.trial is None and made.asked is not None:
        return visit.answer(asked_page(made.asked, made.fits_steps), status=OTHERWISE)
    return look_back(visit, run_id, values.position)


@router.get("/{run_id}/trial/{position}")
def look_back(visit: Visiting, run_id: int, position: int) -> Response:
    """What the tries of a step ask for now; nothing while there are none."""
    with visit.database.reading() as session:
        page = _told(visit, session, run_id, position)
    return visit.answer(page) if page is not None else Response(status_code=204)


@router.post("/{run_id}/take-over")
def take_over(visit: Visiting, run_id: int, typed: Typed) -> Response:
    """Key the next part with one rule's Y, or with a Y of one's own."""
    form = Form.posted(typed, visit.unit)
    rule = form.choice("rule", actions.RULES)
    y_mm = form.length_mm("y", least_mm=-5000.0, above=False, needed=rule == "hand")
    form.need_ok()
    with visit.database.writing() as session:
        actions.take_over(
            session,
            run_id,
            form.whole("position", least=1, most=500),
            rule=rule,
            settings=visit.house.settings,
            with_x=form.yes("with_x"),
            everywhere=form.yes("everywhere"),
            y_mm=y_mm,
            request_key=typed.get("request_key", ""),
            by=visit.person,
        )
    return Response(status_code=204)


@router.post("/{run_id}/trial/{trial_id}/{judgement}")
def judge(visit: Visiting, run_id: int, trial_id: int, judgement: Judgement) -> Response:
    """Take a measurement back, put it back, or say that an odd one is right."""
    with visit.database.writing() as session:
        if judgement == "confirm":
            trial = actions.confirm_trial(session, trial_id, by=visit.person)
        else:
            undone = judgement == "undo"
            trial = actions.undo_trial(session, trial_id, undone=undone, by=visit.person)
    return look_back(visit, run_id, trial.position or 1)


def _told(visit: Visit, session: Session, run_id: int, position: int) -> Page | None:
    answer = actions.trial_answer(session, run_id, position, settings=visit.house.settings)
    if answer is None:
        return None
    run = get_run(session, run_id)
    earlier = list_part_trials(session, run.part_number, position, most=MOST_EARLIER)
    return told_page(answer, earlier, get_brake(session, run.brake_code), visit.show)


def _values(typed: Typed, unit: LengthUnit) -> actions.TrialValues:
    form = Form.posted(typed, unit)
    values = actions.TrialValues(
        position=form.whole("position", least=1, most=500),
        angle_text=form.text("angle", most=40),
        convention=CONVENTIONS[form.choice("convention", tuple(CONVENTIONS), "")],
        meant_deg=form.number("meant", least=0.0, most=180.0, needed=False),
        sure=form.yes("sure"),
        flange_mm=form.length_mm("flange", needed=False),
        other_flange_mm=form.length_mm("other_flange", needed=False),
        piece=form.whole("piece", least=1, most=10**6, default=1),
        y_mm=form.length_mm("y", least_mm=-5000.0, above=False, needed=False),
    )
    form.need_ok()
    return values
