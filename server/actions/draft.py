"""The drawing board: every change a snapshot, undone and redone at will."""

from collections.abc import Mapping
from typing import Any

from server.actions.history import need_same_version
from server.errors import ShopError
from server.planning.drawn_flat import (
    FLAT_STARTERS,
    DrawnFlatPart,
    drawn_flat_of,
    plain_of_flat,
)
from server.planning.drawn_part import STARTERS, DrawnPart, drawn_part_of, plain_of
from server.storage.database import Session
from server.storage.queries.material import list_materials
from server.storage.queries.part import find_newest_revision, get_draft, get_part
from server.storage.tables.part import Draft

MOST_SNAPSHOTS = 200
Drawing = DrawnPart | DrawnFlatPart


def start_draft(session: Session, *, part_number: str = "", starter: str = "", by: str) -> Draft:
    """A new drawing: of a part's newest revision, of a starter shape, or of an angle.

    Raises: ShopError `not_found`, `unknown_starter`, `no_material`.
    """
    if part_number:
        part = get_part(session, part_number)
        revision = find_newest_revision(session, part_number)
        first = drawing_of(revision.drawn) if revision else _blank_part(session, starter)
        number = part.number
    else:
        first, number = _blank_part(session, starter), ""
    draft = Draft(
        part_number=number,
        kind="flat" if isinstance(first, DrawnFlatPart) else "profile",
        snapshots=[plain_of_drawing(first)],
        place_count=0,
        made_by=by,
    )
    session.add(draft)
    session.flush()
    return draft


def drawn_now(draft: Draft) -> DrawnPart:
    """The profile as the drawing stands.

    Raises: ShopError `not_a_profile`.
    """
    drawing = drawing_now(draft)
    if isinstance(drawing, DrawnPart):
        return drawing
    raise _other_board("not_a_profile", "This drawing is a flat part.")


def drawn_flat_now(draft: Draft) -> DrawnFlatPart:
    """The flat part as the drawing stands.

    Raises: ShopError `not_a_flat_part`.
    """
    drawing = drawing_now(draft)
    if isinstance(drawing, DrawnFlatPart):
        return drawing
    raise _other_board("not_a_flat_part", "This drawing is a profile.")


def drawing_now(draft: Draft) -> Drawing:
    """The part as the drawing stands, whatever its kind."""
    return drawing_of(draft.snapshots[draft.place_count])


def drawing_of(plain: Mapping[str, Any]) -> Drawing:
    """The drawing that `plain_of_drawing` wrote."""
    return drawn_flat_of(plain) if plain.get("kind") == "flat" else drawn_part_of(plain)


def plain_of_drawing(drawing: Drawing) -> dict[str, Any]:
    """A drawing as plain values, for keeping."""
    return plain_of_flat(drawing) if isinstance(drawing, DrawnFlatPart) else plain_of(drawing)


def change_draft(session: Session, draft_id: int, part: Drawing, *, version: int, by: str) -> Draft:
    """Put a changed shape on the board; what was undone before it is gone.

    Raises: ShopError `not_found`, `edit_conflict`.
    """
    draft = get_draft(session, draft_id)
    need_same_version(draft, version)
    changed = plain_of_drawing(part)
    if changed == draft.snapshots[draft.place_count]:
        return draft
    kept = [*draft.snapshots[: draft.place_count + 1], changed][-MOST_SNAPSHOTS:]
    draft.snapshots, draft.place_count, draft.made_by = kept, len(kept) - 1, by
    session.add(draft)
    session.flush()
    return draft


def step_draft(session: Session, draft_id: int, *, back: bool) -> Draft:
    """Undo or redo one change; at either end nothing happens.

    Raises: ShopError `not_found`.
    """
    draft = get_draft(session, draft_id)
    place = draft.place_count + (-1 if back else 1)
    if 0 <= place < len(draft.snapshots):
        draft.place_count = place
        session.add(draft)
        session.flush()
    return draft


def throw_away_draft(session: Session, draft_id: int) -> None:
    """Throw a drawing away; the part's revisions stay.

    Raises: ShopError `not_found`.
    """
    session.delete(get_draft(session, draft_id))


def _blank_part(session: Session, starter: str) -> Drawing:
    if starter and starter not in STARTERS and starter not in FLAT_STARTERS:
        raise ShopError("unknown_starter", "There is no such shape.", remedy="Choose one shown.")
    materials = list_materials(session)
    if not materials:
        raise ShopError(
            "no_material",
            "There is no material yet.",
            remedy="Add the metal first; its strength decides radius, force and depth.",
        )
    usual = next((row for row in materials if row.family == "steel"), materials[0])
    if starter in FLAT_STARTERS:
        return DrawnFlatPart(flat=FLAT_STARTERS[starter], material_code=usual.code)
    return DrawnPart(profile=STARTERS[starter or "angle"], material_code=usual.code)


def _other_board(code: str, what: str) -> ShopError:
    return ShopError(code, what, remedy="Open it from the list of parts.")
