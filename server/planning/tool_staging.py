"""Tools along the bed: how long, from which segments, at which stations, with gaps where needed.

From the documents: a tool covers each bend with at most 3 mm missing at each end, keeps 1 mm from
what stands beside it, is made of the fewest segments the shop owns, and stations stand 50 mm apart.
Chosen here: of equally few segments the length nearest the bend's; a tool without listed segments
is cut to any length; stations are set up together when bed and segments allow, else going from one
to another counts as a change of tools; the set-up is centred on the bed with the highest forces in
the middle.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

Span = tuple[float, float]

SHORT_AT_END_MM = 3.0
BESIDE_MM = 1.0
BETWEEN_STATIONS_MM = 50.0
GRID_MM = 0.1


@dataclass(frozen=True, slots=True)
class RunNeed:
    """One unbroken tool a stroke needs: its length from `least_mm` to `most_mm`.

    It has to cover `core_mm` and stay inside `room_mm` (positions along the bend line). The bends
    it serves are `nominal_mm` long.
    """

    least_mm: float
    most_mm: float
    core_mm: Span
    room_mm: Span
    nominal_mm: float


@dataclass(frozen=True, slots=True)
class Assembly:
    """Segments put together."""

    length_mm: float
    segments_mm: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Station:
    """Tools at one place of the bed: runs of the punch and of the die, left to right.

    `offsets_mm` are the starts of the runs from the first; one run for most bends.
    """

    punch_runs: tuple[Assembly, ...]
    die_runs: tuple[Assembly, ...]
    punch_offsets_mm: tuple[float, ...] = (0.0,)
    die_offsets_mm: tuple[float, ...] = (0.0,)

    @property
    def length_mm(self) -> float:
        """From the first tool's start to the last one's end."""
        return max(
            self.punch_offsets_mm[-1] + self.punch_runs[-1].length_mm,
            self.die_offsets_mm[-1] + self.die_runs[-1].length_mm,
        )


class Stock:
    """The lengths a shop can put together from one tool's segments."""

    def __init__(self, segments_mm: Sequence[float], longest_mm: float) -> None:
        self.endless = not segments_mm
        self.longest_mm = longest_mm
        self.segments_mm = tuple(sorted(segments_mm, reverse=True))
        self._left: dict[tuple[float, ...], Stock] = {}
        if not self.endless:
            self._fill()

    def best(self, least_mm: float, most_mm: float, nominal_mm: float) -> Assembly | None:
        """The assembly of fewest segments between two lengths, then nearest to a nominal one."""
        most_mm = min(most_mm, self.longest_mm)
        if self.endless:
            if least_mm > most_mm + 1e-9:
                return None
            length_mm = min(max(nominal_mm, least_mm), most_mm)
            return Assembly(length_mm, (length_mm,))
        first = max(0, math.ceil(least_mm / GRID_MM - 1e-6))
        last = min(len(self._pieces) - 1, math.floor(most_mm / GRID_MM + 1e-6))
        if first > last:
            return None
        pieces = self._pieces[first : last + 1]
        if not np.isfinite(pieces).any():
            return None
        lengths = np.arange(first, last + 1) * GRID_MM
        order = np.lexsort((np.abs(lengths - nominal_mm), pieces))
        return self._assembly(first + int(order[0]))

    def longest(self, least_mm: float, most_mm: float) -> Assembly | None:
        """The longest assembly between two lengths."""
        most_mm = min(most_mm, self.longest_mm)
        if self.endless:
            return self.best(least_mm, most_mm, most_mm)
        first = max(0, math.ceil(least_mm / GRID_MM - 1e-6))
        last = min(len(self._pieces) - 1, math.floor(most_mm / GRID_MM + 1e-6))
        for cell in range(last, first - 1, -1):
            if np.isfinite(self._pieces[cell]):
                return self._assembly(cell)
        return None

    def without(self, used: Assembly) -> "Stock":
        """What is left after taking an assembly."""
        if self.endless:
            return self
        if used.segments_mm not in self._left:
            left = list(self.segments_mm)
            for segment_mm in used.segments_mm:
                left.remove(segment_mm)
            self._left[used.segments_mm] = Stock(left or (0.0,), self.longest_mm)
        return self._left[used.segments_mm]

    def _fill(self) -> None:
        """Fewest segments for every length on a grid, each segment used once."""
        cells = math.floor(self.longest_mm / GRID_MM + 1e-6) + 1
        pieces = np.full(cells, np.inf)
        pieces[0] = 0.0
        self._takes: list[np.ndarray] = []
        for segment_mm in self.segments_mm:
            step = round(segment_mm / GRID_MM)
            takes = np.zeros(cells, dtype=bool)
            if 0 < step < cells:
                with_it = pieces[:-step] + 1.0
                takes[step:] = with_it < pieces[step:]
                pieces = pieces.copy()
                pieces[step:] = np.minimum(pieces[step:], with_it)
            self._takes.append(takes)
        self._pieces = pieces

    def _assembly(self, cell: int) -> Assembly:
        chosen = []
        at = cell
        for segment_mm, takes in zip(
            reversed(self.segments_mm), reversed(self._takes), strict=True
        ):
            if takes[at]:
                chosen.append(segment_mm)
                at -= round(segment_mm / GRID_MM)
        return Assembly(round(math.fsum(chosen), 6), tuple(sorted(chosen, reverse=True)))


