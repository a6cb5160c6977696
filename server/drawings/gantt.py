"""The schedule as bars on the shop's open hours, one row for each resource, in pixels.

Closed hours take no room, so that a night is a thin line and a day's work is what one sees. A bar
tells its job, and by shape and word whether it is late, pinned, hot or running.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from html import escape

from server.drawings.svg import (
    GAUGE,
    GAUGE_FILL,
    INK,
    LINE,
    PAPER,
    RED,
    SHEET,
    SHEET_FILL,
    SOFT,
)

Span = tuple[datetime, datetime]
ROW_PX = 76.0
BAR_PX = 50.0
HEAD_PX = 52.0
GAP_PX = 10.0
LETTER_PX = 7.6
LEAST_UPRIGHT_PX = 13.0
PX_PER_HOUR = {"near": 96.0, "days": 44.0, "weeks": 15.0}
NIGHT = "#e9e4d6"
DAY_LINE = "#b9b2a0"
HOUR_LINE = "#eae5d8"
CHANGE_FILL = "#c3ccd6"
LATE_FILL = "#fce6e7"


@dataclass(frozen=True, slots=True)
class GanttBar:
    """One operation of a job: its row, its times by the wall clock, and how it is told.

    `late` is how late in words, empty in time; `words` is what a screen reader says.
    """

    job_number: str
    position: int
    row: int
    title: str
    under: str
    words: str
    changeover_min: float
    start: datetime
    finish: datetime
    late: str = ""
    pinned: bool = False
    hot: bool = False
    running: bool = False
    before: Span | None = None
    before_row: int = 0


@dataclass(frozen=True, slots=True)
class GanttRow:
    """A resource's name, and the hours it stands still while the shop works."""

    code: str
    name: str
    closed: tuple[Span, ...] = ()


@dataclass(frozen=True, slots=True)
class Axis:
    """From the wall clock to pixels, along open hours only."""

    spans: tuple[Span, ...]
    px_per_hour: float

    def x(self, at: datetime) -> float:
        """Where a moment stands; one in closed hours stands at the next opening."""
        place = 0.0
        day: date | None = None
        for start, end in self.spans:
            if day is not None and start.date() != day:
                place += GAP_PX
            day = start.date()
            if at <= start:
                return place
            if at <= end:
                return place + self._px(at - start)
            place += self._px(end - start)
        return place

    @property
    def width(self) -> float:
        """Of the whole axis."""
        return self.x(self.spans[-1][1]) if self.spans else 0.0

    def pieces(self) -> list[tuple[float, float, str]]:
        """Where each open span begins and ends, and when it begins, for a hand that drags."""
        return [
            (self.x(start), self.x(start) + self._px(end - start), start.isoformat())
            for start, end in self.spans
        ]

    def _px(self, span: timedelta) -> float:
        return span.total_seconds() / 3600 * self.px_per_hour


def draw_gantt(
    axis: Axis, rows: Sequence[GanttRow], bars: Sequence[GanttBar], *, now: datetime, name: str
) -> str:
    """The bars of a plan. Every bar can be reached by keyboard and tells what it is."""
    width, height = axis.width + 2, HEAD_PX + ROW_PX * len(rows)
    parts = [
        *_grid(axis, len(rows)),
        *_still(axis, rows),
        *(_ghost(axis, bar) for bar in bars if bar.before is not None),
        *(_bar(axis, bar) for bar in bars),
        *_now(axis, now, height),
    ]
    pieces = ";".join(f"{a:.1f},{b:.1f},{at}" for a, b, at in axis.pieces())
    codes = ";".join(row.code for row in rows)
    return (
        f'<svg class="gantt" xmlns="http://www.w3.org/2000/svg" width="{width:.0f}" '
        f'height="{height:.0f}" viewBox="0 0 {width:.0f} {height:.0f}" role="group" '
        f'aria-label="{escape(name)}" data-pieces="{pieces}" data-rows="{escape(codes)}" '
        f'data-head="{HEAD_PX:.0f}" data-row="{ROW_PX:.0f}" data-hour="{axis.px_per_hour:g}">{_hatches()}{"".join(parts)}</svg>'
    )


