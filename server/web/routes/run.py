"""The brake side: choose, set up, step through, count."""

import re
from typing import TYPE_CHECKING

from fastapi import APIRouter
from starlette.responses import Response

from server.actions import run as actions
from server.actions.setup import TouchOffValues, record_touch_off
from server.actions.work_out import section_of_faces
from server.drawings.section import draw_section
from server.storage.database import Session
from server.storage.queries.bend_sequence import (
    list_keyed_steps,
)
from server.storage.queries.finder import Found, find_anything
from server.storage.queries.customer import customer_names
from server.storage.queries.job import (
    get_run,
    get_run_mark,
    get_run_place,
    list_jobs,
    list_open_runs,
)
from server.storage.queries.part import get_revision
from server.web.forms.form import Form
from server.web.house import Typed, Visit, Visiting
from server.web.pages.run import RunChoice, RunList, RunShow, step_cards

if TYPE_CHECKING:
    from server.storage.tables.job import Run

router = APIRouter(prefix="/brake", include_in_schema=False)
QUEUED = ("ready", "won")
CODE = re.compile(r"[A-Z0-9-]{1,40}")


@router.get("")
def choose(visit: Visiting, q: str = "") -> Response:
    """Choose what to bend."""
    with visit.database.reading() as session:
        page = _choice(visit, session, q)
    return visit.answer(page)


@router.post("/open")
def open_code(visit: Visiting, typed: Typed) -> Response:
    """Open a job or part by its number; a number that is not exact gives a list."""
    code = typed.get("code", "").strip().upper()
    with visit.database.writing() as session:
        found = _exact(session, code)
        run = _start(visit, session, found[0]) if found else None
    if run is None:
        return visit.go_to(f"/brake?q={code if CODE.fullmatch(code) else ''}")
    return visit.go_to(f"/brake/run/{run.id}")


@router.get("/run/{run_id}")
def show_run(visit: Visiting, run_id: int) -> Response:
    """The run page with all steps."""
    with visit.database.reading() as session:
        mark = get_run_mark(session, run_id)
        return visit.answer_kept(("run", mark), lambda: _run_page(visit, session, run_id))


@router.post("/run/{run_id}/step")
def go_to_step(visit: Visiting, run_id: int, typed: Typed) -> Response:
    """Remember which step is shown."""
    form = Form(typed, visit.unit)
    position = form.whole("position", least=1, most=500)
    form.need_ok()
    with visit.database.writing() as session:
        run = actions.go_to_step(
            session,
            run_id,
            position,
            request_key=typed.get("request_key", ""),
            by=visit.person,
        )
    return _known(run.version)


@router.post("/run/{run_id}/count")
def count(visit: Visiting, run_id: int, typed: Typed) -> Response:
    """Count a part good, scrap or rework; or take a count back."""
    form = Form(typed, visit.unit)
    with visit.database.writing() as session:
        run = actions.count_parts(
            session,
            run_id,
            good=form.whole("good", least=-1000, most=1000, default=0),
            scrap=form.whole("scrap", least=-1000, most=1000, default=0),
            rework=form.whole("rework", least=-1000, most=1000, default=0),
            reason=form.text("reason", most=100),
            request_key=typed.get("request_key", ""),
            by=visit.person,
        )
    return _known(run.version)


@router.post("/run/{run_id}/touch-off")
def touch_off(visit: Visiting, run_id: int, typed: Typed) -> Response:
    """Record a touch-off made on this set-up."""
    form = Form(typed, visit.unit)
    values = TouchOffValues(
        on="die" if form.choice("on", ("sheet", "die"), "sheet") == "die" else "sheet",
        reading_mm=form.need_length_mm("reading", least_mm=-2000, most_mm=2000, above=False),
        tip_above_die_top_mm=form.need_length_mm("tip", most_mm=200, above=False),
    )
    form.need_ok()
    with visit.database.writing() as session:
        run = get_run(session, run_id)
        record_touch_off(session, run.setup_id or 0, values, by=visit.person)
    return visit.go_to(f"/brake/run/{run_id}")


def _exact(session: Session, code: str) -> list[Found]:
    found = find_anything(session, code)
    return [hit for hit in found if hit.exact and hit.noun in ("job", "part")]


def _start(visit: Visit, session: Session, found: Found) -> "Run":
    settings = visit.house.settings
    if found.noun == "job":
        return actions.start_job(session, found.key, settings=settings, by=visit.person)
    return actions.start_part(session, found.key, quantity=1, settings=settings, by=visit.person)


def _choice(visit: Visit, session: Session, text: str) -> RunList:
    runs = [
        _choice_of(
            session,
            code=run.job_number or run.part_number,
            part=run.part_number,
            label=run.revision_label,
            words=f"step {run.position}, {run.good_count} of {run.quantity_count} good",
            state=run.state,
        )
        for run in list_open_runs(session)
    ]
    if text:
        hits = [hit for hit in find_anything(session, text) if hit.noun in ("job", "part")]
        queue = [
            RunChoice(code=hit.key, title=hit.key, words=hit.words, state="", picture="")
            for hit in hits
        ]
    else:
        jobs = list_jobs(session, states=QUEUED, limit=12)
        names = customer_names(session, (job.customer_code for job in jobs))
        queue = [
            _choice_of(
                session,
                code=job.number,
                part=job.part_number,
                label=job.revision_label,
                words=", ".join(
                    filter(None, (f"{job.quantity_count} pieces", names[job.customer_code]))
                ),
                state=job.state,
            )
            for job in jobs
        ]
    return RunList(
        frame=visit.frame("Brake side", "brake", side="brake", styles=("run",), scripts=("scan",)),
        open_runs=[] if text else runs,
        queue=queue,
        typed=text,
        trouble="" if queue or not text else f"Nothing like {text}.",
    )


def _choice_of(
    session: Session, *, code: str, part: str, label: str, words: str, state: str
) -> RunChoice:
    revision = get_revision(session, part, label)
    section = section_of_faces(revision.faces)
    return RunChoice(
        code=code,
        title=code if code == part else f"{code} · {part}",
        words=words,
        state=state,
        picture=draw_section(section, title=part) if section else "",
    )


def _run_page(visit: Visit, session: Session, run_id: int) -> RunShow:
    place = get_run_place(session, run_id)
    run = place.run
    keyed = list_keyed_steps(session, run.bend_sequence_id, run.setup_id)
    return RunShow(
        frame=visit.frame(
            run.part_number, "brake", side="brake", styles=("run",), scripts=("run",)
        ),
        run=run,
        setup=place.setup,
        job=place.job,
        steps=step_cards(keyed, place.brake, place.setup, visit.show),
    )


def _known(version: int) -> Response:
    return Response(status_code=204, headers={"X-Run-Version": str(version)})
