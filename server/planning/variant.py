"""A part in chosen dies, ready to be searched, and what became of it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from server.mechanics.tooling import Punch
from server.planning.bend_way import Fit
from server.planning.making import Making
from server.planning.order import Costs, PlacedStroke
from server.planning.precedence import Later, LaterByRear
from server.planning.profile_strokes import ProfileStrokes
from server.planning.search import Bound, KeepGoing, Progress
from server.planning.sequence import Tests


@dataclass(slots=True)
class Variant:
    """The part in chosen dies, ready to be searched."""

    fits: tuple[Fit, ...]
    making: Making
    tests: Tests
    costs: Costs
    rears: tuple[tuple[int, ...], ...]
    punches: tuple[tuple[Punch, ...], ...]
    usual: bool
    unusual_v_ratio: float
    bound: Bound
    later: Later = ()
    by_rear: LaterByRear = ()

    @property
    def searchable(self) -> bool:
        """Whether every stroke has a punch that nothing blocks by itself."""
        return all(self.punches)


@dataclass(slots=True)
class Attempt:
    """What one variant came to: the best order so far, its costs, and a bound for all of them."""

    variant: Variant
    order: tuple[PlacedStroke, ...] | None = None
    seconds: float = math.inf
    costs: Costs | None = None
    bound_s: float = math.inf
    dead_sets: list[int] = field(default_factory=list)


@dataclass(slots=True)
class Budget:
    """Work left, and who may stop it."""

    left: int
    keep_going: KeepGoing
    stopped: bool = False
    whole: int = field(init=False)

    def __post_init__(self) -> None:
        self.whole = self.left

    def going(self, progress: Progress) -> bool:
        """Ask whoever may stop the work."""
        self.stopped = self.stopped or not self.keep_going(progress)
        return not self.stopped


def prepare_stations(variant: Variant, punches: Sequence[Sequence[Punch]] | None = None) -> None:
    """Stations of a flat part, and what going from one to another costs; nothing for a profile."""
    tests = variant.tests
    if isinstance(tests, ProfileStrokes):
        return
    punches = variant.punches if punches is None else punches
    together = True
    for punch in {punch.name: punch for some in punches for punch in some}.values():
        tests.prepare_stations(punch)
        for stroke in tests.making.strokes:
            tools = f"{punch.name} / {stroke.die.name}"
            together = together and tests.stand_together(tools, punch, stroke)
    handling = tests.task.handling
    station_s = handling.other_station_s if together else handling.change_tools_s
    variant.costs = Costs(replace(handling, other_station_s=station_s), variant.costs.mass_kg)
