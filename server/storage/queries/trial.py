"""Reading trials: bends that were measured and fed back."""

from collections.abc import Sequence

from sqlmodel import Session, col, select

from server.errors import ShopError
from server.storage.tables.setup import Trial

SAME_MM = 1e-6


def get_trial(session: Session, trial_id: int) -> Trial:
    """A trial.

    Raises: ShopError `not_found`.
    """
    found = session.get(Trial, trial_id)
    if found is None:
        raise ShopError("not_found", "There is no such trial.", remedy="Reload the page.")
    return found


def find_trial_by_key(session: Session, request_key: str) -> Trial | None:
    """The trial a device's request made, or None."""
    if not request_key:
        return None
    return session.exec(select(Trial).where(col(Trial.request_key) == request_key)).first()


def list_setup_trials(session: Session, setup_id: int, *, with_undone: bool = False) -> list[Trial]:
    """Trials made on a set-up, oldest first."""
    query = select(Trial).where(col(Trial.setup_id) == setup_id)
    if not with_undone:
        query = query.where(col(Trial.undone).is_(False))
    return list(session.exec(query.order_by(col(Trial.id))))


def list_run_trials(session: Session, run_id: int) -> list[Trial]:
    """Trials made on a run, on whatever set-up, oldest first; undone ones too."""
    query = select(Trial).where(col(Trial.run_id) == run_id).order_by(col(Trial.id))
    return list(session.exec(query))


def list_part_trials(
    session: Session, part_number: str, position: int, *, most: int = 40
) -> list[Trial]:
    """One bend's history over all jobs of its part, newest first."""
    query = (
        select(Trial)
        .where(
            col(Trial.part_number) == part_number,
            col(Trial.position) == position,
            col(Trial.undone).is_(False),
        )
        .order_by(col(Trial.id).desc())
        .limit(most)
    )
    return list(session.exec(query))


def list_foretold_trials(session: Session, *, most: int = 400) -> list[Trial]:
    """The newest trials that were foretold and are believed, oldest first."""
    query = (
        select(Trial)
        .where(
            col(Trial.foretold).is_not(None),
            col(Trial.undone).is_(False),
            col(Trial.outlier).is_(False),
        )
        .order_by(col(Trial.id).desc())
        .limit(most)
    )
    return list(session.exec(query))[::-1]


def list_first_piece_trials(session: Session) -> list[Trial]:
    """Every first reading of a bend on the first part of a set-up, oldest first."""
    query = (
        select(Trial)
        .where(
            col(Trial.first_piece).is_(True),
            col(Trial.undone).is_(False),
            col(Trial.foretold).is_not(None),
        )
        .order_by(col(Trial.id))
    )
    return list(session.exec(query))


def list_bend_trials(
    session: Session,
    *,
    material_code: str,
    thickness_mm: float,
    v_opening_mm: float,
    most: int = 120,
) -> list[Trial]:
    """The newest trials on a metal, nominal thickness and V, oldest first; odd ones among them."""
    query = (
        select(Trial)
        .where(
            col(Trial.material_code) == material_code,
            col(Trial.nominal_thickness_mm).between(thickness_mm - SAME_MM, thickness_mm + SAME_MM),
            col(Trial.v_opening_mm).between(v_opening_mm - SAME_MM, v_opening_mm + SAME_MM),
            col(Trial.undone).is_(False),
        )
        .order_by(col(Trial.id).desc())
        .limit(most)
    )
    return list(session.exec(query))[::-1]


def list_outlier_trials(session: Session, *, most: int = 30) -> list[Trial]:
    """Trials kept but not learned from, newest first."""
    query = (
        select(Trial)
        .where(col(Trial.outlier).is_(True), col(Trial.undone).is_(False))
        .order_by(col(Trial.id).desc())
        .limit(most)
    )
    return list(session.exec(query))


def trials_of_step(trials: Sequence[Trial], position: int) -> list[Trial]:
    """Those of one step."""
    return [trial for trial in trials if trial.position == position]
