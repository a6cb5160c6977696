"""Reading bend sequences, their steps, set-ups and what was told to be keyed."""

import json
from dataclasses import dataclass
from typing import Any

from sqlmodel import Session, col, func, select

from server.errors import ShopError
from server.storage.tables.bend_sequence import BendSequence, Step
from server.storage.tables.setup import Setup, SetupStep, Trial


@dataclass(frozen=True, slots=True)
class KeyedStep:
    """A step and, on a set-up, what is keyed for it."""

    step: Step
    keyed: SetupStep | None


def get_bend_sequence(session: Session, sequence_id: int) -> BendSequence:
    """A bend sequence.

    Raises: ShopError `not_found`.
    """
    found = session.get(BendSequence, sequence_id)
    if found is None:
        raise ShopError(
            "not_found",
            "There is no such bend sequence.",
            remedy="Open it from the part's page.",
        )
    return found


def list_bend_sequences(
    session: Session, part_number: str, revision_label: str | None = None
) -> list[BendSequence]:
    """A part's bend sequences, newest first."""
    query = select(BendSequence).where(
        col(BendSequence.part_number) == part_number, col(BendSequence.archived_at).is_(None)
    )
    if revision_label is not None:
        query = query.where(col(BendSequence.revision_label) == revision_label)
    return list(session.exec(query.order_by(col(BendSequence.id).desc())))


def list_steps(session: Session, sequence_id: int) -> list[Step]:
    """The steps of a bend sequence in order."""
    query = (
        select(Step).where(col(Step.bend_sequence_id) == sequence_id).order_by(col(Step.position))
    )
    return list(session.exec(query))


def list_keyed_steps(session: Session, sequence_id: int, setup_id: int | None) -> list[KeyedStep]:
    """The steps in order with what is keyed for each on a set-up, in one query."""
    query = (
        select(Step, SetupStep)
        .join(
            SetupStep,
            (col(SetupStep.position) == col(Step.position))
            & (col(SetupStep.setup_id) == (setup_id if setup_id is not None else -1)),
            isouter=True,
        )
        .where(col(Step.bend_sequence_id) == sequence_id)
        .order_by(col(Step.position))
    )
    return [KeyedStep(step, keyed) for step, keyed in session.exec(query)]


@dataclass(frozen=True, slots=True)
class RunStep:
    """A step on a run: what is keyed for it, and what was tried of it, oldest first."""

    step: Step
    keyed: SetupStep | None
    tries: tuple[dict[str, Any], ...]


def list_run_steps(
    session: Session, sequence_id: int, setup_id: int | None, run_id: int
) -> list[RunStep]:
    """The steps of a run in order with what is keyed and what was tried, in one query."""
    tries = (
        select(
            func.json_group_array(
                func.json_object(
                    "id", Trial.id,
                    "piece", Trial.piece,
                    "y_mm", Trial.y_mm,
                    "x_mm", Trial.x_mm,
                    "bend_angle_deg", Trial.bend_angle_deg,
                    "flange_mm", Trial.flange_mm,
                    "outlier", Trial.outlier,
                    "undone", Trial.undone,
                    "by", Trial.measured_by,
                )
            )
        )
        .where(col(Trial.run_id) == run_id, col(Trial.position) == col(Step.position))
        .correlate(Step)
        .scalar_subquery()
    )  # fmt: skip
    query = (
        select(Step, SetupStep, tries)
        .join(
            SetupStep,
            (col(SetupStep.position) == col(Step.position))
            & (col(SetupStep.setup_id) == (setup_id if setup_id is not None else -1)),
            isouter=True,
        )
        .where(col(Step.bend_sequence_id) == sequence_id)
        .order_by(col(Step.position))
    )
    return [
        RunStep(step, keyed, tuple(sorted(json.loads(made or "[]"), key=lambda one: one["id"])))
        for step, keyed, made in session.exec(query)
    ]


def get_setup(session: Session, setup_id: int) -> Setup:
    """A tool set-up.

    Raises: ShopError `not_found`.
    """
    found = session.get(Setup, setup_id)
    if found is None:
        raise ShopError("not_found", "There is no such set-up.", remedy="Start the job again.")
    return found


def list_setup_steps(session: Session, setup_id: int) -> list[SetupStep]:
    """What is keyed for each step of a set-up, in order."""
    query = select(SetupStep).where(col(SetupStep.setup_id) == setup_id)
    return list(session.exec(query.order_by(col(SetupStep.position))))


def find_last_setup(session: Session, brake_code: str) -> Setup | None:
    """The newest set-up on a brake, or None."""
    query = select(Setup).where(col(Setup.brake_code) == brake_code).order_by(col(Setup.id).desc())
    return session.exec(query.limit(1)).first()
