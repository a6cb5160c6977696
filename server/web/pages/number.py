"""The page of the shop's own numbers, and the same numbers as tables."""

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar

from server.drawings.plot import (
    Bar,
    PlotPoint,
    ShareBar,
    draw_bars,
    draw_quoted_actual,
    draw_shares,
)
from server.shop import numbers as rules
from server.shop.money import MINOR_DIGITS, decimal_string
from server.shop.numbers import FinishedJob, QuotedActual, Rate
from server.storage.queries.number import DecidedQuote
from server.web.pages.page import Frame, Page

MOST_BARS = 12
MOST_MONTHS = 12
PERIODS = ((30, "30 days"), (90, "90 days"), (365, "a year"), (0, "all"))
Row = tuple[object, ...]


@dataclass(frozen=True, slots=True)
class Share:
    """A share with its interval, drawn by month."""

    rate: Rate
    picture: str


@dataclass(frozen=True)
class NumberShow(Page):
    """On time, first part right, quoted against actual, scrap, hours, quotes won."""

    template: ClassVar[str] = "number/show.html"
    frame: Frame
    days: int
    periods: tuple[tuple[int, str], ...]
    jobs_count: int
    on_time: Share
    first_right: Share
    times: QuotedActual
    times_picture: str
    causes: tuple[rules.Cause, ...]
    causes_picture: str
    hours: tuple[tuple[str, float], ...]
    hours_picture: str
    quotes: Rate
    lost_reasons: tuple[tuple[str, int], ...]
    lost_picture: str


def number_page(
    frame: Frame,
    jobs: Sequence[FinishedJob],
    decided: Sequence[DecidedQuote],
    *,
    days: int,
) -> NumberShow:
    """The numbers of a period with their pictures."""
    causes = rules.scrap_causes(jobs)
    hours = tuple(row for row in rules.hours_by_customer(jobs) if row[1] > 0)
    lost = lost_reasons(decided)
    times = rules.quoted_against_actual(jobs)
    return NumberShow(
        frame=frame,
        days=days,
        periods=PERIODS,
        jobs_count=len(jobs),
        on_time=_share(jobs, rules.on_time_rate, "Jobs made on time by month"),
        first_right=_share(jobs, rules.first_part_right_rate, "First part right by month"),
        times=times,
        times_picture=_times_picture(jobs) if times.jobs_count else "",
        causes=causes,
        causes_picture=_bars(
            [(one.reason, one.parts_count, f"{one.parts_count}") for one in causes],
            "Scrapped parts by reason",
        ),
        hours=hours,
        hours_picture=_bars(
            [(name, each, f"{each:.1f} h") for name, each in hours], "Brake hours by customer"
        ),
        quotes=rules.rate(sum(one.won for one in decided), len(decided)),
        lost_reasons=lost,
        lost_picture=_bars([(why, n, f"{n}") for why, n in lost], "Lost quotes by reason"),
    )


def lost_reasons(decided: Sequence[DecidedQuote]) -> tuple[tuple[str, int], ...]:
    """Why quotes were lost, the most frequent first."""
    counted = Counter(one.reason or "no reason given" for one in decided if not one.won)
    return tuple(sorted(counted.items(), key=lambda item: (-item[1], item[0])))


def table_of(
    name: str, jobs: Sequence[FinishedJob], decided: Sequence[DecidedQuote], currency: str
) -> tuple[tuple[str, ...], Iterator[Row]] | None:
    """One of the page's tables with its head line; None for a name that is none."""
    digits = MINOR_DIGITS.get(currency, 2)

    def money(minor: int | None) -> str:
        return "" if minor is None else decimal_string(minor, digits=digits)

    tables: dict[str, tuple[tuple[str, ...], Callable[[], Iterator[Row]]]] = {
        "jobs": (
            (
                "job", "customer", "due", "made_at", "on_time", "first_part_right", "quoted_min",
                "actual_min", "price", "quoted_cost", "actual_cost", "currency", "good_count",
                "scrap_count",
            ),
            lambda: (
                (
                    one.job, one.customer, _iso(one.due), _iso(one.made_at),
                    "" if one.due is None else ("yes" if one.made_at <= one.due else "no"),
                    {None: "", True: "yes", False: "no"}[one.first_part_right],
                    _number(one.quoted_min), _number(one.actual_min), money(one.price_minor),
                    money(one.quoted_cost_minor), money(one.actual_cost_minor), currency,
                    one.good_count, sum(count for _, count in one.scrap),
                )
                for one in jobs
            ),
        ),
        "on-time": (_RATE_HEAD, lambda: _months(jobs, rules.on_time_rate)),
        "first-part-right": (_RATE_HEAD, lambda: _months(jobs, rules.first_part_right_rate)),
        "scrap": (
            ("reason", "parts_count", "share", "share_with_those_above"),
            lambda: (
                (one.reason, one.parts_count, _number(one.share_ratio, 3),
                 _number(one.cumulative_ratio, 3))
                for one in rules.scrap_causes(jobs)
            ),
        ),
        "hours": (
            ("customer", "hours"),
            lambda: ((name, _number(each)) for name, each in rules.hours_by_customer(jobs)),
        ),
        "quotes": (
            ("quote", "customer", "decided_at", "won", "reason"),
            lambda: (
                (one.number, one.customer, _iso(one.decided_at), "yes" if one.won else "no",
                 one.reason)
                for one in decided
            ),
        ),
    }  # fmt: skip
    found = tables.get(name)
    return (found[0], found[1]()) if found else None


_RATE_HEAD = ("month", "hits_count", "cases_count", "share", "low_95", "high_95")


def _months(
    jobs: Sequence[FinishedJob], rule: Callable[[Sequence[FinishedJob]], Rate]
) -> Iterator[Row]:
    for month, some in rules.by_month(jobs):
        found = rule(some)
        if found.ratio is not None:
            shares = (found.ratio, found.low_ratio, found.high_ratio)
            yield (month, found.hits_count, found.cases_count, *(_number(s, 3) for s in shares))


def _share(
    jobs: Sequence[FinishedJob],
    rule: Callable[[Sequence[FinishedJob]], Rate],
    title: str,
) -> Share:
    bars = []
    for month, some in rules.by_month(jobs)[-MOST_MONTHS:]:
        one = rule(some)
        told = f"{one.hits_count} of {one.cases_count}"
        label = f"{datetime.strptime(month, '%Y-%m'):%b}"  # noqa: DTZ007 - a month, no moment
        bars.append(ShareBar(label, one.ratio, one.low_ratio, one.high_ratio, told))
    whole = rule(jobs)
    return Share(whole, draw_shares(bars, title=title) if whole.cases_count else "")


def _times_picture(jobs: Sequence[FinishedJob]) -> str:
    points = [
        PlotPoint(job.quoted_min, job.actual_min, job.job)
        for job in jobs
        if job.quoted_min is not None and job.actual_min is not None
    ]
    return draw_quoted_actual(points, title="Quoted and actual minutes at the brake, by job")


def _bars(rows: Sequence[tuple[str, float, str]], title: str) -> str:
    return draw_bars([Bar(*row) for row in rows[:MOST_BARS]], title=title) if rows else ""


def _iso(at: datetime | None) -> str:
    return "" if at is None else at.isoformat(timespec="minutes")


def _number(value: float | None, places: int = 1) -> str:
    return "" if value is None else f"{value:.{places}f}"
