"""Parts and their revisions: a shape is released once and never changes after."""

from typing import Any

from server.actions.draft import Drawing, drawing_now, plain_of_drawing
from server.actions.history import keep
from server.actions.work_out import WorkedOut, plain_faces, work_out
from server.actions.work_out_flat import WorkedFlat, plain_flat_faces, work_out_flat
from server.errors import ShopError, say
from server.findings import Finding
from server.planning.drawn_flat import DrawnFlatPart
from server.storage.database import Session
from server.storage.queries.part import (
    find_newest_revision,
    find_part,
    get_draft,
    get_part,
    list_revisions,
)
from server.storage.tables.column import utc_now
from server.storage.tables.part import Part, Revision

NOT_BLOCKING_A_DRAWING = frozenset({"no_rating", "no_flattening_tools", "no_offset_tools"})
"""What the shop lacks does not keep a part from being drawn; the planner refuses it then."""
Worked = WorkedOut | WorkedFlat


def release_draft(
    session: Session, draft_id: int, *, flange_margin: float, note: str = "", by: str
) -> Revision:
    """Freeze a drawing as the next revision of its part, and take it off the board.

    Raises: ShopError `number_missing`, `blocked` when the shape cannot be bent, or what working
        it out says.
    """
    draft = get_draft(session, draft_id)
    drawn = drawing_now(draft)
    if not drawn.number:
        raise ShopError(
            "number_missing",
            "The part has no number yet.",
            remedy="Type the part number it will be found by.",
            where="number",
        )
    worked = work_out_drawing(session, drawn, flange_margin=flange_margin)
    stop = _first_stop(worked)
    if stop is not None:
        raise ShopError("blocked", stop.what, remedy=stop.frees or "", where="form")
    revision = save_revision(session, worked, note=note, by=by)
    session.delete(draft)
    return revision


def work_out_drawing(session: Session, drawn: Drawing, *, flange_margin: float) -> Worked:
    """Work out a drawing of either kind.

    Raises: ShopError as `work_out` and `work_out_flat`.
    """
    if isinstance(drawn, DrawnFlatPart):
        return work_out_flat(session, drawn, flange_margin=flange_margin)
    return work_out(session, drawn, flange_margin=flange_margin)


def save_revision(session: Session, worked: Worked, *, note: str, by: str) -> Revision:
    """The next revision of a part from a worked-out drawing; the one before is superseded."""
    drawn = worked.part
    part = find_part(session, drawn.number)
    if part is None:
        part = Part(number=drawn.number, name=drawn.name or drawn.number)
        session.add(part)
        session.flush()
        keep(session, "added", noun="part", key=part.number, by=by)
    elif drawn.name and drawn.name != part.name:
        part.name = drawn.name
    part.archived_at = None
    newest = find_newest_revision(session, part.number)
    if newest is not None:
        newest.superseded_at = utc_now()
        session.add(newest)
    revision = Revision(
        part_number=part.number,
        label=next_label(newest.label if newest else None),
        material_code=drawn.material_code,
        thickness_mm=drawn.thickness_mm,
        drawn=plain_of_drawing(drawn),
        **_blank_columns(worked),
        blank_v_opening_mm=worked.die.v_opening_mm,
        blank_die_code=worked.die.name if worked.ranked_dies else None,
        blank_k_factor=worked.k.k_factor,
        blank_k_from=worked.k.come_from,
        note=note,
        made_by=by,
    )
    part.changed_at = utc_now()
    session.add(part)
    session.add(revision)
    session.flush()
    keep(
        session,
        "released revision",
        noun="part",
        key=part.number,
        by=by,
        after={"revision": revision.label, "flat_length_mm": revision.blank_length_mm},
    )
    return revision


def _blank_columns(worked: Worked) -> dict[str, Any]:
    """What a revision keeps of its blank; a profile's is a rectangle without holes."""
    blank = worked.blank
    columns = {"area_mm2": blank.area_mm2, "mass_kg": blank.mass_kg}
    if isinstance(worked, WorkedFlat):
        length_mm, width_mm = worked.blank.size_mm
        return columns | {
            "kind": "flat",
            "faces": plain_flat_faces(worked.blank),
            "blank_length_mm": length_mm,
            "blank_width_mm": width_mm,
            "cut_length_mm": worked.blank.cut_length_mm,
            "pierces_count": worked.blank.pierces_count,
        }
    length_mm, width_mm = worked.blank.length_mm, worked.blank.width_mm
    return columns | {
        "kind": "profile",
        "faces": plain_faces(worked.profile),
        "blank_length_mm": length_mm,
        "blank_width_mm": width_mm,
        "cut_length_mm": 2 * (length_mm + width_mm),
    }


def next_label(label: str | None) -> str:
    """The revision label after one: A, B, ... Z, AA, AB, ...

    >>> next_label(None), next_label("A"), next_label("Z"), next_label("AZ")
    ('A', 'B', 'AA', 'BA')
    """
    if label is None:
        return "A"
    number = 0
    for letter in label:
        number = number * 26 + ord(letter) - ord("A") + 1
    number += 1
    letters = ""
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def set_part_archived(session: Session, number: str, *, archived: bool, by: str) -> None:
    """Take a part off the lists, or put it back; its revisions and jobs stay.

    Raises: ShopError `not_found`.
    """
    part = get_part(session, number)
    part.archived_at = utc_now() if archived else None
    session.add(part)
    keep(session, "archived" if archived else "restored", noun="part", key=number, by=by)


def need_newest(session: Session, number: str, label: str) -> None:
    """Refuse an old revision on the floor.

    Raises: ShopError `superseded` naming the newest.
    """
    newest = list_revisions(session, number)[0]
    if newest.label != label:
        raise ShopError(
            "superseded",
            say(
                "Revision {old} of {number} was superseded by {new}.",
                old=label,
                number=number,
                new=newest.label,
            ),
            remedy="Fetch the new paper and blank; the job has to be moved to the new revision.",
        )


def _first_stop(worked: Worked) -> Finding | None:
    return next(
        (
            finding
            for finding in worked.findings
            if finding.level == "stop" and finding.code not in NOT_BLOCKING_A_DRAWING
        ),
        None,
    )
