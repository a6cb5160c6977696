"""The shop's brakes: list, add, change, archive, put back."""

from dataclasses import replace

from fastapi import APIRouter
from starlette.responses import Response

from server.actions import brake as actions
from server.findings import Finding
from server.mechanics.brake_check import check_brake
from server.storage.queries import brake as queries
from server.storage.queries.history import list_events, list_noun_events
from server.storage.queries.tool import list_holders
from server.web.forms.brake import (
    SENSE_CHOICES,
    TOUCH_OFF_CHOICES,
    UNIT_CHOICES,
    in_control_unit,
    read_brake,
    typed_of_brake,
)
from server.web.forms.conflict import Conflict, conflict_of
from server.web.forms.form import Form
from server.web.house import Typed, Visit, Visiting
from server.web.pages.brake import (
    BrakeControl,
    BrakeEdit,
    BrakeList,
    brake_control,
    brake_plate,
)
from server.web.pages.history import history_of
from server.web.problems import status_of

router = APIRouter(prefix="/office/brake", include_in_schema=False)
NEW = {
    "control_unit": "mm",
    "y_sense": "1",
    "off_centre_percent": "50",
    "finger_count": "2",
    "touch_off_on": "",
}


@router.get("")
def brakes(visit: Visiting, archived: bool = False) -> Response:
    """Every brake."""
    with visit.database.reading() as session:
        rows = queries.list_brakes(session, with_archived=archived)
        events = list_noun_events(session, actions.NOUN)
    page = BrakeList(
        frame=visit.frame("Brakes", "brake", styles=("tool",)),
        brakes=rows,
        with_archived=archived,
        history=history_of(events, visit.show, with_names=True),
    )
    return visit.answer(page)


@router.get("/new")
def new_brake(visit: Visiting) -> Response:
    """An empty form."""
    return visit.answer(_edit(visit, Form(NEW, visit.unit)))


@router.post("/new")
def add_brake(visit: Visiting, typed: Typed) -> Response:
    """Add a brake."""
    form = Form.posted(typed, visit.unit)
    code, values = form.code("code"), read_brake(form)
    with visit.database.writing() as session:
        form.attempt(lambda: actions.add_brake(session, code, values, by=visit.person), session)
    if not form.ok:
        return visit.answer(_edit(visit, form), status=status_of(form))
    return visit.go_to(f"/office/brake/{code}?saved=yes")


@router.post("/plate")
def plate(visit: Visiting, typed: Typed) -> Response:
    """The front view and line load for what is typed."""
    form = Form.posted(typed, visit.unit)
    return visit.answer(brake_plate(form, replace(visit.show, unit=form.unit)))


@router.post("/control")
def control(visit: Visiting, typed: Typed) -> Response:
    """The control's fields in the unit that is chosen now, with their drawings."""
    form = in_control_unit(Form.posted(typed, visit.unit))
    return visit.answer(_control(visit, form))


@router.get("/{code}")
def brake(visit: Visiting, code: str, saved: bool = False) -> Response:
    """One brake."""
    with visit.database.reading() as session:
        row = queries.get_brake(session, code)
    form = Form(typed_of_brake(row, visit.show), visit.unit)
    return visit.answer(_edit(visit, form, code=code, saved=saved))


@router.post("/{code}")
def save_brake(visit: Visiting, code: str, typed: Typed) -> Response:
    """Change a brake."""
    form = Form.posted(typed, visit.unit)
    values, version = read_brake(form), form.version()
    with visit.database.writing() as session:
        form.attempt(
            lambda: actions.save_brake(session, code, values, version=version, by=visit.person),
            session,
        )
    if not form.ok:
        return visit.answer(_edit(visit, form, code=code), status=status_of(form))
    return visit.go_to(f"/office/brake/{code}?saved=yes")


@router.post("/{code}/archived")
def archive_brake(visit: Visiting, code: str, typed: Typed) -> Response:
    """Take a brake off the lists, or put it back."""
    archived = Form(typed).yes("archived")
    with visit.database.writing() as session:
        actions.set_brake_archived(session, code, archived=archived, by=visit.person)
    return visit.go_to("/office/brake" if archived else f"/office/brake/{code}")


@router.post("/{code}/put-back")
def put_brake_back(visit: Visiting, code: str, typed: Typed) -> Response:
    """Undo one change of a brake."""
    event_id = Form(typed).whole("event", least=0, most=10**12)
    with visit.database.writing() as session:
        actions.put_brake_back(session, code, event_id, by=visit.person)
    return visit.go_to(f"/office/brake/{code}?saved=yes")


def _control(visit: Visit, form: Form) -> BrakeControl:
    return brake_control(
        form,
        replace(visit.show, unit=form.unit),
        unit_choices=UNIT_CHOICES,
        sense_choices=SENSE_CHOICES,
    )


def _edit(visit: Visit, form: Form, *, code: str = "", saved: bool = False) -> BrakeEdit:
    """A brake's page around a form; an existing brake's history and conflict are read here."""
    show = replace(visit.show, unit=form.unit)
    archived, conflict, events = False, Conflict(), []
    found: tuple[Finding, ...] = ()
    with visit.database.reading() as session:
        holders = list_holders(session)
        if code:
            row, holder = queries.get_brake_with_holder(session, code)
            events = list_events(session, noun=actions.NOUN, key=code)
            archived = row.archived_at is not None
            conflict = conflict_of(form, typed_of_brake(row, show), version=row.version)
            found = check_brake(
                queries.brake_of(row, holder),
                mute_opening_mm=row.mute_opening_mm,
                touch_off=queries.touch_off_of(row),
            )
    return BrakeEdit(
        frame=visit.frame(
            code or "New brake", "brake", styles=("tool",), notice="Saved." if saved else ""
        ),
        form=form,
        code=code,
        archived=archived,
        plate=brake_plate(form, show),
        control=_control(visit, form),
        holders=(("", "none"), *((row.code, f"{row.code} {row.name}") for row in holders)),
        touch_off_choices=TOUCH_OFF_CHOICES,
        findings=found,
        conflict=conflict,
        history=history_of(
            events, visit.show, put_back_path=f"/office/brake/{code}/put-back" if code else ""
        ),
    )
