"""The shop's own numbers: on time, quoted against actual, scrap by cause, first part right, hours."""

import math
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from server.errors import ShopError

NORMAL_95 = 1.959963984540054
"""97.5 % point of the standard normal distribution."""


@dataclass(frozen=True, slots=True)
class FinishedJob:
    """A job that is made. Money in minor units; None where it is not known."""

    job: str
    customer: str
    due: datetime | None
    made_at: datetime
    quoted_min: float | None = None
    actual_min: float | None = None
    price_minor: int | None = None
    quoted_cost_minor: int | None = None
    actual_cost_minor: int | None = None
    good_count: int = 0
    scrap: tuple[tuple[str, int], ...] = ()
    first_part_right: bool | None = None


@dataclass(frozen=True, slots=True)
class Rate:
    """A share of counted cases with its 95 % interval; None of nothing."""

    hits_count: int
    cases_count: int
    low_ratio: float
    high_ratio: float

    @property
    def ratio(self) -> float | None:
        """The share itself."""
        return self.hits_count / self.cases_count if self.cases_count else None


@dataclass(frozen=True, slots=True)
class Cause:
    """One cause of scrap: parts, share of all scrap, share with everything above it."""

    reason: str
    parts_count: int
    share_ratio: float
    cumulative_ratio: float


@dataclass(frozen=True, slots=True)
class QuotedActual:
    """Quoted against actual over several jobs. Margins are shares of the price."""

    jobs_count: int
    quoted_min: float
    actual_min: float
    quoted_margin_ratio: float | None
    actual_margin_ratio: float | None
    lost_minor: int

    @property
    def time_ratio(self) -> float | None:
        """Actual over quoted time."""
        return self.actual_min / self.quoted_min if self.quoted_min else None


def rate(hits_count: int, cases_count: int) -> Rate:
    """A share with Wilson's 95 % score interval, honest with few cases too.

    Formula: (p + z^2/2n -+ z sqrt(p(1-p)/n + z^2/4n^2)) / (1 + z^2/n)

    Args:
        hits_count: cases that were so [count].
        cases_count: all cases [count].

    Returns: a `Rate`; the whole 0 to 1 for no cases.

    Raises: ShopError `more_hits_than_cases`.

    References: E. B. Wilson, Journal of the American Statistical Association 22 (1927) 209-212.

    >>> r = rate(9, 10)
    >>> r.ratio, round(r.low_ratio, 3), round(r.high_ratio, 3)
    (0.9, 0.596, 0.982)
    """
    if not 0 <= hits_count <= cases_count:
        raise ShopError(
            "more_hits_than_cases",
            "There cannot be more of them than of all.",
            remedy="Count again.",
        )
    if cases_count == 0:
        return Rate(0, 0, 0.0, 1.0)
    n, share, z = cases_count, hits_count / cases_count, NORMAL_95
    middle = share + z * z / (2 * n)
    half = z * math.sqrt(share * (1 - share) / n + z * z / (4 * n * n))
    scale = 1 + z * z / n
    low = 0.0 if hits_count == 0 else (middle - half) / scale
    high = 1.0 if hits_count == cases_count else (middle + half) / scale
    return Rate(hits_count, cases_count, low, high)


def on_time_rate(jobs: Iterable[FinishedJob]) -> Rate:
    """Share of jobs made by their due date; jobs without one are left out."""
    dated = [(job.made_at, job.due) for job in jobs if job.due is not None]
    return rate(sum(made <= due for made, due in dated), len(dated))


def first_part_right_rate(jobs: Iterable[FinishedJob]) -> Rate:
    """Share of jobs whose first part was right; jobs where nobody said are left out."""
    told = [job.first_part_right for job in jobs if job.first_part_right is not None]
    return rate(sum(told), len(told))


def by_month(jobs: Iterable[FinishedJob]) -> tuple[tuple[str, tuple[FinishedJob, ...]], ...]:
    """Jobs by the month they were made in, oldest first; months without one are left out.

    References: months are written as ISO 8601-1:2019, 5.2.2.2.
    """
    months: defaultdict[str, list[FinishedJob]] = defaultdict(list)
    for job in jobs:
        months[f"{job.made_at:%Y-%m}"].append(job)
    return tuple((month, tuple(months[month])) for month in sorted(months))


def scrap_causes(jobs: Iterable[FinishedJob]) -> tuple[Cause, ...]:
    """Causes of scrap, the worst first, with running shares (a Pareto list).

    References: J. M. Juran, Quality Control Handbook, McGraw-Hill 1951 (the vital few).
    """
    parts: defaultdict[str, int] = defaultdict(int)
    for job in jobs:
        for reason, count in job.scrap:
            parts[reason] += count
    total = sum(parts.values())
    causes, so_far = [], 0
    for reason, count in sorted(parts.items(), key=lambda item: (-item[1], item[0])):
        if count > 0:
            so_far += count
            causes.append(Cause(reason, count, count / total, so_far / total))
    return tuple(causes)


def quoted_against_actual(jobs: Iterable[FinishedJob]) -> QuotedActual:
    """Times and margins over the jobs for which both sides are known."""
    timed = [job for job in jobs if job.quoted_min is not None and job.actual_min is not None]
    priced = [
        (job.price_minor, job.quoted_cost_minor, job.actual_cost_minor)
        for job in timed
        if job.price_minor
        and job.quoted_cost_minor is not None
        and job.actual_cost_minor is not None
    ]
    price = sum(row[0] for row in priced)
    quoted = sum(row[1] for row in priced)
    actual = sum(row[2] for row in priced)
    return QuotedActual(
        jobs_count=len(timed),
        quoted_min=sum(job.quoted_min or 0.0 for job in timed),
        actual_min=sum(job.actual_min or 0.0 for job in timed),
        quoted_margin_ratio=(price - quoted) / price if price else None,
        actual_margin_ratio=(price - actual) / price if price else None,
        lost_minor=actual - quoted,
    )


def hours_by_customer(jobs: Iterable[FinishedJob]) -> tuple[tuple[str, float], ...]:
    """Hours worked for each customer, the most first [count of hours]."""
    hours: defaultdict[str, float] = defaultdict(float)
    for job in jobs:
        hours[job.customer] += (job.actual_min or 0.0) / 60
    return tuple(sorted(hours.items(), key=lambda item: (-item[1], item[0])))
