"""What a new shop still has to tell before its first part can be bent."""

from dataclasses import dataclass
from typing import Any

from sqlalchemy import func
from sqlmodel import Session, col, select

from server.storage.tables.bend_sequence import BendSequence
from server.storage.tables.brake import Brake
from server.storage.tables.customer import Customer
from server.storage.tables.material import Material
from server.storage.tables.part import Part
from server.storage.tables.tool import Die, Punch


@dataclass(frozen=True, slots=True)
class FirstHour:
    """How much of what the first part needs is there; a tool without a rating may not be loaded."""

    brakes_count: int
    punches_count: int
    dies_count: int
    unrated_count: int
    materials_count: int
    parts_count: int
    customers_count: int


def find_first_hour(session: Session) -> FirstHour | None:
    """What is there and what is missing; None once the first bend sequence is saved.

    One look at one row is all an established shop pays for it.
    """
    if session.exec(select(BendSequence.id).limit(1)).first() is not None:
        return None
    unrated = _count(session, Punch, col(Punch.rating_kn_per_m).is_(None))
    unrated += _count(session, Die, col(Die.rating_kn_per_m).is_(None))
    return FirstHour(
        brakes_count=_count(session, Brake),
        punches_count=_count(session, Punch),
        dies_count=_count(session, Die),
        unrated_count=unrated,
        materials_count=_count(session, Material),
        parts_count=_count(session, Part),
        customers_count=_count(session, Customer),
    )


def _count(session: Session, table: Any, *wishes: Any) -> int:
    query = select(func.count()).select_from(table).where(table.archived_at.is_(None), *wishes)
    return int(session.exec(query).one())
