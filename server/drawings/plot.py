"""Plots of the shop's numbers: bars from zero, shares with their interval, quoted against actual.

Every axis starts at zero and says its unit; every bar and point carries its number in words, so
that nothing has to be read off. Sizes are drawing units: the page scales them.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from server.drawings.svg import GAUGE, GAUGE_FILL, INK, LINE, SHEET, SHEET_FILL, SOFT, Sheet

WIDTH = 160.0
SIZE = 4.6
ROW = 9.0
MOST_POINTS = 400


@dataclass(frozen=True, slots=True)
class Bar:
    """A bar: its label, its length in any unit, and its number in words."""

    label: str
    value: float
    told: str


@dataclass(frozen=True, slots=True)
class ShareBar:
    """A share of counted cases in a time, with its interval; `told` is the count in words."""

    label: str
    share: float | None
    low: float
    high: float
    told: str


@dataclass(frozen=True, slots=True)
class PlotPoint:
    """One job: quoted and actual minutes, and its name."""

    quoted_min: float
    actual_min: float
    label: str


def draw_bars(bars: Sequence[Bar], *, title: str) -> str:
    """Horizontal bars from zero, the longest as wide as there is room."""
    label_width, told_width = WIDTH * 0.36, WIDTH * 0.2
    room = WIDTH - label_width - told_width
    most = max((bar.value for bar in bars), default=0.0) or 1.0
    paper = Sheet(0.0, -ROW * len(bars), WIDTH, ROW * len(bars) or 1.0)
    for row, bar in enumerate(bars):
        middle = -ROW * (row + 0.5)
        paper.text((label_width - 2.0, middle), _short(bar.label), size=SIZE, anchor="end")
        end = label_width + room * bar.value / most
        low, high = middle - ROW * 0.3, middle + ROW * 0.3
        box = ((label_width, low), (end, low), (end, high), (label_width, high))
        paper.polygon(box, fill=SHEET_FILL, line=SHEET, thick=0.3)
        paper.text((end + 2.0, middle), bar.told, size=SIZE, anchor="start", bold=True)
    paper.line((label_width, 0.0), (label_width, -ROW * len(bars)), line=INK, thick=0.5)
    return paper.svg(title=title, role="plot")


def draw_shares(bars: Sequence[ShareBar], *, title: str) -> str:
    """Shares from 0 to 100 % by time, each with the line its true value likely lies on."""
    high, left, foot = 52.0, 14.0, 15.0
    paper = Sheet(0.0, -foot, WIDTH, high + foot + 6.0)
    for percent in (0, 25, 50, 75, 100):
        y = high * percent / 100
        paper.line((left, y), (WIDTH, y), line=LINE, thick=0.15 if percent else 0.5)
        paper.text((left - 2.0, y), f"{percent} %", size=SIZE * 0.85, anchor="end", colour=SOFT)
    each = (WIDTH - left) / max(1, len(bars))
    for place, bar in enumerate(bars):
        x = left + each * (place + 0.5)
        half = min(each * 0.28, 7.0)
        if bar.share is not None:
            top = high * bar.share
            box = ((x - half, 0.0), (x + half, 0.0), (x + half, top), (x - half, top))
            paper.polygon(box, fill=GAUGE_FILL, line=GAUGE, thick=0.3)
            paper.line((x, high * bar.low), (x, high * bar.high), line=INK, thick=0.6)
            for end in (bar.low, bar.high):
                paper.line((x - 1.6, high * end), (x + 1.6, high * end), line=INK, thick=0.6)
        paper.text((x, -5.0), bar.label, size=SIZE * 0.85)
        paper.text((x, -10.5), bar.told, size=SIZE * 0.8, colour=SOFT)
    return paper.svg(title=title, role="plot")


def draw_quoted_actual(points: Sequence[PlotPoint], *, title: str) -> str:
    """Quoted minutes across, actual minutes up, and the line where both are the same."""
    side, left, foot = 92.0, 16.0, 14.0
    shown = points[-MOST_POINTS:]
    most = _round_up(max((max(p.quoted_min, p.actual_min) for p in shown), default=60.0))
    paper = Sheet(0.0, -foot, WIDTH, side + foot + 6.0)
    wide = WIDTH - left - 4.0
    for step in range(5):
        minutes = most * step / 4
        x, y = left + wide * step / 4, side * step / 4
        paper.line((left, y), (left + wide, y), line=LINE, thick=0.5 if step == 0 else 0.15)
        paper.line((x, 0.0), (x, side), line=LINE, thick=0.5 if step == 0 else 0.15)
        paper.text((left - 2.0, y), f"{minutes:g}", size=SIZE * 0.85, anchor="end", colour=SOFT)
        paper.text((x, -4.5), f"{minutes:g}", size=SIZE * 0.85, colour=SOFT)
    paper.line((left, 0.0), (left + wide, side), line=INK, thick=0.4, dash="2 1.5")
    for point in shown:
        x = left + wide * point.quoted_min / most
        y = side * point.actual_min / most
        over = point.actual_min > point.quoted_min
        if over:  # a triangle above the line, a circle below: not by colour alone
            corners = ((x - 1.7, y - 1.2), (x + 1.7, y - 1.2), (x, y + 1.8))
            paper.polygon(corners, fill=SHEET_FILL, line=SHEET, thick=0.4)
        else:
            paper.circle((x, y), 1.5, fill=GAUGE_FILL, line=GAUGE, thick=0.4)
    paper.text((left + wide / 2, -10.5), "quoted, minutes", size=SIZE * 0.9)
    paper.text((3.0, side / 2), "actual, minutes", size=SIZE * 0.9, turn_deg=90.0)
    paper.text(
        (left + wide * 0.16, side * 0.92), "longer than quoted", size=SIZE * 0.9, colour=SOFT
    )
    paper.text((left + wide * 0.84, side * 0.08), "shorter", size=SIZE * 0.9, colour=SOFT)
    return paper.svg(title=title, role="plot")


def _round_up(value: float) -> float:
    """The next of 1, 2, 4, 6, 8 or 10 times a power of ten, so that quarters are round."""
    power = 10.0 ** math.floor(math.log10(max(value, 1.0)))
    return next(step * power for step in (1, 2, 4, 6, 8, 10) if step * power >= value)


def _short(label: str) -> str:
    return label if len(label) <= 22 else label[:21] + "…"