def _hatches() -> str:
    return (
        '<defs><pattern id="late-hatch" width="7" height="7" patternUnits="userSpaceOnUse" '
        f'patternTransform="rotate(45)"><rect width="7" height="7" fill="{LATE_FILL}"/>'
        f'<path d="M0 0V7" stroke="{RED}" stroke-width="1.4" opacity="0.45"/></pattern>'
        '<pattern id="still-hatch" width="9" height="9" patternUnits="userSpaceOnUse" '
        f'patternTransform="rotate(-45)"><rect width="9" height="9" fill="{NIGHT}"/>'
        f'<path d="M0 0V9" stroke="{LINE}" stroke-width="1.5"/></pattern></defs>'
    )


def _grid(axis: Axis, rows: int) -> list[str]:
    """Days in words above, hours below them, a line between rows."""
    parts: list[str] = []
    bottom = HEAD_PX + ROW_PX * rows
    day: date | None = None
    for start, end in axis.spans:
        x = axis.x(start)
        if start.date() != day:
            day = start.date()
            if x:
                parts.append(_rect(x - GAP_PX, 0, GAP_PX, bottom, NIGHT))
            parts.append(_text(x + 4, 16, f"{day:%a} {day.day} {day:%b}", size=15, bold=True))
        parts += _hours(axis, start, end, bottom)
    parts += [
        _line(0, HEAD_PX + ROW_PX * row, axis.width, HEAD_PX + ROW_PX * row, DAY_LINE)
        for row in range(rows + 1)
    ]
    return parts


def _hours(axis: Axis, start: datetime, end: datetime, bottom: float) -> list[str]:
    step = 1 if axis.px_per_hour >= 60 else 2 if axis.px_per_hour >= 30 else 4
    parts = []
    hour = start.replace(minute=0, second=0, microsecond=0)
    while hour < end:
        if hour >= start:
            x = axis.x(hour) if hour > start else axis.x(start)
            parts.append(_line(x, HEAD_PX - 8, x, bottom, HOUR_LINE))
            if hour.hour % step == 0 and axis.px_per_hour >= 20:
                parts.append(_text(x + 3, HEAD_PX - 14, f"{hour.hour}", size=12, colour=SOFT))
        hour += timedelta(hours=1)
    return parts


def _still(axis: Axis, rows: Sequence[GanttRow]) -> list[str]:
    parts = []
    for number, row in enumerate(rows):
        for start, end in row.closed:
            left, right = axis.x(start), axis.x(end)
            if right - left > 1:
                y = HEAD_PX + ROW_PX * number + 2
                parts.append(_rect(left, y, right - left, ROW_PX - 4, "url(#still-hatch)"))
                if right - left > 90:
                    parts.append(_text(left + 8, y + 14, "stands still", size=12, colour=SOFT))
    return parts


def _ghost(axis: Axis, bar: GanttBar) -> str:
    """Where it stood on the wall."""
    assert bar.before is not None
    left, right = axis.x(bar.before[0]), axis.x(bar.before[1])
    y = HEAD_PX + ROW_PX * bar.before_row + (ROW_PX - BAR_PX) / 2
    return (
        f'<rect x="{left:.1f}" y="{y:.1f}" width="{max(right - left, 3):.1f}" height="{BAR_PX}" '
        f'rx="4" fill="none" stroke="{SOFT}" stroke-width="1.5" stroke-dasharray="5 4"/>'
    )


def _bar(axis: Axis, bar: GanttBar) -> str:
    left, right = axis.x(bar.start), axis.x(bar.finish)
    width = max(right - left, 4.0)
    y = HEAD_PX + ROW_PX * bar.row + (ROW_PX - BAR_PX) / 2
    fill, line = SHEET_FILL, SHEET
    if bar.late:
        fill, line = "url(#late-hatch)", RED
    elif bar.running:
        fill, line = GAUGE_FILL, GAUGE
    thick = 3 if bar.late or bar.pinned or bar.hot else 1.5
    changing = bar.changeover_min / 60 * axis.px_per_hour
    parts = []
    if changing > 1 and not bar.running:
        parts.append(_changeover(left - changing, left, y))
    parts.append(
        f'<rect class="body" x="{left:.1f}" y="{y:.1f}" width="{width:.1f}" height="{BAR_PX}" '
        f'rx="4" fill="{fill}" stroke="{line}" stroke-width="{thick}"/>'
    )
    kinds = "".join(
        f" {kind}"
        for kind, yes in (("late", bar.late), ("pinned", bar.pinned), ("running", bar.running))
        if yes
    )
    words = escape(bar.words)
    return (
        f'<g class="bar{kinds}" data-job="{escape(bar.job_number)}" '
        f'data-position="{bar.position}" data-row="{bar.row}" data-x="{left:.1f}">'
        f'<g class="hold" tabindex="0" role="button" aria-label="{words}">'
        f"<title>{words}</title>{''.join(parts)}</g>"
        f'<g aria-hidden="true" pointer-events="none">{"".join(_words(bar, left, width, y))}</g></g>'
    )


