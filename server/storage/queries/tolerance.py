"""Reading what a drawing allows: its tolerance class and the dimensions marked on the part."""

from sqlmodel import Session

from server.mechanics.general_tolerance import LINEAR_MM, ToleranceClass
from server.planning.dimension import Marked
from server.storage.tables.tolerance import Tolerance

USUAL_CLASS: ToleranceClass = "m"


def find_tolerance(session: Session, part_number: str, revision_label: str) -> Tolerance | None:
    """What a revision's drawing allows, None where nobody said."""
    return session.get(Tolerance, (part_number, revision_label))


def class_of(row: Tolerance | None) -> ToleranceClass:
    """The class of the general tolerances; medium where nobody said."""
    known = row.tolerance_class if row is not None else USUAL_CLASS
    return next(one for one in LINEAR_MM if one == known)


def marked_of(row: Tolerance | None) -> tuple[Marked, ...]:
    """The dimensions marked on the part."""
    return tuple(Marked(**one) for one in row.marked) if row is not None else ()
