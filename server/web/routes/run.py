"""The brake side: choose, step through, count, hold, note, finish."""

import re
from collections.abc import AsyncIterator
from datetime import UTC, datetime
from functools import partial
from statistics import median
from typing import TYPE_CHECKING

from fastapi import APIRouter
from fastapi.sse import EventSourceResponse, ServerSentEvent
from starlette.responses import Response

from server.actions import run as opening
from server.actions import running as actions
from server.actions.care import count_care_due
from server.actions.measured_time import accept_times
from server.actions.note import add_note
from server.files.photo import read_photo
from server.storage.database import Session
from server.storage.queries.bend_sequence import list_run_steps
from server.storage.queries.brake import list_brakes
from server.storage.queries.customer import customer_names
from server.storage.queries.finder import Found, find_anything
from server.storage.queries.job import (
    RunMark,
    find_run_mark,
    get_run,
    get_run_mark,
    get_run_place,
    list_open_runs,
)
from server.storage.queries.measured_time import list_run_times
from server.storage.queries.note import list_run_notes
from server.storage.queries.part import get_revision
from server.storage.queries.schedule import list_queue
from server.web.forms.form import Form
from server.web.house import Photo, Typed, Visit, Visiting
from server.web.live import Mark, events_of
from server.web.pages.hold import held_part
from server.web.pages.revision_picture import draw_revision
from server.web.pages.run import (
    RunChoice,
    RunEnd,
    RunList,
    RunNotes,
    RunShow,
    run_show,
    step_cards,
)

if TYPE_CHECKING:
    from server.storage.tables.job import Run

router = APIRouter(prefix="/brake", include_in_schema=False)
QUEUED = ("ready", "won")
CODE = re.compile(r"[A-Z0-9-]{1,40}")
COUNTS = ("good", "scrap", "rework")
SCRIPTS = ("run", "trial", "awake")


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
        run = _open(visit, session, found[0]) if found else None
    if run is None:
        return visit.go_to(f"{visit.brake}?q={code if CODE.fullmatch(code) else ''}")
    return visit.go_to(f"{visit.brake}/run/{run.id}")


@router.get("/run/{run_id}")
def show_run(visit: Visiting, run_id: int) -> Response:
    """The run page with all steps."""
    with visit.database.reading() as session:
        mark = get_run_mark(session, run_id)
        return visit.answer_kept(("run", mark), lambda: _run_page(visit, session, run_id, mark))


@router.get("/run/{run_id}/live", response_class=EventSourceResponse)
async def live(visit: Visiting, run_id: int) -> AsyncIterator[ServerSentEvent]:
    """Tells the run page that something changed."""
    async for event in events_of(visit.house.live, partial(_mark, visit, run_id)):
        yield event


@router.get("/live", response_class=EventSourceResponse)
async def live_queue(visit: Visiting) -> AsyncIterator[ServerSentEvent]:
    """Tells the queue, and every page of the office, that something changed."""
    house_live = visit.house.live
    async for event in events_of(house_live, lambda: f"{house_live.boot}-{house_live.changes}"):
        yield event


@router.post("/run/{run_id}/step")
def go_to_step(visit: Visiting, run_id: int, typed: Typed) -> Response:
    """Remember which step is shown."""
    form = Form(typed, visit.unit)
    position = form.whole("position", least=1, most=500)
    form.need_ok()
    with visit.database.writing() as session:
        run = actions.go_to_step(
            session, run_id, position, request_key=typed.get("request_key", ""), by=visit.person
        )
    return _known(run.version)


@router.post("/run/{run_id}/count")
def count(visit: Visiting, run_id: int, typed: Typed) -> Response:
    """Count a part good, scrap or rework; or take a count back."""
    form = Form(typed, visit.unit)
    good, scrap, rework = (form.whole(name, least=-99, most=99, default=0) for name in COUNTS)
    reason = form.text("reason", most=100)
    waited_s = form.number("waited_s", least=0, most=1e9, needed=False) or 0.0
    form.need_ok()
    with visit.database.writing() as session:
        run = actions.count_parts(
            session,
            run_id,
            good=good,
            scrap=scrap,
            rework=rework,
            reason=reason,
            waited_s=waited_s,
            request_key=typed.get("request_key", ""),
            by=visit.person,
        )
    return Response(status_code=204, headers={"run-counts": _counts_of(run)})


@router.post("/run/{run_id}/hold")
def hold(visit: Visiting, run_id: int, typed: Typed) -> Response:
    """Stop for a while, with a reason."""
    reason = Form(typed).text("reason", most=100) or "other"
    with visit.database.writing() as session:
        run = actions.hold_run(
            session, run_id, reason, request_key=typed.get("request_key", ""), by=visit.person
        )
    return _known(run.version)


@router.post("/run/{run_id}/resume")
def resume(visit: Visiting, run_id: int, typed: Typed) -> Response:
    """Go on where the run was held."""
    with visit.database.writing() as session:
        run = actions.resume_run(
            session, run_id, request_key=typed.get("request_key", ""), by=visit.person
        )
    return _known(run.version)


@router.post("/run/{run_id}/finish")
def finish(visit: Visiting, run_id: int, typed: Typed) -> Response:
    """End the run."""
    with visit.database.writing() as session:
        actions.finish_run(
            session, run_id, request_key=typed.get("request_key", ""), by=visit.person
        )
    return visit.go_to(f"{visit.brake}/run/{run_id}/end")


