"""Tools along the bed: which segments stand where, to scale, with the gaps left on purpose."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from server.drawings.svg import GAUGE, INK, LINE, RED, SHEET, SOFT, STEEL, STEEL_LINE, Sheet

WIDE = 1000.0
TEXT = 27.0
ROW = 58.0
LEAST_VIEW_MM = 240.0
TICKS_MM = (10.0, 20.0, 25.0, 50.0, 100.0, 200.0, 250.0, 500.0, 1000.0)
MOST_TICKS = 9


@dataclass(frozen=True, slots=True)
class BedRun:
    """Segments that stand together, from where they start, measured from the middle of the bed."""

    start_mm: float
    segments_mm: tuple[float, ...]

    @property
    def end_mm(self) -> float:
        """Where the run ends."""
        return self.start_mm + sum(self.segments_mm)


@dataclass(frozen=True, slots=True)
class BedStation:
    """One station: its number as the steps name it, and its runs of punch and die."""

    number: int
    punch: tuple[BedRun, ...]
    die: tuple[BedRun, ...]

    @property
    def span_mm(self) -> tuple[float, float]:
        """From its first tool's start to its last one's end."""
        runs = (*self.punch, *self.die)
        return min(run.start_mm for run in runs), max(run.end_mm for run in runs)


def draw_bed(
    *, stations: Sequence[BedStation], bed_length_mm: float, told: Callable[[float], str]
) -> str:
    """The whole bed small, and the tools on it large; both to scale along the bed.

    `told` writes a length for the reader, without a unit.
    """
    spans = [station.span_mm for station in stations]
    low_mm, high_mm = min(span[0] for span in spans), max(span[1] for span in spans)
    half_mm = max(LEAST_VIEW_MM, (high_mm - low_mm) * 1.12) / 2
    middle_mm = (low_mm + high_mm) / 2
    sheet = Sheet(-14.0, -70.0, WIDE + 28.0, 352.0)
    _whole_bed(sheet, stations, bed_length_mm, told)
    zoom = _Zoom(middle_mm - half_mm, 2 * half_mm)
    _middle(sheet, zoom)
    for station in stations:
        for runs, low in ((station.punch, ROW + 12.0), (station.die, 0.0)):
            for run in runs:
                _run(sheet, zoom, run, low, told)
        _number(sheet, zoom, station)
    for start_mm, end_mm in gaps_of(stations):
        _gap(sheet, zoom, start_mm, end_mm, told)
    _ruler(sheet, zoom, told)
    return sheet.svg(title="Tools along the bed, from the front", role="bed")


def gaps_of(stations: Sequence[BedStation]) -> tuple[tuple[float, float], ...]:
    """Free lengths between the punch's runs, left to right."""
    runs = sorted(
        (run for station in stations for run in station.punch), key=lambda run: run.start_mm
    )
    return tuple(
        (before.end_mm, after.start_mm)
        for before, after in pairwise(runs)
        if after.start_mm - before.end_mm > 0.05
    )


@dataclass(frozen=True, slots=True)
class _Zoom:
    least_mm: float
    length_mm: float

    def at(self, place_mm: float) -> float:
        return (place_mm - self.least_mm) / self.length_mm * WIDE


def _whole_bed(
    sheet: Sheet,
    stations: Sequence[BedStation],
    bed_length_mm: float,
    told: Callable[[float], str],
) -> None:
    whole = _Zoom(-bed_length_mm / 2, bed_length_mm)
    low, high = 222.0, 246.0
    sheet.polygon(
        ((0.0, low), (WIDE, low), (WIDE, high), (0.0, high)), fill="#e4dfd1", line=LINE, thick=1.5
    )
    for station in stations:
        start_mm, end_mm = station.span_mm
        left = whole.at(start_mm)
        right = max(left + 3.0, whole.at(end_mm))
        sheet.polygon(
            ((left, low), (right, low), (right, high), (left, high)),
            fill=STEEL_LINE,
            line=INK,
            thick=1.0,
        )
    sheet.line((WIDE / 2, low - 6), (WIDE / 2, high + 6), line=GAUGE, thick=2.0, dash="10 4 2 4")
    sheet.text((0.0, 266.0), "left", size=22.0, colour=SOFT, anchor="start")
    sheet.text((WIDE, 266.0), "right", size=22.0, colour=SOFT, anchor="end")
    sheet.text(
        (WIDE / 2, 266.0), f"whole bed {told(bed_length_mm)}", size=22.0, colour=SOFT, halo=True
    )


