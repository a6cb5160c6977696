"""The first article: looked at, signed, printed."""

from fastapi import APIRouter
from starlette.responses import Response

from server.actions import first_article as actions
from server.storage.queries.first_article import get_first_article, list_run_first_articles
from server.storage.queries.job import get_run
from server.web.forms.form import Form
from server.web.house import Typed, Visiting
from server.web.pages.first_article import FirstArticleLines, FirstArticleSheet, FirstArticleShow

router = APIRouter(prefix="/brake", include_in_schema=False)
STYLES = ("run", "panel", "first_article")


@router.get("/run/{run_id}/first-article")
def show(visit: Visiting, run_id: int) -> Response:
    """What is measured now, and the sheets signed so far."""
    with visit.database.reading() as session:
        run = get_run(session, run_id)
        lines = actions.article_lines(session, run_id)
        sheets = list_run_first_articles(session, run_id)
    frame = visit.frame("First article", "brake", side="brake", styles=STYLES)
    table = FirstArticleLines(lines, actions.verdict_of(lines))
    page = FirstArticleShow(frame, run, table, sheets, waits=run.state == "first_article")
    return visit.answer(page)


@router.get("/run/{run_id}/first-article/lines")
def lines(visit: Visiting, run_id: int) -> Response:
    """Wanted against measured, for the panel on the run page."""
    with visit.database.reading() as session:
        found = actions.article_lines(session, run_id)
    return visit.answer(FirstArticleLines(found, actions.verdict_of(found)))


@router.post("/run/{run_id}/first-article")
def sign(visit: Visiting, run_id: int, typed: Typed) -> Response:
    """Sign the sheet; the rest may be bent."""
    with visit.database.writing() as session:
        actions.sign_first_article(
            session,
            run_id,
            note=Form(typed).text("note", most=500),
            request_key=typed.get("request_key", ""),
            by=visit.person,
        )
    return visit.go_to(f"{visit.brake}/run/{run_id}")


@router.get("/first-article/{sheet_id}")
def sheet(visit: Visiting, sheet_id: int) -> Response:
    """A signed sheet, to be printed."""
    with visit.database.reading() as session:
        found = get_first_article(session, sheet_id)
    frame = visit.frame(
        f"First article {found.part_number}",
        "brake",
        side="brake",
        styles=STYLES,
        scripts=("print",),
    )
    table = FirstArticleLines(found.lines, found.verdict)
    return visit.answer(FirstArticleSheet(frame, found, table))
