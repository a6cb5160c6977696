"""What a person fixes before the planner looks for an order, in the words of the page."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from server.geometry.profile import Rear
from server.planning.plan_task import ShapeBend, Wishes

SideFirst = Literal["", "A", "B"]


@dataclass(frozen=True, slots=True)
class OrderWish:
    """Bends by index, empty where nothing is fixed.

    `side_first` A: every bend made with side A up comes before those made with side B up, so the
    sheet is turned over at most once. `gauge_from` names the half that lies behind the die.
    """

    first_bend: int | None = None
    last_bend: int | None = None
    side_first: SideFirst = ""
    gauge_from: Mapping[int, Rear] = field(default_factory=dict)

    @property
    def empty(self) -> bool:
        """Whether the planner is free in everything."""
        return self == OrderWish()

    def wishes(self, bends: Sequence[ShapeBend]) -> Wishes:
        """What it means for the planner, for a part with these bends."""
        return Wishes(before=tuple(self._before(bends)), gauge_from=dict(self.gauge_from))

    def _before(self, bends: Sequence[ShapeBend]) -> Iterator[tuple[int, int]]:
        every = range(len(bends))
        if self.first_bend is not None:
            yield from ((self.first_bend, bend) for bend in every if bend != self.first_bend)
        if self.last_bend is not None:
            yield from ((bend, self.last_bend) for bend in every if bend != self.last_bend)
        if self.side_first:
            up = [bend for bend in every if (bends[bend].bend_angle_deg > 0) == self._a_first]
            yield from ((bend, other) for bend in up for other in every if other not in up)

    @property
    def _a_first(self) -> bool:
        return self.side_first == "A"