def _run(sheet: Sheet, zoom: _Zoom, run: BedRun, low: float, told: Callable[[float], str]) -> None:
    at_mm = run.start_mm
    for segment_mm in run.segments_mm:
        left, right = zoom.at(at_mm), zoom.at(at_mm + segment_mm)
        sheet.polygon(
            ((left, low), (right, low), (right, low + ROW), (left, low + ROW)),
            fill=STEEL,
            line=INK,
            thick=2.0,
        )
        words = told(segment_mm)
        upright = right - left < TEXT * 0.62 * len(words)
        if right - left > TEXT * 0.8:
            sheet.text(
                ((left + right) / 2, low + ROW / 2),
                words,
                size=min(TEXT, ROW / (0.62 * len(words))) if upright else TEXT,
                bold=True,
                turn_deg=90.0 if upright else 0.0,
            )
        at_mm += segment_mm


def _number(sheet: Sheet, zoom: _Zoom, station: BedStation) -> None:
    start_mm, end_mm = station.span_mm
    sheet.line((zoom.at(start_mm), ROW + 6), (zoom.at(end_mm), ROW + 6), line=SHEET, thick=6.0)
    at = (zoom.at((start_mm + end_mm) / 2), 2 * ROW + 34.0)
    sheet.text(at, f"station {station.number}", size=TEXT, bold=True, halo=True)


def _gap(
    sheet: Sheet, zoom: _Zoom, start_mm: float, end_mm: float, told: Callable[[float], str]
) -> None:
    left, right = zoom.at(start_mm), zoom.at(end_mm)
    low, high = 0.0, 2 * ROW + 12.0
    if right - left > 2.0:
        sheet.hatched(
            ((left, low), (right, low), (right, high), (left, high)), thick=1.0, apart=14.0
        )
    sheet.text(
        ((left + right) / 2, high + 58.0),
        f"gap {told(end_mm - start_mm)}",
        size=TEXT,
        colour=RED,
        bold=True,
        halo=True,
    )
    sheet.line(((left + right) / 2, high + 42.0), ((left + right) / 2, high), line=RED, thick=1.5)


def _ruler(sheet: Sheet, zoom: _Zoom, told: Callable[[float], str]) -> None:
    sheet.line((0.0, -16.0), (WIDE, -16.0), line=SOFT, thick=1.5)
    for place_mm in _ticks(zoom):
        x = zoom.at(place_mm)
        sheet.line((x, -16.0), (x, -26.0), line=SOFT, thick=1.5)
        words = told(abs(place_mm)) if place_mm else "0"
        sheet.text((x, -46.0), words, size=22.0, colour=SOFT)


def _ticks(zoom: _Zoom) -> Iterator[float]:
    apart_mm = next(
        (step for step in TICKS_MM if zoom.length_mm / step <= MOST_TICKS), TICKS_MM[-1]
    )
    number = int(zoom.least_mm // apart_mm)
    while (place_mm := number * apart_mm) <= zoom.least_mm + zoom.length_mm:
        if 0.02 * WIDE <= zoom.at(place_mm) <= 0.98 * WIDE:
            yield place_mm
        number += 1


def _middle(sheet: Sheet, zoom: _Zoom) -> None:
    x = zoom.at(0.0)
    if 0.0 <= x <= WIDE:
        sheet.line((x, -26.0), (x, 2 * ROW + 18.0), line=GAUGE, thick=2.0, dash="14 5 3 5")
