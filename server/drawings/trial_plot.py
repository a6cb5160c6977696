"""Plots of what was measured: nothing smoothed, every reading shown, the sure and the unsure alike."""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from server.drawings.svg import GAUGE, GAUGE_FILL, INK, LINE, RED, SHEET, SOFT, Sheet

WIDE, TALL = 640.0, 250.0
TEXT = 13.0
STEPS = (0.02, 0.05, 0.1, 0.2, 0.25, 0.5, 1.0, 2.0, 2.5, 5.0, 10.0, 20.0, 25.0, 50.0)
MOST_LINES = 7
MOST_LABELS = 12


@dataclass(frozen=True, slots=True)
class RatePoint:
    """A rate of one period, with its own 95 % interval, and of how many it is."""

    label: str
    share: float
    least_share: float
    most_share: float
    count: int


@dataclass(frozen=True, slots=True)
class BandPoint:
    """A band foretold and what was read, both less what was wanted; `odd` ones are crosses."""

    label: str
    low: float
    high: float
    read: float
    odd: bool = False


@dataclass(frozen=True, slots=True)
class _Axes:
    """Where values lie on the sheet: x by place in the row, y by value."""

    count: int
    least: float
    most: float

    def x(self, place: int) -> float:
        return (place + 0.5) / max(1, self.count) * WIDE

    def y(self, value: float) -> float:
        clipped = min(self.most, max(self.least, value))
        return (clipped - self.least) / (self.most - self.least) * TALL


def draw_rates(points: Sequence[RatePoint], *, title: str) -> str:
    """How often something was right, period by period, each with the interval few parts allow."""
    axes = _Axes(len(points), 0.0, 1.0)
    sheet = _paper()
    _lines(sheet, axes, 0.25, lambda share: f"{share * 100:.0f} %")
    every = math.ceil(len(points) / MOST_LABELS)
    for place, point in enumerate(points):
        x = axes.x(place)
        low, high = axes.y(point.least_share), axes.y(point.most_share)
        sheet.line((x, low), (x, high), line=GAUGE, thick=2.0)
        for end in (low, high):
            sheet.line((x - 6, end), (x + 6, end), line=GAUGE, thick=2.0)
        sheet.circle((x, axes.y(point.share)), 6.0, fill=SHEET, line=INK, thick=1.2)
        if place % every == 0:
            sheet.text((x, -16.0), point.label, size=TEXT, colour=SOFT)
            sheet.text((x, -34.0), f"{point.count}", size=TEXT, colour=SOFT)
    sheet.text((-8.0, -34.0), "bends", size=TEXT, colour=SOFT, anchor="end")
    return sheet.svg(title=title, role="plot")


def draw_bands(points: Sequence[BandPoint], *, tolerance: float, unit: str, title: str) -> str:
    """What was foretold (bars) and what was read (dots), one after another; 0 is what was wanted."""
    reach = max([tolerance * 1.4, *(max(abs(p.low), abs(p.high), abs(p.read)) for p in points)])
    axes = _Axes(len(points), -reach * 1.05, reach * 1.05)
    sheet = _paper()
    _lines(
        sheet, axes, _step(2 * reach), lambda value: f"{value:+g}{unit}" if value else f"0{unit}"
    )
    for side in (-tolerance, tolerance):
        sheet.line((0.0, axes.y(side)), (WIDE, axes.y(side)), line=INK, thick=1.2, dash="8 5")
    half = min(9.0, WIDE / max(1, len(points)) * 0.32)
    every = math.ceil(len(points) / MOST_LABELS)
    for place, point in enumerate(points):
        x = axes.x(place)
        low, high = axes.y(point.low), axes.y(point.high)
        sheet.polygon(
            ((x - half, low), (x + half, low), (x + half, high), (x - half, high)),
            fill=GAUGE_FILL,
            line=GAUGE,
            thick=0.8,
        )
        if point.odd:
            _cross(sheet, x, axes.y(point.read))
        else:
            sheet.circle((x, axes.y(point.read)), 4.5, fill=SHEET, line=INK, thick=1.0)
        if place % every == 0:
            sheet.text((x, -16.0), point.label, size=TEXT, colour=SOFT)
    return sheet.svg(title=title, role="plot")


def draw_spread(
    values: Sequence[float],
    *,
    middle: float,
    half: float | None,
    told: Callable[[float], str],
    title: str,
) -> str:
    """A few readings along a line, their mean, and how far the mean may be off."""
    reach = max([half or 0.0, *(abs(value - middle) for value in values), 0.02])
    sheet = Sheet(-20.0, -44.0, WIDE + 40.0, 118.0)

    def at(value: float) -> float:
        return WIDE / 2 + (value - middle) / (reach * 1.25) * WIDE / 2

    if half is not None:
        left, right = at(middle - half), at(middle + half)
        sheet.polygon(
            ((left, 8.0), (right, 8.0), (right, 40.0), (left, 40.0)),
            fill=GAUGE_FILL,
            line=GAUGE,
            thick=1.0,
        )
        sheet.text((left, -16.0), told(middle - half), size=20.0, colour=GAUGE)
        sheet.text((right, -16.0), told(middle + half), size=20.0, colour=GAUGE)
    sheet.line((0.0, 24.0), (WIDE, 24.0), line=LINE, thick=1.2)
    sheet.line((at(middle), 0.0), (at(middle), 48.0), line=GAUGE, thick=2.5)
    sheet.text((at(middle), 60.0), told(middle), size=22.0, bold=True)
    for value in values:
        sheet.circle((at(value), 24.0), 7.0, fill=SHEET, line=INK, thick=1.2)
    return sheet.svg(title=title, role="plot")


def _paper() -> Sheet:
    return Sheet(-70.0, -48.0, WIDE + 84.0, TALL + 66.0)


def _lines(sheet: Sheet, axes: _Axes, step: float, told: Callable[[float], str]) -> None:
    for value in _levels(axes, step):
        y = axes.y(value)
        sheet.line((0.0, y), (WIDE, y), line="#d8d2c3", thick=1.6 if value == 0.0 else 0.8)
        sheet.text((-8.0, y), told(value), size=TEXT, colour=SOFT, anchor="end")


def _levels(axes: _Axes, step: float) -> Iterator[float]:
    number = math.ceil(axes.least / step - 1e-9)
    while (value := number * step) <= axes.most + 1e-9:
        yield round(value, 6)
        number += 1


def _step(span: float) -> float:
    return next((step for step in STEPS if span / step <= MOST_LINES), STEPS[-1])


def _cross(sheet: Sheet, x: float, y: float) -> None:
    for way in (-1, 1):
        sheet.line((x - 6, y - 6 * way), (x + 6, y + 6 * way), line=RED, thick=2.5)