@router.post("/run/{run_id}/reopen")
def reopen(visit: Visiting, run_id: int) -> Response:
    """Take a finish back."""
    with visit.database.writing() as session:
        actions.reopen_run(session, run_id, by=visit.person)
    return visit.go_to(f"{visit.brake}/run/{run_id}")


@router.get("/run/{run_id}/end")
def end(visit: Visiting, run_id: int) -> Response:
    """What came out of a run, and what is next."""
    with visit.database.reading() as session:
        page = _end(visit, session, run_id)
    return visit.answer(page)


@router.post("/run/{run_id}/times")
def times(visit: Visiting, run_id: int, typed: Typed) -> Response:
    """Let the run's times teach the estimates, or keep them out."""
    with visit.database.writing() as session:
        accept_times(session, run_id, accepted=Form(typed).yes("accepted"), by=visit.person)
    return visit.go_to(f"{visit.brake}/run/{run_id}/end")


@router.post("/run/{run_id}/note")
def note(visit: Visiting, run_id: int, typed: Typed, photo: Photo) -> Response:
    """Keep words, a photo, or both."""
    form = Form(typed, visit.unit)
    text = form.text("text", most=1000)
    position = form.whole("position", least=1, most=500, default=1)
    form.need_ok()
    with visit.database.writing() as session:
        add_note(
            session,
            run_id,
            text=text,
            photo=photo,
            folder=visit.house.photo_folder,
            position=position,
            request_key=typed.get("request_key", ""),
            by=visit.person,
        )
    return Response(status_code=204)


@router.get("/run/{run_id}/notes")
def notes(visit: Visiting, run_id: int) -> Response:
    """A run's notes."""
    with visit.database.reading() as session:
        page = RunNotes(visit.brake, list_run_notes(session, run_id))
    return visit.answer(page)


@router.get("/photo/{name}")
def photo(visit: Visiting, name: str) -> Response:
    """A photo; its name follows its content, so a browser may keep it."""
    data, kind = read_photo(visit.house.photo_folder, name)
    kept = {"cache-control": "private, max-age=31536000, immutable"}
    return Response(data, media_type=kind, headers=kept)


def _mark(visit: Visit, run_id: int) -> Mark:
    with visit.database.reading() as session:
        mark = find_run_mark(session, run_id)
    return None if mark is None or mark.done else str(mark)


def _exact(session: Session, code: str) -> list[Found]:
    found = find_anything(session, code)
    return [hit for hit in found if hit.exact and hit.noun in ("job", "part")]


def _open(visit: Visit, session: Session, found: Found) -> "Run":
    settings = visit.house.settings
    if found.noun == "job":
        return opening.start_job(session, found.key, settings=settings, by=visit.person)
    return opening.start_part(session, found.key, quantity=1, settings=settings, by=visit.person)


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
        queue = _queue(session, most=12)
    return RunList(
        frame=visit.frame(
            "Brake side",
            "brake",
            side="brake",
            styles=("run", "panel"),
            scripts=("scan", "awake", "home"),
        ),
        open_runs=[] if text else runs,
        queue=queue,
        typed=text,
        trouble="" if queue or not text else f"Nothing like {text}.",
        care_due=sum(
            count_care_due(session, brake.code, now=datetime.now(UTC))
            for brake in list_brakes(session)
        ),
    )


def _queue(session: Session, *, most: int) -> list[RunChoice]:
    jobs = list_queue(session, states=QUEUED, limit=most)
    names = customer_names(session, (job.customer_code for job in jobs))
    return [
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


def _choice_of(
    session: Session, *, code: str, part: str, label: str, words: str, state: str
) -> RunChoice:
    revision = get_revision(session, part, label)
    return RunChoice(
        code=code,
        title=code if code == part else f"{code} · {part}",
        words=words,
        state=state,
        picture=draw_revision(revision, title=part),
    )


def _run_page(visit: Visit, session: Session, run_id: int, mark: RunMark) -> RunShow:
    place = get_run_place(session, run_id)
    run = place.run
    steps = list_run_steps(session, run.bend_sequence_id, run.setup_id, run_id)
    return run_show(
        frame=visit.frame(
            run.part_number, "brake", side="brake", styles=("run", "panel"), scripts=SCRIPTS
        ),
        run=run,
        setup=place.setup,
        job=place.job,
        steps=step_cards(
            steps,
            place.brake,
            place.setup,
            visit.show,
            first_share_ratio=visit.house.settings.bend.first_correction_ratio,
            part=held_part(get_revision(session, place.run.part_number, place.run.revision_label)),
        ),
        mark=str(mark),
        boot=visit.house.live.boot,
        newest_revision=mark.newest_revision,
    )


def _end(visit: Visit, session: Session, run_id: int) -> RunEnd:
    run = get_run(session, run_id)
    place = get_run_place(session, run_id)
    parts = [float(one) for one in run.part_times_s]
    return RunEnd(
        frame=visit.frame(run.part_number, "brake", side="brake", styles=("run", "panel")),
        run=run,
        job=place.job,
        times=list_run_times(session, run_id),
        part_s=median(parts) if parts else None,
        queue=_queue(session, most=3),
    )


def _counts_of(run: "Run") -> str:
    """A run's counts as they travel to the page that counted."""
    return f"{run.good_count},{run.scrap_count},{run.rework_count}"


def _known(version: int) -> Response:
    return Response(status_code=204, headers={"X-Run-Version": str(version)})
