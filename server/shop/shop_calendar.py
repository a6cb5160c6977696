"""When the shop works: shifts by weekday, holidays, extra and closed hours, in the shop's own time.

Times are the clock on the shop's wall: plain datetimes, no offset. The pages convert once, at the
door. A shift that runs through a change of daylight saving time is counted by the wall clock.
"""

from bisect import bisect_right
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta

from server.errors import ShopError, say

Span = tuple[datetime, datetime]
DAY = timedelta(days=1)
MOST_DAYS = 3700
"""How far ahead an opening is looked for; a calendar that stays closed ten years is a mistake."""


@dataclass(frozen=True, slots=True)
class Shift:
    """Working hours of one weekday (1 Monday to 7 Sunday); an end before the start is next day."""

    weekday: int
    start: time
    end: time

    def __post_init__(self) -> None:
        if not 1 <= self.weekday <= 7:
            raise ShopError(
                "no_such_weekday",
                say("There is no weekday {number}.", number=str(self.weekday)),
                remedy="Use 1 for Monday to 7 for Sunday.",
                where="shift.weekday",
            )

    def on(self, day: date) -> Span:
        """The shift's span on a day; equal start and end is the whole day round."""
        start = datetime.combine(day, self.start)
        end = datetime.combine(day, self.end)
        return start, end if end > start else end + DAY


@dataclass(frozen=True, slots=True)
class Holiday:
    """A day on which no shift starts."""

    day: date
    name: str


@dataclass(frozen=True, slots=True)
class ShopCalendar:
    """Shifts of a week, less holidays and closed hours, plus extra hours. Empty means always open.

    `open_hours` are extra (overtime, a Saturday); `closed_hours` win over everything (maintenance).
    """

    shifts: tuple[Shift, ...] = ()
    holidays: tuple[Holiday, ...] = ()
    open_hours: tuple[Span, ...] = ()
    closed_hours: tuple[Span, ...] = ()
    _holiday_days: frozenset[date] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_holiday_days", frozenset(h.day for h in self.holidays))
        for start, end in (*self.open_hours, *self.closed_hours):
            if end <= start:
                raise ShopError(
                    "hours_end_before_start",
                    say("The hours from {start} end at {end}.", start=str(start), end=str(end)),
                    remedy="Exchange the two.",
                    where="calendar",
                )

    @property
    def always_open(self) -> bool:
        """True for the calendar of plain minutes."""
        return not self.shifts and not self.closed_hours

    def spans(self, start: datetime, end: datetime) -> tuple[Span, ...]:
        """The open spans between two times, merged and in order."""
        if not self.shifts:
            opened: list[Span] = [(start, end)]
        else:
            opened = [*self._shift_spans(start, end), *self.open_hours]
        return tuple(_clipped(_without(_merged(opened), self.closed_hours), start, end))

    def working_time(self, start: datetime, end: datetime) -> timedelta:
        """Open time between two times; negative when the end is before the start."""
        if end < start:
            return -self.working_time(end, start)
        return sum((b - a for a, b in self.spans(start, end)), timedelta())

    def finish(self, start: datetime, work: timedelta) -> datetime:
        """When work that begins at `start` is done, pausing while the shop is closed.

        Raises: ShopError `never_open` when the shop does not open for long enough in ten years.
        """
        if self.always_open:
            return start + work
        left = work
        for opened, closed in self._spans_from(start):
            if left <= closed - opened:
                return opened + left
            left -= closed - opened
        raise _never_open(start)

    def next_open(self, at: datetime) -> datetime:
        """The first moment not before `at` when the shop is open.

        Raises: ShopError `never_open`.
        """
        if self.always_open:
            return at
        for opened, _ in self._spans_from(at):
            return opened
        raise _never_open(at)

    def _shift_spans(self, start: datetime, end: datetime) -> Iterator[Span]:
        day = start.date() - DAY
        while day <= end.date():
            if day not in self._holiday_days:
                yield from (s.on(day) for s in self.shifts if s.weekday == day.isoweekday())
            day += DAY

    def _spans_from(self, start: datetime) -> Iterator[Span]:
        """Open spans from a time on, a fortnight at a time, so that near answers are cheap."""
        at, step = start, timedelta(days=14)
        for _ in range(MOST_DAYS // step.days):
            yield from self.spans(at, at + step)
            at += step


ALWAYS_OPEN = ShopCalendar()


def _merged(spans: Iterable[Span]) -> list[Span]:
    merged: list[Span] = []
    for start, end in sorted(spans):
        if merged and start <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(end, merged[-1][1]))
        else:
            merged.append((start, end))
    return merged


def _without(spans: list[Span], closed: Iterable[Span]) -> list[Span]:
    for gap_start, gap_end in closed:
        kept: list[Span] = []
        for start, end in spans:
            if gap_end <= start or gap_start >= end:
                kept.append((start, end))
                continue
            if start < gap_start:
                kept.append((start, gap_start))
            if gap_end < end:
                kept.append((gap_end, end))
        spans = kept
    return spans


def _clipped(spans: Iterable[Span], start: datetime, end: datetime) -> Iterator[Span]:
    for a, b in spans:
        if (low := max(a, start)) < (high := min(b, end)):
            yield low, high


def _never_open(at: datetime) -> ShopError:
    return ShopError(
        "never_open",
        say("After {at} the calendar does not open long enough.", at=at.isoformat(" ", "minutes")),
        remedy="Add shifts, or remove closed hours.",
        where="calendar",
    )


class OpenTime:
    """An axis of microseconds that only runs while the calendar is open, for the planner.

    `open_us(at)` goes from the clock to the axis, `at(open_us)` back, to the earliest moment; with
    `begin=True` to the moment work can start (the next opening rather than the last closing).
    """

    def __init__(self, calendar: ShopCalendar, origin: datetime, horizon: datetime) -> None:
        self.origin = origin
        self._edges: list[int] = []
        self._starts: list[int] = []
        total = 0
        spans = calendar.spans(origin, horizon)
        if not spans:
            raise _never_open(origin)
        for start, end in spans:
            begin = _micros(start - origin)
            self._starts.append(begin)
            self._edges.append(total)
            total += _micros(end - origin) - begin
        self._total = total
        self._last_end = _micros(spans[-1][1] - origin)
        self._ends = [
            start + after - before
            for start, before, after in zip(
                self._starts, self._edges, [*self._edges[1:], total], strict=True
            )
        ]

    @property
    def total_us(self) -> int:
        """Open microseconds up to the horizon."""
        return self._total

    def open_us(self, at: datetime) -> int:
        """Open time from the origin to a time; negative clock time before the origin."""
        clock = _micros(at - self.origin)
        if clock < 0:
            return clock
        if clock >= self._last_end:
            return self._total + clock - self._last_end
        index = bisect_right(self._starts, clock) - 1
        if index < 0:
            return 0
        return self._edges[index] + min(clock, self._ends[index]) - self._starts[index]

    def at(self, open_us: int, *, begin: bool = False) -> datetime:
        """The clock time of a point on the axis."""
        if open_us < 0:
            return self.origin + timedelta(microseconds=open_us)
        if open_us > self._total or (open_us == self._total and not begin):
            return self.origin + timedelta(microseconds=self._last_end + open_us - self._total)
        index = bisect_right(self._edges, open_us) - 1
        if not begin and index > 0 and open_us == self._edges[index]:
            index -= 1
        return self.origin + timedelta(
            microseconds=self._starts[index] + open_us - self._edges[index]
        )


def _micros(span: timedelta) -> int:
    return span // timedelta(microseconds=1)
