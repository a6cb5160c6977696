"""Finding anything that was typed, scanned or half remembered, among many thousands."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from sqlmodel import Session, col, select

from server.storage.queries.part import PartLine, with_revisions
from server.storage.queries.part_index import find_like
from server.storage.tables.customer import Customer
from server.storage.tables.job import Job
from server.storage.tables.material import Lot, Material
from server.storage.tables.order import Order
from server.storage.tables.part import Part

FLOOR = ("job", "part")
"""What the brake side asks for."""

MOST_BEGINNING = 6
LAST = "\uffff"


@dataclass(frozen=True, slots=True)
class Found:
    """One hit: what it is, its key, and words beside it."""

    noun: str
    key: str
    words: str
    exact: bool = False


def find_anything(
    session: Session, text: str, *, limit: int = 12, nouns: Iterable[str] = FLOOR
) -> list[Found]:
    """What an exact number is, else what begins like a text or is like it.

    An exact number comes alone, so that a scanner goes straight there. `nouns` are the kinds that
    are looked for, in the order they win where one number names two things.
    """
    text = "".join(sign for sign in text if sign.isprintable())  # a zero ends a pattern early
    wanted = text.strip().upper()
    if not wanted:
        return []
    kinds = tuple(nouns)
    exact = next((found for noun in kinds for found in _exact(session, noun, wanted)), None)
    if exact is not None:
        return [exact]
    hits = [hit for noun in kinds for hit in _beginning(session, noun, text.strip())]
    if "part" in kinds:
        hits += _alike(session, text, limit)
    return list({(hit.noun, hit.key): hit for hit in hits}.values())[:limit]


def find_parts_like(session: Session, text: str, *, limit: int) -> list[PartLine]:
    """Parts whose number begins with a text, then those like it in number or name.

    The likeness needs three letters to go by; the first two of a number are enough to begin.
    """
    text = "".join(sign for sign in text if sign.isprintable()).strip()
    if not text:
        return []
    query = select(Part.number).where(
        _begins(Part.number, text.upper()), col(Part.archived_at).is_(None)
    )
    begun = list(session.exec(query.order_by(col(Part.number)).limit(limit)))
    alike = [number for number, _ in find_like(session, text, limit=limit)]
    numbers = list(dict.fromkeys((*begun, *alike)))[:limit]
    rows = session.exec(select(Part).where(col(Part.number).in_(numbers))).all()
    by_number = {row.number: row for row in rows}
    return with_revisions(session, [by_number[one] for one in numbers if one in by_number])


TABLES: dict[str, tuple[Any, Callable[[Any], str]]] = {
    "job": (Job, lambda row: f"{row.quantity_count} × {row.part_number}"),
    "order": (Order, lambda row: row.their_reference),
    "part": (Part, lambda row: row.name),
    "customer": (Customer, lambda row: row.name),
    "lot": (Lot, lambda row: f"{row.material_code} {row.heat_number}".strip()),
    "material": (Material, lambda row: row.name),
}
KEYS = {"customer": "code", "lot": "code", "material": "code"}


def _found(noun: str, row: Any, *, exact: bool = False) -> Found:
    _, words = TABLES[noun]
    return Found(noun, getattr(row, KEYS.get(noun, "number")), words(row), exact=exact)


def _exact(session: Session, noun: str, wanted: str) -> Iterator[Found]:
    table, _ = TABLES[noun]
    row = session.get(table, wanted)
    if row is not None:
        yield _found(noun, row, exact=True)


def _beginning(session: Session, noun: str, text: str) -> Iterator[Found]:
    """Hits by index whose number, reference, heat or name begins with a text."""
    upper = text.upper()
    wishes: dict[str, tuple[Any, ...]] = {
        "job": (_begins(Job.number, upper),),
        "order": (_begins(Order.number, upper), _begins(Order.their_reference, text)),
        "customer": (_contains(Customer.name, text),),
        "lot": (_begins(Lot.code, upper), _begins(Lot.heat_number, text)),
        "material": (_contains(Material.name, text),),
    }
    for wish in wishes.get(noun, ()):
        for row in _rows(session, TABLES[noun][0], wish):
            yield _found(noun, row)


def _rows(session: Session, table: Any, wish: Any) -> Iterable[Any]:
    # asked for in the query, archived_at would be taken for the better index than the wish's own
    rows = session.exec(select(table).where(wish).limit(4 * MOST_BEGINNING))
    return [row for row in rows if row.archived_at is None][:MOST_BEGINNING]


def _begins(column: Any, text: str) -> Any:
    """A range on an index; LIKE would not use it."""
    return col(column).between(text, text + LAST)


def _contains(column: Any, text: str) -> Any:
    """A piece of a name, in tables that stay small."""
    plain = text.replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_")
    return col(column).like(f"%{plain}%", escape="\\")


def _alike(session: Session, text: str, limit: int) -> list[Found]:
    return [Found("part", number, name) for number, name in find_like(session, text, limit=limit)]
