"""Punches, dies and holders: list, add, change, archive, put back."""

from collections.abc import Callable
from dataclasses import replace
from typing import Annotated, TypeVar

from fastapi import APIRouter, Depends, Request
from starlette.responses import Response

from server.actions import tool as actions
from server.actions.tool import KINDS, ToolKind
from server.findings import Finding
from server.storage.queries.history import list_events, list_noun_events
from server.storage.queries.tool import (
    list_dies_with_segments,
    list_holders,
    list_punches_with_segments,
)
from server.web.forms.conflict import Conflict, conflict_of
from server.web.forms.form import Form
from server.web.forms.tool import fill_outline, read_tool, typed_of_new_tool, typed_of_tool
from server.web.house import Typed, Visit, Visiting
from server.web.pages.history import history_of
from server.web.pages.tool import ToolEdit, ToolList, rating_findings, tool_line, tool_shape
from server.web.problems import status_of

router = APIRouter(prefix="/office", include_in_schema=False)
Route = TypeVar("Route", bound=Callable[..., Response])


def kind_of(request: Request) -> ToolKind:
    """Which kind of tool an address is about."""
    named = request.url.path.split("/")[2]
    return next(kind for kind in KINDS if kind == named)


Kind = Annotated[ToolKind, Depends(kind_of)]


def each(method: str, path: str) -> Callable[[Route], Route]:
    """The same route for punches, dies and holders."""

    def add(route: Route) -> Route:
        for kind in KINDS:
            router.add_api_route(f"/{kind}{path}", route, methods=[method])
        return route

    return add


@router.get("/tool")
def tools(visit: Visiting, archived: bool = False) -> Response:
    """Every tool, in three lists."""
    with visit.database.reading() as session:
        punches = list_punches_with_segments(session, with_archived=archived)
        dies = list_dies_with_segments(session, with_archived=archived)
        holders = list_holders(session, with_archived=archived)
        events = list_noun_events(session, *KINDS)
    page = ToolList(
        frame=visit.frame("Tools", "tool", styles=("tool",)),
        punches=tuple(tool_line(row, segments) for row, segments in punches),
        dies=tuple(tool_line(row, segments) for row, segments in dies),
        holders=tuple(tool_line(row) for row in holders),
        with_archived=archived,
        history=history_of(events, visit.show, with_names=True),
    )
    return visit.answer(page)


@each("GET", "/new")
def new_tool(visit: Visiting, kind: Kind) -> Response:
    """An empty form."""
    form = Form(typed_of_new_tool(kind, visit.show), visit.unit)
    return visit.answer(_edit(visit, kind, form, fresh=True))


@each("POST", "/new")
def add_tool(visit: Visiting, kind: Kind, typed: Typed) -> Response:
    """Add a tool."""
    form = Form.posted(typed, visit.unit)
    code, values = form.code("code"), read_tool(form, kind)
    with visit.database.writing() as session:
        form.attempt(
            lambda: actions.add_tool(session, kind, code, values, by=visit.person), session
        )
    if not form.ok:
        return visit.answer(_edit(visit, kind, form), status=status_of(form))
    return visit.go_to(f"/office/{kind}/{code}?saved=yes")


@each("POST", "/shape")
def shape(visit: Visiting, kind: Kind, typed: Typed) -> Response:
    """The cross-section drawn from what is typed; a starter fills the outline in first."""
    form = Form.posted(typed, visit.unit)
    show = replace(visit.show, unit=form.unit)
    if starter := typed.get("starter"):
        form = fill_outline(form, kind, starter, show)
    page = tool_shape(form, kind, show, code=form.text("code", most=40), while_typing=form.ok)
    return visit.answer(page)


@each("GET", "/{code}")
def tool(visit: Visiting, kind: Kind, code: str, saved: bool = False) -> Response:
    """One tool."""
    with visit.database.reading() as session:
        row = actions.get_tool(session, kind, code)
        pieces = actions.list_pieces(session, kind, code)
    form = Form(typed_of_tool(row, kind, pieces, visit.show), visit.unit)
    return visit.answer(_edit(visit, kind, form, code=code, saved=saved))


@each("POST", "/{code}")
def save_tool(visit: Visiting, kind: Kind, code: str, typed: Typed) -> Response:
    """Change a tool."""
    form = Form.posted(typed, visit.unit)
    values, version = read_tool(form, kind), form.version()
    with visit.database.writing() as session:
        form.attempt(
            lambda: actions.save_tool(
                session, kind, code, values, version=version, by=visit.person
            ),
            session,
        )
    if not form.ok:
        return visit.answer(_edit(visit, kind, form, code=code), status=status_of(form))
    return visit.go_to(f"/office/{kind}/{code}?saved=yes")


@each("POST", "/{code}/archived")
def archive_tool(visit: Visiting, kind: Kind, code: str, typed: Typed) -> Response:
    """Take a tool off the lists, or put it back."""
    archived = Form(typed).yes("archived")
    with visit.database.writing() as session:
        actions.set_tool_archived(session, kind, code, archived=archived, by=visit.person)
    return visit.go_to("/office/tool" if archived else f"/office/{kind}/{code}")


@each("POST", "/{code}/put-back")
def put_tool_back(visit: Visiting, kind: Kind, code: str, typed: Typed) -> Response:
    """Undo one change of a tool."""
    event_id = Form(typed).whole("event", least=0, most=10**12)
    with visit.database.writing() as session:
        actions.put_tool_back(session, kind, code, event_id, by=visit.person)
    return visit.go_to(f"/office/{kind}/{code}?saved=yes")


def _edit(
    visit: Visit,
    kind: ToolKind,
    form: Form,
    *,
    code: str = "",
    saved: bool = False,
    fresh: bool = False,
) -> ToolEdit:
    """A tool's page around a form; an existing tool's history and conflict are read here."""
    show = replace(visit.show, unit=form.unit)
    archived, conflict, events = False, Conflict(), []
    rating: tuple[Finding, ...] = ()
    if code:
        with visit.database.reading() as session:
            row = actions.get_tool(session, kind, code)
            pieces = actions.list_pieces(session, kind, code)
            events = list_events(session, noun=kind, key=code)
        archived, rating = row.archived_at is not None, rating_findings(row, kind)
        conflict = conflict_of(form, typed_of_tool(row, kind, pieces, show), version=row.version)
    return ToolEdit(
        frame=visit.frame(
            code or f"New {kind}",
            "tool",
            styles=("tool",),
            notice="Saved." if saved else "",
        ),
        kind=kind,
        form=form,
        code=code,
        archived=archived,
        shape=tool_shape(form, kind, show, code=code, while_typing=fresh),
        rating=rating,
        conflict=conflict,
        history=history_of(
            events, visit.show, put_back_path=f"/office/{kind}/{code}/put-back" if code else ""
        ),
    )
