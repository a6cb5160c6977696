"""What a drawing allows: its general tolerance class, and dimensions marked critical."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace

from server.actions.arrangement import answer_in_time, check_errand
from server.actions.history import keep, need_same_version, picture
from server.actions.planning import Asking
from server.errors import ShopError
from server.geometry.profile import Rear
from server.mechanics.general_tolerance import ToleranceClass
from server.planning.dimension import Dimension, Marked
from server.planning.errand import Checked, CheckErrand
from server.planning.order_check import ChosenStep
from server.storage.database import Session
from server.storage.plain_outcome import plain_dimensions
from server.storage.queries.bend_sequence import (
    get_bend_sequence,
    list_bend_sequences,
    list_steps,
)
from server.storage.queries.tolerance import find_tolerance
from server.storage.tables.tolerance import Tolerance


@dataclass(frozen=True, slots=True)
class Allowed:
    """What a revision's drawing allows."""

    tolerance_class: ToleranceClass = "m"
    marked: tuple[Marked, ...] = ()


def save_allowed(
    asking: Asking, part_number: str, revision_label: str, allowed: Allowed, *, version: int
) -> Tolerance:
    """Keep what the drawing allows, and the dimensions of every sequence worked out with it.

    Raises: ShopError `edit_conflict`, `not_parallel` for faces that are no distance apart, or as
        the check of an order.
    """
    with asking.database.reading() as session:
        _need_version(find_tolerance(session, part_number, revision_label), version)
        errands = _errands(session, part_number, revision_label, allowed, asking)
    found = {number: _dimensions(asking, errand) for number, errand in errands.items()}
    with asking.database.writing() as session:
        row = _save(session, part_number, revision_label, allowed, version, asking.by)
        for number, dimensions in found.items():
            sequence = get_bend_sequence(session, number)
            sequence.dimensions = plain_dimensions(dimensions)
            session.add(sequence)
    return row


def _errands(
    session: Session, part_number: str, revision_label: str, allowed: Allowed, asking: Asking
) -> dict[int, CheckErrand]:
    """The check of every sequence as it was kept, with what the drawing allows now."""
    errands = {}
    for sequence in list_bend_sequences(session, part_number, revision_label):
        number = sequence.id or 0
        steps = list_steps(session, number)
        if sequence.state == "retired" or not steps:
            continue
        chosen = [ChosenStep(s.bends[0], _rear(s.rear), s.punch_code) for s in steps]
        errand = check_errand(session, number, chosen, settings=asking.settings)
        task = replace(errand.task, tolerance_class=allowed.tolerance_class)
        errands[number] = replace(errand, task=task, marked=allowed.marked)
    return errands


def _dimensions(asking: Asking, errand: CheckErrand) -> Sequence[Dimension]:
    outcome = answer_in_time(asking.pool.ask(errand, lane="check"))
    assert isinstance(outcome, Checked)
    if outcome.check.sequence is None:
        raise ShopError(
            "cannot_be_bent",
            "A sequence of this part can no longer be bent with the tools as they are now.",
            remedy="Plan it again, or retire it, then mark the dimensions.",
            where="form",
        )
    return outcome.dimensions


def _save(
    session: Session,
    part_number: str,
    revision_label: str,
    allowed: Allowed,
    version: int,
    by: str,
) -> Tolerance:
    row = find_tolerance(session, part_number, revision_label)
    _need_version(row, version)
    before = picture(row) if row is not None else None
    row = row or Tolerance(part_number=part_number, revision_label=revision_label)
    row.tolerance_class = allowed.tolerance_class
    row.marked = [asdict(one) for one in allowed.marked]
    row.made_by = by
    session.add(row)
    session.flush()
    keep(
        session,
        "changed" if before else "added",
        noun="tolerance",
        key=f"{part_number} {revision_label}",
        by=by,
        before=before,
        after=picture(row),
    )
    return row


def _need_version(row: Tolerance | None, version: int) -> None:
    if row is not None:
        need_same_version(row, version)


def _rear(word: str) -> Rear:
    return "first" if word == "first" else "second"
