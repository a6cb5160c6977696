"""Finding a number that was typed, scanned or half remembered, among many thousands."""

from dataclasses import dataclass

from rapidfuzz import fuzz, process, utils
from sqlmodel import Session, col, select

from server.storage.queries.part import PartLine, all_part_names, with_revisions
from server.storage.tables.job import Job
from server.storage.tables.material import Material
from server.storage.tables.part import Part

LIKE_ENOUGH = 62.0


@dataclass(frozen=True, slots=True)
class Found:
    """One hit: what it is, its key, and words beside it."""

    noun: str
    key: str
    words: str
    exact: bool = False


def find_anything(session: Session, text: str, *, limit: int = 12) -> list[Found]:
    """Jobs, parts and materials by number, then by likeness of number and name.

    An exact number comes alone, so that a scanner goes straight there.
    """
    wanted = text.strip().upper()
    if not wanted:
        return []
    exact = _exact(session, wanted)
    if exact:
        return exact
    return _alike(session, text, limit)


def _exact(session: Session, wanted: str) -> list[Found]:
    job = session.get(Job, wanted)
    if job is not None:
        return [Found("job", job.number, job.part_number, exact=True)]
    part = session.get(Part, wanted)
    if part is not None:
        return [Found("part", part.number, part.name, exact=True)]
    material = session.get(Material, wanted)
    if material is not None:
        return [Found("material", material.code, material.name, exact=True)]
    return []


def find_parts_like(session: Session, text: str, *, limit: int) -> list[PartLine]:
    """Parts whose number or name is like a text, the likest first."""
    numbers = [found.key for found in _alike(session, text, limit)]
    rows = session.exec(select(Part).where(col(Part.number).in_(numbers))).all()
    by_number = {row.number: row for row in rows}
    return with_revisions(session, [by_number[number] for number in numbers])


def _alike(session: Session, text: str, limit: int) -> list[Found]:
    parts = all_part_names(session)
    words = [f"{number} {name}" for number, name in parts]
    hits = process.extract(
        text,
        words,
        scorer=fuzz.WRatio,
        processor=utils.default_process,
        limit=limit,
        score_cutoff=LIKE_ENOUGH,
    )
    return [Found("part", parts[index][0], parts[index][1]) for _, _, index in hits]