def merged(spans: Iterable[Span]) -> list[Span]:
    """Spans joined where they touch, in order."""
    ordered = sorted(spans)
    if len(ordered) < 2:
        return ordered
    found: list[Span] = []
    low, high = ordered[0]
    for start, end in ordered:
        if start <= high:
            high = max(high, end)
        else:
            found.append((low, high))
            low, high = start, end
    found.append((low, high))
    return found


def run_needs(bends: Sequence[Span], blocked: Iterable[Span]) -> tuple[RunNeed, ...] | None:
    """The runs a stroke needs between what stands in the way; None when that is not possible.

    Args:
        bends: extents of the stroke's bends along the line.
        blocked: extents where the tool would meet the part.
    """
    walls = merged((low - BESIDE_MM, high + BESIDE_MM) for low, high in blocked)
    edges = [-math.inf, *(value for wall in walls for value in wall), math.inf]
    rooms = [(edges[i], edges[i + 1]) for i in range(0, len(edges), 2)]
    cores: dict[Span, list[Span]] = {}
    for low, high in sorted(bends):
        short_mm = min(SHORT_AT_END_MM, (high - low) / 2)
        core = (low + short_mm, high - short_mm)
        room = next(
            (room for room in rooms if room[0] <= core[0] + 1e-9 and core[1] <= room[1] + 1e-9),
            None,
        )
        if room is None:
            return None
        cores.setdefault(room, []).append((low, high))
    needs = []
    for room, served in cores.items():
        low, high = served[0][0], max(span[1] for span in served)
        first_short = min(SHORT_AT_END_MM, (served[0][1] - served[0][0]) / 2)
        core = (
            low + first_short,
            max(span[1] - min(SHORT_AT_END_MM, (span[1] - span[0]) / 2) for span in served),
        )
        needs.append(RunNeed(core[1] - core[0], room[1] - room[0], core, room, high - low))
    return tuple(needs)


def fits(need: RunNeed, length_mm: float) -> bool:
    """Whether a run of a length serves a need."""
    return need.least_mm - 1e-6 <= length_mm <= need.most_mm + 1e-6


def run_start(need: RunNeed, length_mm: float) -> float:
    """Where a run begins along the bend line: centred on its bends as far as the room allows."""
    middle = (need.core_mm[0] + need.core_mm[1]) / 2
    start = middle - length_mm / 2
    start = min(max(start, need.core_mm[1] - length_mm), need.core_mm[0])
    return min(max(start, need.room_mm[0]), need.room_mm[1] - length_mm)


def station_for(
    punch: Sequence[RunNeed], die: Sequence[RunNeed], punch_stock: Stock, die_stock: Stock
) -> Station | None:
    """A station made for one stroke's needs, None when the shop has no such segments."""
    made: list[tuple[tuple[Assembly, ...], tuple[float, ...]]] = []
    for needs, stock in ((punch, punch_stock), (die, die_stock)):
        runs = []
        left = stock
        for need in needs:
            run = left.best(need.least_mm, need.most_mm, need.nominal_mm)
            if run is None:
                return None
            runs.append(run)
            left = left.without(run)
        starts = [run_start(need, run.length_mm) for need, run in zip(needs, runs, strict=True)]
        made.append((tuple(runs), tuple(round(start - starts[0], 3) for start in starts)))
    return Station(made[0][0], made[1][0], made[0][1], made[1][1])


def serves(station: Station, punch: Sequence[RunNeed], die: Sequence[RunNeed]) -> bool:
    """Whether a station does for a stroke's needs; several runs have to match one by one."""
    for needs, runs, offsets in (
        (punch, station.punch_runs, station.punch_offsets_mm),
        (die, station.die_runs, station.die_offsets_mm),
    ):
        if len(needs) != len(runs):
            return False
        if not all(fits(need, run.length_mm) for need, run in zip(needs, runs, strict=True)):
            return False
        if len(needs) > 1:
            starts = [run_start(need, run.length_mm) for need, run in zip(needs, runs, strict=True)]
            if any(
                abs(start - starts[0] - offset) > 1.0
                for start, offset in zip(starts, offsets, strict=True)
            ):
                return False
    return True


def all_at_once(
    stations: Sequence[Station], punch_stock: Stock, die_stock: Stock, bed_mm: float
) -> bool:
    """Whether all stations can stand on the bed together, from the segments there are."""
    length_mm = sum(station.length_mm for station in stations)
    length_mm += BETWEEN_STATIONS_MM * max(0, len(stations) - 1)
    if length_mm > bed_mm + 1e-9:
        return False
    for stock, runs in (
        (punch_stock, [run for station in stations for run in station.punch_runs]),
        (die_stock, [run for station in stations for run in station.die_runs]),
    ):
        if stock.endless:
            continue
        left = list(stock.segments_mm)
        for run in runs:
            for segment_mm in run.segments_mm:
                if segment_mm not in left:
                    return False
                left.remove(segment_mm)
    return True


def along_the_bed(stations: Sequence[Station], forces_kn: Sequence[float]) -> tuple[float, ...]:
    """Where each station's middle stands from the middle of the bed [mm].

    The station of the highest force stands in the middle, the others beside it by turns.
    """
    order = sorted(range(len(stations)), key=lambda i: (-forces_kn[i], i))
    row: list[int] = []
    for number, index in enumerate(order):
        if number % 2:
            row.insert(0, index)
        else:
            row.append(index)
    total = sum(station.length_mm for station in stations)
    total += BETWEEN_STATIONS_MM * max(0, len(stations) - 1)
    at = -total / 2
    places = [0.0] * len(stations)
    for index in row:
        length_mm = stations[index].length_mm
        places[index] = at + length_mm / 2
        at += length_mm + BETWEEN_STATIONS_MM
    return tuple(places)
