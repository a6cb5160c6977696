"""Parts by likeness of number and name among many thousands, in a few milliseconds.

The pieces of three letters of every number and name are kept in memory, per database; only parts
whose pieces overlap most with what was typed are compared letter by letter. What was changed since
the last look is read by an index on the time of change.
"""

from collections import defaultdict
from datetime import UTC, datetime, timedelta
from threading import Lock
from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray
from rapidfuzz import fuzz, process, utils
from sqlalchemy import ColumnElement, Engine, func
from sqlmodel import Session, col, select

from server.storage.tables.part import Part

LIKE_ENOUGH = 62.0
MOST_COMPARED = 150
OVERLAP = timedelta(seconds=5)
"""Parts changed so shortly before the last look are read again: clocks are not that exact."""

MOST_LOOSE = 400
NEVER = datetime.min.replace(tzinfo=UTC)
INDEXES: "WeakKeyDictionary[Engine, PartIndex]" = WeakKeyDictionary()


class PartIndex:
    """Every part that is not archived, by the three-letter pieces of its number and name."""

    def __init__(self) -> None:
        self.lock = Lock()
        self.seen_at: datetime | None = None
        self.mark: tuple[object, ...] | None = None
        self.parts: list[tuple[str, str]] = []
        self.words: list[str] = []
        self.postings: dict[str, NDArray[np.int32]] = {}
        self.loose: dict[str, tuple[str, str] | None] = {}

    def refresh(self, session: Session) -> None:
        """Take in what was changed since the last look."""
        if self.seen_at is not None and self._mark(session) == self.mark:
            return
        query = select(
            col(Part.number), col(Part.name), col(Part.archived_at), col(Part.changed_at)
        )
        rows = session.exec(query.where(self._lately())).all()
        known = self.known() if len(rows) + len(self.loose) > MOST_LOOSE else None
        for number, name, archived_at, changed_at in rows:
            entry = None if archived_at is not None else (number, name)
            if known is not None:
                known[number] = entry
            elif self.loose.get(number, ()) != entry:
                self.loose[number] = entry
            self.seen_at = max(self.seen_at or changed_at, changed_at)
        if known is not None:
            self._build([entry for entry in known.values() if entry is not None])
        self.mark = self._mark(session)

    def _lately(self) -> ColumnElement[bool]:
        since = NEVER if self.seen_at is None else self.seen_at - OVERLAP
        return col(Part.changed_at) >= since

    def _mark(self, session: Session) -> tuple[object, ...]:
        """Changes whenever a part does: how many were changed lately, and when the last."""
        query = select(func.count(), func.max(Part.changed_at)).where(self._lately())
        return tuple(session.exec(query).one())

    def known(self) -> dict[str, tuple[str, str] | None]:
        """Every part by its number, as it is known now."""
        return {**{part[0]: part for part in self.parts}, **self.loose}

    def likest(self, text: str, *, limit: int) -> list[tuple[str, str]]:
        """(number, name) of the parts most like a text, the likest first."""
        wanted = utils.default_process(text)
        places = self._overlapping(wanted)
        chosen = [self.parts[place] for place in places if self.parts[place][0] not in self.loose]
        chosen += [entry for entry in self.loose.values() if entry is not None]
        hits = process.extract(
            wanted,
            [utils.default_process(f"{number} {name}") for number, name in chosen],
            scorer=fuzz.WRatio,
            limit=limit,
            score_cutoff=LIKE_ENOUGH,
        )
        return [chosen[index] for _, _, index in hits]

    def _overlapping(self, wanted: str) -> list[int]:
        found = [self.postings[piece] for piece in _pieces(wanted) if piece in self.postings]
        if not found:
            return []
        counts = np.bincount(np.concatenate(found), minlength=len(self.parts))
        most = min(MOST_COMPARED, len(counts))
        best = np.argpartition(counts, -most)[-most:]
        return [int(place) for place in best if counts[place]]

    def _build(self, parts: list[tuple[str, str]]) -> None:
        self.parts, self.loose = parts, {}
        places: dict[str, list[int]] = defaultdict(list)
        for place, (number, name) in enumerate(parts):
            for piece in _pieces(utils.default_process(f"{number} {name}")):
                places[piece].append(place)
        self.postings = {piece: np.array(at, dtype=np.int32) for piece, at in places.items()}


def find_like(session: Session, text: str, *, limit: int) -> list[tuple[str, str]]:
    """(number, name) of the parts most like a text, archived ones left out."""
    engine = session.get_bind()
    if not isinstance(engine, Engine):
        raise TypeError("a session of the shop's database is bound to its engine")
    index = INDEXES.setdefault(engine, PartIndex())
    with index.lock:
        index.refresh(session)
        return index.likest(text, limit=limit)


def _pieces(words: str) -> set[str]:
    """Pieces of three letters, and of two at the beginning of each word.

    >>> sorted(_pieces("br 40"))
    [' 40', ' br', 'br ', 'r 4', 's40', 'sbr']
    """
    padded = f" {' '.join(words.split())}"
    pieces = {padded[at : at + 3] for at in range(len(padded) - 2)}
    return pieces | {f"s{word[:2]}" for word in padded.split()}
