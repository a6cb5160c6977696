"""Tool stations for the strokes of a flat part: chosen before the search, and as it asks for them.

What clears by the documents' 1 mm at each end is clear when clipped to the tools too.
"""

import math
from collections.abc import Callable, Iterable, Sequence

from server.mechanics.tooling import Punch
from server.planning.plan_task import PlanTask
from server.planning.stroke import Stroke
from server.planning.tool_staging import (
    Assembly,
    RunNeed,
    Span,
    Station,
    Stock,
    all_at_once,
    run_needs,
    run_start,
    serves,
    station_for,
)

Needs = tuple[tuple[RunNeed, ...], tuple[RunNeed, ...]]
Runs = tuple[tuple[Span, ...], tuple[Span, ...]]


class PartStaging:
    """The stations of a flat part, by their tools and number."""

    def __init__(self, task: PlanTask) -> None:
        self.task = task
        self.stations_of: dict[str, list[Station]] = {}
        self._stocks: dict[tuple[str, str], Stock] = {}
        self._runs: dict[tuple[tuple[Span, ...], tuple[Span, ...]], tuple[RunNeed, ...] | None] = {}

    def runs(
        self, bends: tuple[Span, ...], blocked: tuple[Span, ...]
    ) -> tuple[RunNeed, ...] | None:
        """`run_needs`, kept: many strokes ask for the same."""
        key = (bends, blocked)
        if key not in self._runs:
            self._runs[key] = run_needs(bends, blocked)
        return self._runs[key]

    def prepare(self, found: Iterable[tuple[Needs, Stroke]], punch: Punch) -> None:
        """Choose stations so that few of them serve all needs.

        Right ends of the intervals first: the narrowest need has the least choice.
        """
        narrow = [
            (needs[0][0].most_mm if len(needs[0]) == 1 else math.inf, stroke.index, needs, stroke)
            for needs, stroke in found
        ]
        for _, _, needs, stroke in sorted(narrow, key=lambda one: one[:2]):
            known = self.known(punch, stroke)
            if any(serves(station, *needs) for station in known):
                continue
            made = self._widest(needs, stroke, punch)
            if made is not None:
                known.append(made)

    def numbers(
        self,
        stroke: Stroke,
        punch: Punch,
        wanted: Sequence[Needs],
        comes_out: Callable[[Station, Needs], bool],
    ) -> tuple[int, ...]:
        """The stations that serve one of some needs and let the part out; a new one if none does."""
        known = self.known(punch, stroke)
        found = tuple(
            i
            for i, station in enumerate(known)
            if any(serves(station, *asked) and comes_out(station, asked) for asked in wanted)
        )
        if found:
            return found
        for asked in wanted:
            made = station_for(*asked, *self._both_stocks(stroke, punch))
            if made is not None and comes_out(made, asked):
                known.append(made)
                return (len(known) - 1,)
        return ()

    def known(self, punch: Punch, stroke: Stroke) -> list[Station]:
        """The stations of a stroke's tools so far."""
        return self.stations_of.setdefault(f"{punch.name} / {stroke.die.name}", [])

    def stand_together(self, tools: str, punch: Punch, stroke: Stroke) -> bool:
        """Whether all stations of a pair of tools can be set up at once."""
        stations = self.stations_of.get(tools, [])
        stocks = self._both_stocks(stroke, punch)
        return all_at_once(stations, *stocks, self.task.brake.bed_length_mm)

    def stock(self, kind: str, name: str, segments_mm: tuple[float, ...]) -> Stock:
        """What can be put together from a tool's segments."""
        key = (kind, name)
        if key not in self._stocks:
            self._stocks[key] = Stock(segments_mm, self.task.brake.bed_length_mm)
        return self._stocks[key]

    def _widest(self, needs: Needs, stroke: Stroke, punch: Punch) -> Station | None:
        punch_stock, die_stock = self._both_stocks(stroke, punch)
        if len(needs[0]) != 1 or len(needs[1]) != 1:
            return station_for(*needs, punch_stock, die_stock)
        upper, lower = needs[0][0], needs[1][0]
        bounded = upper.most_mm < self.task.brake.bed_length_mm
        run = (
            punch_stock.longest(upper.least_mm, min(upper.most_mm, upper.nominal_mm * 2))
            if bounded
            else punch_stock.best(upper.least_mm, upper.most_mm, upper.nominal_mm)
        )
        if run is None:
            return None
        under = die_stock.best(lower.least_mm, lower.most_mm, run.length_mm)
        return None if under is None else Station((run,), (under,))

    def _both_stocks(self, stroke: Stroke, punch: Punch) -> tuple[Stock, Stock]:
        return (
            self.stock("punch", punch.name, punch.segments_mm),
            self.stock("die", stroke.die.name, stroke.die.segments_mm),
        )


def runs_of(station: Station, needs: Needs) -> Runs:
    """Where a station's punch and die lie along the bend line when it serves a stroke's needs."""
    return _placed(needs[0], station.punch_runs), _placed(needs[1], station.die_runs)


def _placed(needs: Sequence[RunNeed], runs: Sequence[Assembly]) -> tuple[Span, ...]:
    starts = [run_start(need, run.length_mm) for need, run in zip(needs, runs, strict=True)]
    return tuple((start, start + run.length_mm) for start, run in zip(starts, runs, strict=True))
