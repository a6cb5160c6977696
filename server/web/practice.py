"""Practices that go on now: each is a house of its own on a copy of the shop's data."""

import secrets
import tempfile
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Generic, TypeVar

from server.errors import ShopError
from server.storage.database import Database
from server.storage.practice import copy_for_practice

MOST_PRACTICES = 8
T = TypeVar("T")


@dataclass
class Practices(Generic[T]):
    """The practices of a running server. They end with it, or when too many newer ones began."""

    make: Callable[[Database], T]
    _going: "OrderedDict[str, tuple[Database, tempfile.TemporaryDirectory[str], T]]" = field(
        default_factory=OrderedDict
    )

    def begin(self, database: Database, *, seed: str = "") -> str:
        """A new practice on a copy of the data as they are now; returns its name."""
        name = secrets.token_hex(6)
        folder = tempfile.TemporaryDirectory(prefix="bendwright-practice-")
        copy = copy_for_practice(database, Path(folder.name), seed=seed or name)
        self._going[name] = (copy, folder, self.make(copy))
        while len(self._going) > MOST_PRACTICES:
            self.end(next(iter(self._going)))
        return name

    def get(self, name: str) -> T:
        """The house of a practice.

        Raises: ShopError `not_found` for one that is over.
        """
        if name not in self._going:
            raise ShopError(
                "not_found",
                "This practice is over.",
                remedy="Nothing of it was kept. Begin a new one, or go back to the brake side.",
            )
        return self._going[name][2]

    def end(self, name: str) -> None:
        """End a practice and throw its copy away."""
        if name in self._going:
            database, folder, _ = self._going.pop(name)
            database.close()
            folder.cleanup()

    def end_all(self) -> None:
        """End every practice; the server stops."""
        for name in list(self._going):
            self.end(name)
