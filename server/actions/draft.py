"""The drawing board: every change a snapshot, undone and redone at will."""

from server.actions.history import need_same_version
from server.errors import ShopError
from server.planning.drawn_part import STARTERS, DrawnPart, drawn_part_of, plain_of
from server.storage.database import Session
from server.storage.queries.material import list_materials
from server.storage.queries.part import find_newest_revision, get_draft, get_part
from server.storage.tables.part import Draft

MOST_SNAPSHOTS = 200


def start_draft(session: Session, *, part_number: str = "", starter: str = "", by: str) -> Draft:
    """A new drawing: of a part's newest revision, of a starter shape, or of an angle.

    Raises: ShopError `not_found`, `unknown_starter`, `no_material`.
    """
    if part_number:
        part = get_part(session, part_number)
        revision = find_newest_revision(session, part_number)
        first = drawn_part_of(revision.drawn) if revision else _blank_part(session, starter)
        number = part.number
    else:
        first, number = _blank_part(session, starter), ""
    draft = Draft(
        part_number=number, kind="profile", snapshots=[plain_of(first)], place_count=0, made_by=by
    )
    session.add(draft)
    session.flush()
    return draft


def drawn_now(draft: Draft) -> DrawnPart:
    """The part as the drawing stands."""
    return drawn_part_of(draft.snapshots[draft.place_count])


def change_draft(
    session: Session, draft_id: int, part: DrawnPart, *, version: int, by: str
) -> Draft:
    """Put a changed shape on the board; what was undone before it is gone.

    Raises: ShopError `not_found`, `edit_conflict`.
    """
    draft = get_draft(session, draft_id)
    need_same_version(draft, version)
    changed = plain_of(part)
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


def _blank_part(session: Session, starter: str) -> DrawnPart:
    if starter and starter not in STARTERS:
        raise ShopError("unknown_starter", "There is no such shape.", remedy="Choose one shown.")
    materials = list_materials(session)
    if not materials:
        raise ShopError(
            "no_material",
            "There is no material yet.",
            remedy="Add the metal first; its strength decides radius, force and depth.",
        )
    usual = next((row for row in materials if row.family == "steel"), materials[0])
    return DrawnPart(profile=STARTERS[starter or "angle"], material_code=usual.code)