def _changeover(left: float, right: float, y: float) -> str:
    """The set-up before a bar: a low grey wedge that is no work."""
    low = y + BAR_PX
    return (
        f'<path d="M{left:.1f} {low:.1f}L{right:.1f} {low - BAR_PX * 0.6:.1f}V{low:.1f}Z" '
        f'fill="{CHANGE_FILL}" stroke="{SOFT}" stroke-width="1"/>'
    )


def _words(bar: GanttBar, left: float, width: float, y: float) -> list[str]:
    """Number, what it is, and its marks, as far as they fit in the bar."""
    marks = [
        mark
        for mark, yes in (
            ("▶", bar.running),
            ("◆", bar.pinned),
            ("▲ hot", bar.hot),
            (f"■ {bar.late}", bool(bar.late)),
        )
        if yes
    ]
    title = _fitting(bar.title, width - 12)
    under = _fitting(" ".join(marks) or bar.under, width - 12)
    colour = RED if bar.late else INK
    if not title:
        return _words_upright(bar, left, width, y, colour, marks)
    return [
        _text(left + 7, y + 17, title, size=14, colour=colour, bold=True),
        _text(left + 7, y + 36, under, size=12, colour=colour, bold=bool(marks)),
    ]


def _words_upright(
    bar: GanttBar, left: float, width: float, y: float, colour: str, marks: Sequence[str]
) -> list[str]:
    """In a narrow bar the number stands on end, and its first mark above."""
    parts = []
    if marks:
        parts.append(_text(left + 1, y - 6, marks[0][0], size=12, colour=colour, bold=True))
    if width >= LEAST_UPRIGHT_PX and len(bar.title) * LETTER_PX <= BAR_PX + 4:
        x, middle = left + width / 2, y + BAR_PX / 2
        parts.append(
            f'<text x="{x:.1f}" y="{middle:.1f}" dy="0.35em" font-size="12" font-weight="700" '
            f'fill="{colour}" text-anchor="middle" transform="rotate(-90 {x:.1f} {middle:.1f})">'
            f"{escape(bar.title)}</text>"
        )
    return parts


def _fitting(words: str, width: float) -> str:
    room = int(width / LETTER_PX)
    if len(words) <= room:
        return words
    return "" if room < 7 else f"{words[: room - 1]}…"


def _now(axis: Axis, now: datetime, height: float) -> list[str]:
    if not axis.spans or now < axis.spans[0][0]:
        return []
    x = axis.x(now)
    return [
        f'<path d="M{x:.1f} {HEAD_PX - 22:.1f}V{height:.1f}" stroke="{GAUGE}" stroke-width="2.5"/>',
        _rect(x, HEAD_PX - 24, 36, 18, GAUGE),
        _text(x + 5, HEAD_PX - 15, "now", size=12, colour=PAPER, bold=True),
    ]


def _rect(x: float, y: float, width: float, height: float, fill: str) -> str:
    return (
        f'<rect x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="{height:.1f}" fill="{fill}"/>'
    )


def _line(x1: float, y1: float, x2: float, y2: float, line: str) -> str:
    return f'<path d="M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}" stroke="{line}" stroke-width="1"/>'


def _text(
    x: float, y: float, words: str, *, size: int, colour: str = INK, bold: bool = False
) -> str:
    weight = ' font-weight="700"' if bold else ""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" dy="0.35em" font-size="{size}" '
        f'fill="{colour}"{weight}>{escape(words)}</text>'
    )
