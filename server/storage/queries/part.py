"""Reading parts, revisions and drafts."""

from dataclasses import dataclass

from sqlalchemy import func, or_
from sqlmodel import Session, col, select

from server.errors import ShopError, say
from server.storage.tables.bend_sequence import BendSequence
from server.storage.tables.part import Draft, Part, Revision


@dataclass(frozen=True, slots=True)
class PartLine:
    """One line of the list of parts: the part and its newest revision."""

    part: Part
    revision: Revision | None


def find_part(session: Session, number: str) -> Part | None:
    """The part with a number, or None."""
    return session.get(Part, number)


def get_part(session: Session, number: str) -> Part:
    """The part with a number.

    Raises: ShopError `not_found`.
    """
    found = find_part(session, number)
    if found is None:
        raise ShopError(
            "not_found",
            say("There is no part '{number}'.", number=number),
            remedy="Look at the list of parts, or draw it.",
            where="part_number",
        )
    return found


def get_revision(session: Session, number: str, label: str) -> Revision:
    """One revision of a part.

    Raises: ShopError `not_found`.
    """
    found = session.get(Revision, (number, label))
    if found is None:
        raise ShopError(
            "not_found",
            say("Part {number} has no revision '{label}'.", number=number, label=label),
            remedy="Choose one from the part's page.",
            where="revision_label",
        )
    return found


def list_revisions(session: Session, number: str) -> list[Revision]:
    """A part's revisions, newest first."""
    query = (
        select(Revision)
        .where(col(Revision.part_number) == number)
        .order_by(col(Revision.made_at).desc(), col(Revision.label).desc())
    )
    return list(session.exec(query))


def find_newest_revision(session: Session, number: str) -> Revision | None:
    """A part's newest revision, or None."""
    query = (
        select(Revision)
        .where(col(Revision.part_number) == number)
        .order_by(col(Revision.made_at).desc(), col(Revision.label).desc())
        .limit(1)
    )
    return session.exec(query).first()


def list_part_lines(session: Session, *, limit: int = 100, skip: int = 0) -> list[PartLine]:
    """Parts with their newest revision, changed last first."""
    parts = list(
        session.exec(
            select(Part)
            .where(col(Part.archived_at).is_(None))
            .order_by(col(Part.changed_at).desc(), col(Part.number).desc())
            .offset(skip)
            .limit(limit)
        )
    )
    return with_revisions(session, parts)


def with_revisions(session: Session, parts: list[Part]) -> list[PartLine]:
    """Parts with their newest revision, in the same order, in one more query."""
    if not parts:
        return []
    newest = (
        select(Revision)
        .where(
            col(Revision.part_number).in_([part.number for part in parts]),
            col(Revision.superseded_at).is_(None),
        )
        .order_by(col(Revision.made_at))
    )
    by_number = {revision.part_number: revision for revision in session.exec(newest)}
    return [PartLine(part, by_number.get(part.number)) for part in parts]


def count_parts(session: Session) -> int:
    """How many parts are not archived."""
    query = select(func.count()).select_from(Part).where(col(Part.archived_at).is_(None))
    return session.exec(query).one()


def parts_without_sequence(session: Session, *, limit: int) -> list[Part]:
    """Parts whose newest revision has no bend sequence yet, changed last first."""
    has_sequence = (
        select(BendSequence.id)
        .where(
            col(BendSequence.part_number) == col(Revision.part_number),
            col(BendSequence.revision_label) == col(Revision.label),
        )
        .exists()
    )
    query = (
        select(Part)
        .join(Revision, col(Revision.part_number) == col(Part.number))
        .where(
            col(Part.archived_at).is_(None), col(Revision.superseded_at).is_(None), ~has_sequence
        )
        .order_by(col(Part.changed_at).desc())
        .limit(limit)
    )
    return list(session.exec(query))


def get_draft(session: Session, draft_id: int) -> Draft:
    """A draft.

    Raises: ShopError `not_found`.
    """
    found = session.get(Draft, draft_id)
    if found is None:
        raise ShopError(
            "not_found",
            "This drawing was saved or thrown away.",
            remedy="Look at the part, or start a new drawing.",
        )
    return found


def list_drafts(session: Session) -> list[Draft]:
    """Drawings in progress, changed last first."""
    return list(session.exec(select(Draft).order_by(col(Draft.changed_at).desc()).limit(20)))


def parts_starting_with(session: Session, text: str, *, limit: int = 20) -> list[Part]:
    """Parts whose number or name begins with a text; quick, by index."""
    like = text.replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_") + "%"
    query = (
        select(Part)
        .where(
            col(Part.archived_at).is_(None),
            or_(
                col(Part.number).like(like.upper(), escape="\\"),
                col(Part.name).like(like, escape="\\"),
            ),
        )
        .order_by(col(Part.number))
        .limit(limit)
    )
    return list(session.exec(query))
