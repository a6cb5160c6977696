"""Parts: list, search, show, archive."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from fastapi import APIRouter
from starlette.responses import Response

from server.actions import part as actions
from server.actions.work_out import section_of_faces
from server.drawings.flat import draw_flat
from server.drawings.fold import FoldStep, fold_data
from server.drawings.section import SectionWords, draw_section
from server.files.flat_dxf import write_flat_dxf
from server.geometry.part import FlatPart
from server.planning.blank import as_drawn
from server.planning.drawn_part import drawn_part_of
from server.storage.database import Session
from server.storage.queries import part as queries
from server.storage.queries.bend_sequence import list_bend_sequences, list_steps
from server.storage.queries.brake import list_brakes
from server.storage.queries.finder import find_parts_like
from server.storage.queries.tool import list_dies, list_punches
from server.web.forms.form import Form
from server.web.house import Typed, Visit, Visiting
from server.web.pages.draft import draft_path
from server.web.pages.hold import angles_after, zones_of_step
from server.web.pages.part import PartList, PartRow, PartRows, PartShow
from server.web.pages.revision_picture import draw_revision, flat_part_of_revision
from server.web.pages.starter import starters
from server.web.routes.attachment import attachments_of

if TYPE_CHECKING:
    from server.storage.tables.bend_sequence import BendSequence
    from server.storage.tables.part import Revision

router = APIRouter(prefix="/office/part", include_in_schema=False)
A_PAGE = 50


@router.get("")
def parts(visit: Visiting, q: str = "", skip: int = 0) -> Response:
    """All parts, or those like a text."""
    with visit.database.reading() as session:
        rows = _rows(session, q, max(0, skip))
        drafts = queries.list_drafts(session)
        count = queries.count_parts(session)
    if visit.in_page:
        return visit.answer(rows)
    page = PartList(
        frame=visit.frame("Parts", "part", styles=("part",)),
        rows=rows,
        drafts=drafts,
        draft_paths=tuple(draft_path(draft) for draft in drafts),
        starters=starters(),
        count=count,
    )
    return visit.answer(page)


@router.get("/{number}")
def part(visit: Visiting, number: str, revision: str = "", removed: int = 0) -> Response:
    """One part with its newest revision, or an older one that is asked for."""
    with visit.database.reading() as session:
        page = _show(visit, session, number.upper(), revision, removed=removed)
    return visit.answer(page)


@router.get("/{number}/{label}/blank.dxf")
def blank_dxf(visit: Visiting, number: str, label: str) -> Response:
    """A revision's blank for the cutting table, to download."""
    with visit.database.reading() as session:
        revision = queries.get_revision(session, number.upper(), label.upper())
    name = f"{revision.part_number}-{revision.label}.dxf"
    return Response(
        write_flat_dxf(flat_part_of_revision(revision)),
        media_type="image/vnd.dxf",
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )


@router.post("/{number}/archived")
def archive(visit: Visiting, number: str, typed: Typed) -> Response:
    """Take a part off the lists, or put it back."""
    archived = Form(typed).yes("archived")
    with visit.database.writing() as session:
        actions.set_part_archived(session, number, archived=archived, by=visit.person)
    return visit.go_to("/office/part" if archived else f"/office/part/{number}")


def _rows(session: Session, text: str, skip: int) -> PartRows:
    if text.strip():
        lines = find_parts_like(session, text, limit=A_PAGE)
        more = 0
    else:
        lines = queries.list_part_lines(session, limit=A_PAGE + 1, skip=skip)
        more = skip + A_PAGE if len(lines) > A_PAGE else 0
    return PartRows(
        rows=[PartRow(line, _thumbnail(line)) for line in lines[:A_PAGE]], text=text, more=more
    )


def _thumbnail(line: queries.PartLine) -> str:
    if line.revision is None:
        return ""
    return draw_revision(line.revision, title=line.part.number)


def _show(visit: Visit, session: Session, number: str, label: str, *, removed: int = 0) -> PartShow:
    row = queries.get_part(session, number)
    revisions = queries.list_revisions(session, number)
    revision = queries.get_revision(session, number, label) if label else None
    revision = revision or (revisions[0] if revisions else None)
    flat = flat_part_of_revision(revision) if revision else None
    is_flat = revision is not None and revision.kind == "flat"
    sequences = list_bend_sequences(session, number, revision.label) if revision else []
    return PartShow(
        frame=visit.frame(
            number, "part", styles=("part", "fold"), scripts=("fold",) if is_flat else ()
        ),
        part=row,
        revision=revision,
        revisions=revisions,
        section_picture=_section(visit, revision) if revision else "",
        fold=fold_data(flat, _fold_steps(session, flat, sequences)) if flat and is_flat else "",
        flat_picture=draw_flat(
            flat, title=f"Blank of {number}", length=visit.show.length, names=is_flat
        )
        if flat
        else "",
        sequences=sequences,
        brakes=tuple(brake.code for brake in list_brakes(session)),
        dies=tuple(die.code for die in list_dies(session, purpose="bend")),
        punches=tuple(punch.code for punch in list_punches(session, purpose="bend")),
        attachments=attachments_of(session, "part", number, removed=removed),
    )


def _section(visit: Visit, revision: "Revision") -> str:
    """The section of a profile with its legs; empty for any other part."""
    section = section_of_faces(revision.faces)
    if section is None:
        return ""
    section = as_drawn(section, drawn_part_of(revision.drawn).profile.bends)
    words = SectionWords(legs=[visit.show.typed(leg) for leg in revision.drawn["legs_mm"]])
    return draw_section(section, title=f"Section of {revision.part_number}", words=words)


def _fold_steps(
    session: Session, part: FlatPart, sequences: "Sequence[BendSequence]"
) -> tuple[FoldStep, ...]:
    """The steps of the newest sequence that is ready, as the turning view folds them."""
    ready = next((row for row in sequences if row.state == "ready"), None)
    if ready is None:
        return ()
    return tuple(
        FoldStep(
            "bend " + ", ".join(str(bend + 1) for bend in step.bends),
            angles_after(part, zones_of_step(part, step), step.kind, step.bend_angle_deg),
        )
        for step in list_steps(session, ready.id or 0)
    )
