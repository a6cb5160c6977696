"""Reading and keeping what trials taught, as the formulas see it."""

from typing import Any

from sqlmodel import Session, col, select

from server.errors import ShopError
from server.mechanics.learned_family import (
    BendKey,
    Evidence,
    LearnedBend,
    learned_bend_of_record,
)
from server.storage.tables.learned_bend import LearnedBend as LearnedRow
from server.storage.tables.learned_bend import SetupEvidence

SAME_MM = 1e-6


def list_learned(session: Session, family: str | None = None) -> list[LearnedBend]:
    """What was learned, of one family or of all."""
    query = select(LearnedRow).order_by(
        col(LearnedRow.material_code), col(LearnedRow.thickness_mm), col(LearnedRow.v_opening_mm)
    )
    if family is not None:
        query = query.where(col(LearnedRow.family) == family)
    return [learned_of(row) for row in session.exec(query)]


def learned_of(row: LearnedRow) -> LearnedBend:
    """A stored summary as the formulas see it."""
    return learned_bend_of_record(
        {
            "family": row.family,
            "material_code": row.material_code,
            "thickness_mm": row.thickness_mm,
            "v_opening_mm": row.v_opening_mm,
            "lots": row.lots,
        }
    )


def find_learned_row(session: Session, key: BendKey) -> LearnedRow | None:
    """The row of a metal, thickness and V, or None."""
    query = select(LearnedRow).where(
        col(LearnedRow.material_code) == key.material_code,
        col(LearnedRow.thickness_mm).between(
            key.thickness_mm - SAME_MM, key.thickness_mm + SAME_MM
        ),
        col(LearnedRow.v_opening_mm).between(
            key.v_opening_mm - SAME_MM, key.v_opening_mm + SAME_MM
        ),
    )
    return session.exec(query).first()


def get_or_add_learned_row(session: Session, key: BendKey) -> LearnedRow:
    """The row of a metal, thickness and V; made when there is none."""
    found = find_learned_row(session, key)
    if found is None:
        found = LearnedRow(
            family=key.family,
            material_code=key.material_code,
            thickness_mm=key.thickness_mm,
            v_opening_mm=key.v_opening_mm,
        )
        session.add(found)
        session.flush()
    return found


def find_setup_evidence(
    session: Session, setup_id: int, learned_bend_id: int
) -> SetupEvidence | None:
    """What a set-up gave to a learned bend, or None."""
    return session.get(SetupEvidence, (setup_id, learned_bend_id))


def list_held_back(session: Session) -> list[tuple[SetupEvidence, LearnedRow]]:
    """Set-ups so far from all else that nothing was learned from them."""
    query = (
        select(SetupEvidence, LearnedRow)
        .join(LearnedRow, col(LearnedRow.id) == col(SetupEvidence.learned_bend_id))
        .where(col(SetupEvidence.held_back).is_(True))
        .order_by(col(SetupEvidence.setup_id).desc())
    )
    return [(evidence, row) for evidence, row in session.exec(query)]


def evidence_of(plain: dict[str, Any]) -> Evidence:
    """An evidence as it was kept; nothing for an empty one."""
    if not plain:
        return Evidence()
    first, second, third = (float(value) for value in plain["information"])
    fourth, fifth = (float(value) for value in plain["pull"])
    return Evidence(
        (first, second, third),
        (fourth, fifth),
        int(plain["trials_count"]),
        int(plain["setups_count"]),
    )


def plain_evidence(evidence: Evidence) -> dict[str, Any]:
    """An evidence as plain values."""
    return {
        "information": list(evidence.information),
        "pull": list(evidence.pull),
        "trials_count": evidence.trials_count,
        "setups_count": evidence.setups_count,
    }


def list_learned_rows(session: Session) -> list[LearnedRow]:
    """Every metal, thickness and V trials were made in."""
    query = select(LearnedRow).order_by(
        col(LearnedRow.material_code), col(LearnedRow.thickness_mm), col(LearnedRow.v_opening_mm)
    )
    return list(session.exec(query))


def get_learned_row(session: Session, row_id: int) -> LearnedRow:
    """What was learned of one metal, thickness and V.

    Raises: ShopError `not_found`.
    """
    found = session.get(LearnedRow, row_id)
    if found is None:
        raise ShopError(
            "not_found", "Nothing was learned under that number.", remedy="Take the list anew."
        )
    return found
