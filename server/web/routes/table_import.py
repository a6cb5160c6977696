"""Tables in and out: every list as CSV; customers, materials, tools and parts from CSV."""

from pathlib import Path
from typing import Annotated

from fastapi import APIRouter, Depends, Request
from starlette.datastructures import UploadFile
from starlette.responses import Response

from server.actions import table_import as actions
from server.errors import ShopError
from server.files.kept_table import forget_table, keep_table, read_kept_table
from server.storage.database import Session
from server.storage.queries.list_export import get_export, list_exports
from server.web.forms.form import Form
from server.web.forms.table_import import KINDS, ImportKind, TableFates, fates_of
from server.web.house import Typed, Visit, Visiting
from server.web.pages.table_import import (
    MOST_SHOWN,
    TableEdit,
    TableShow,
    fate_counts,
    fate_lines,
)
from server.web.problems import status_of
from server.web.security import MOST_FIELDS, MOST_FILES
from server.web.table import answer_csv

router = APIRouter(prefix="/office/table", include_in_schema=False)
STYLES = ("tool", "table_import")


async def posted_table(request: Request) -> bytes:
    """The file of a posted form, empty without one."""
    form = await request.form(max_fields=MOST_FIELDS, max_files=MOST_FILES)
    file = form.get("file")
    if not isinstance(file, UploadFile):
        return b""
    content = await file.read()
    await file.close()
    return content


Table = Annotated[bytes, Depends(posted_table)]


@router.get("")
def tables(visit: Visiting, told: str = "") -> Response:
    """Choose a file to take in, or a list to give out."""
    notice = f"{int(told)} rows taken in." if told.isdecimal() and len(told) < 8 else ""
    return visit.answer(_edit(visit, Form({"noun": "customer"}), notice=notice))


@router.post("")
def look_at_table(visit: Visiting, typed: Typed, content: Table) -> Response:
    """What a file would do, row by row; nothing is changed."""
    form = Form({**typed, "file": ""}, visit.unit)
    noun = form.choice("noun", tuple(KINDS))
    if not content:
        form.trouble("file", "There is no file.", "Choose one that was saved as CSV.")
    page = form.attempt(
        lambda: _show(visit, KINDS[noun], keep_table(_folder(visit), content)), None
    )
    if page is None:
        return visit.answer(_edit(visit, form), status=status_of(form))
    return visit.answer(page)


@router.post("/taken-in")
def take_table_in(visit: Visiting, typed: Typed) -> Response:
    """Do what was shown: all rows that were not refused, or none."""
    kind, token = _kind(typed.get("noun", "")), typed.get("token", "")
    with visit.database.writing() as session:
        fates = _fates(visit, session, kind, token)
        count = actions.take_in(session, fates.rows, flange_margin=_margin(visit), by=visit.person)
    forget_table(_folder(visit), token)
    return visit.go_to(f"/office/table?told={count}")


@router.get("/fates.csv")
def fates_as_csv(visit: Visiting, noun: str, token: str) -> Response:
    """Every row's fate as a table."""
    kind = _kind(noun)
    with visit.database.reading() as session:
        fates = _fates(visit, session, kind, token)
    rows = (
        (one.line, one.code, one.told, " ".join(" ".join(words) for words in one.troubles))
        for one in fate_lines(fates.fates, kind)
    )
    return answer_csv(f"fates {noun}", ("line", kind.key, "fate", "trouble"), rows)


@router.get("/{name}.csv")
def list_as_csv(visit: Visiting, name: str) -> Response:
    """One of the shop's lists."""
    with visit.database.reading() as session:
        return answer_csv(name, *get_export(session, name))


def _kind(noun: str) -> ImportKind:
    if noun not in KINDS:
        raise ShopError(
            "not_found", "There is no such kind of table.", remedy="Choose one of those shown."
        )
    return KINDS[noun]


def _folder(visit: Visit) -> Path:
    return visit.database.path.parent / "table"


def _margin(visit: Visit) -> float:
    return visit.house.settings.bend.flange_margin_ratio


def _fates(visit: Visit, session: Session, kind: ImportKind, token: str) -> TableFates:
    content = read_kept_table(_folder(visit), token)
    return fates_of(session, kind, content, flange_margin=_margin(visit))


def _edit(visit: Visit, form: Form, *, notice: str = "") -> TableEdit:
    return TableEdit(
        frame=visit.frame("Tables in and out", "table", styles=STYLES, notice=notice),
        form=form,
        kinds=tuple(KINDS.values()),
        exports=list_exports(),
    )


def _show(visit: Visit, kind: ImportKind, token: str) -> TableShow:
    with visit.database.reading() as session:
        found = _fates(visit, session, kind, token)
    lines = tuple(fate_lines(found.fates, kind))
    return TableShow(
        frame=visit.frame("What it would do", "table", styles=STYLES),
        kind=kind,
        token=token,
        counts=fate_counts(found.fates),
        lines=lines[:MOST_SHOWN],
        more=max(0, len(lines) - MOST_SHOWN),
        takes=len(found.rows),
    )
