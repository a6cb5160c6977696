"""Care of a brake on the tablet: what is due, done, taken back."""

from datetime import UTC, datetime

from fastapi import APIRouter
from starlette.responses import Response

from server.actions import care as actions
from server.storage.queries.brake import get_brake, list_brakes
from server.storage.queries.care import list_care_log, list_hour_readings
from server.web.forms.form import Form
from server.web.house import Typed, Visit, Visiting
from server.web.pages.care import STATE_TAGS, CareShow

router = APIRouter(prefix="/brake/care", include_in_schema=False)
MOST_HOURS = 1e6


@router.get("")
def show_care(visit: Visiting, code: str = "") -> Response:
    """What is due; of the first brake where none is named."""
    with visit.database.reading() as session:
        brakes = list_brakes(session)
        row = get_brake(session, code or (brakes[0].code if brakes else ""))
        readings = list_hour_readings(session, row.code)
        page = CareShow(
            frame=visit.frame(
                f"Care of {row.code}",
                "brake",
                side="brake",
                styles=("panel", "setup", "care"),
                scripts=("panel", "keypad"),
            ),
            machine=row,
            others=tuple(other for other in brakes if other.code != row.code),
            items=actions.care_of(session, row.code, now=datetime.now(UTC)),
            tags=STATE_TAGS,
            meter=readings[-1] if readings else None,
            log=tuple(list_care_log(session, row.code, most=20)),
        )
    return visit.answer(page)


@router.post("/begin")
def begin(visit: Visiting, typed: Typed) -> Response:
    """Take the usual list for a brake that has none."""
    code = Form(typed).text("code", most=40)
    with visit.database.writing() as session:
        actions.begin_care(session, code)
    return _back(visit, code)


@router.post("/done")
def done(visit: Visiting, typed: Typed) -> Response:
    """Somebody did it."""
    form = Form(typed, visit.unit)
    task_id = form.whole("task", least=1, most=10**9)
    meter_h = form.number("meter", least=0, most=MOST_HOURS, needed=False)
    note = form.text("note", most=300)
    form.need_ok()
    with visit.database.writing() as session:
        actions.record_care(session, task_id, meter_h=meter_h, note=note, by=visit.signer())
    return _back(visit, form.text("code", most=40))


@router.post("/undo")
def undo(visit: Visiting, typed: Typed) -> Response:
    """Take an entry back."""
    form = Form(typed, visit.unit)
    entry_id = form.whole("entry", least=1, most=10**9)
    form.need_ok()
    with visit.database.writing() as session:
        actions.undo_care(session, entry_id, by=visit.person)
    return _back(visit, form.text("code", most=40))


@router.post("/meter")
def meter(visit: Visiting, typed: Typed) -> Response:
    """Keep the hour meter's reading."""
    form = Form(typed, visit.unit)
    meter_h = form.need_number("meter", least=0, most=MOST_HOURS)
    form.need_ok()
    code = form.text("code", most=40)
    with visit.database.writing() as session:
        actions.read_hour_meter(session, code, meter_h, by=visit.person)
    return _back(visit, code)


def _back(visit: Visit, code: str) -> Response:
    return visit.go_to(f"{visit.brake}/care?code={code}")
