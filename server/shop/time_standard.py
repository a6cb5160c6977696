"""Estimating times learned from measured ones: a robust mean with its spread, by class of work.

A class starts from the band of common practice; every accepted measured time moves it. What was
measured is never changed: the standard is worked out afresh from the times accepted so far.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from statistics import median
from typing import Literal

from server.errors import Amount, Sentence, ShopError, say
from server.findings import Finding
from server.mechanics.elementary import need_above, need_between
from server.shop.money import decimal_string, exact, rounded_minor

Kind = Literal["bend", "load", "setup", "tool_change", "first_article", "programming"]

HUBER_K = 1.5
MAD_TO_SIGMA = 1.4826
"""Median absolute deviation to standard deviation of a normal distribution, 1/0.6745."""

BAND_WEIGHT = 3.0
"""How many measured times the starting band counts for. Common practice, no source; a setting."""

LEAST_FOR_SPREAD = 5
LOW_SHARE, HIGH_SHARE = 0.1, 0.9
WORTH_TELLING_RATIO = 0.1


@dataclass(frozen=True, slots=True)
class TimeBand:
    """What common practice expects of a class of work, before anything was measured."""

    low_s: float
    high_s: float
    typical_s: float | None = None
    source: str = "common practice, no source"

    def __post_init__(self) -> None:
        need_above("low_s", self.low_s, 0.0, "s")
        need_between("low_s", self.low_s, 0.0, self.high_s, "s")

    @property
    def middle_s(self) -> float:
        """The time to start from: the typical one where it is known."""
        return (self.low_s + self.high_s) / 2 if self.typical_s is None else self.typical_s


@dataclass(frozen=True, slots=True)
class TimeFigure:
    """A time to estimate with: its value, the usual range, and on what it rests."""

    value_s: float
    low_s: float
    high_s: float
    measured_count: int = 0
    source: str = "common practice, no source"

    @property
    def told(self) -> Sentence:
        """The range in words for a quote."""
        if self.measured_count:
            return say(
                "Work like this took {low} to {high}, from {count} measured.",
                low=Amount(self.low_s, "s"),
                high=Amount(self.high_s, "s"),
                count=Amount(self.measured_count, "count"),
            )
        return say(
            "{low} to {high} is usual; nothing measured yet.",
            low=Amount(self.low_s, "s"),
            high=Amount(self.high_s, "s"),
        )


@dataclass(frozen=True, slots=True)
class MeasuredTime:
    """One time from the floor. Only accepted ones teach; `group` is the class within the kind."""

    kind: Kind
    group: str
    seconds_s: float
    accepted: bool = True
    job: str = ""

    def __post_init__(self) -> None:
        need_above("seconds_s", self.seconds_s, 0.0, "s")


@dataclass(frozen=True, slots=True)
class TimeGap:
    """Quoted against actual time of a job, and what the difference costs."""

    quoted_min: float
    actual_min: float
    gap_min: float
    money_minor: int
    told: Sentence


def robust_mean(values: Sequence[float], *, k: float = HUBER_K) -> tuple[float, float]:
    """Huber's M-estimate of location with the median absolute deviation as its scale.

    Formula: fixed point of mu = mean of the values winsorised to mu +- k s, s = 1.4826 MAD

    Args:
        values: the values, at least one.
        k: where winsorising starts, in scales [ratio].

    Returns: location and scale; with no spread about the median, the median and 0.

    Raises: ShopError `nothing_measured` for no values.

    References: P. J. Huber, Robust Statistics, Wiley 1981, sec. 6.4; W. N. Venables, B. D. Ripley,
        Modern Applied Statistics with S, 4th ed., Springer 2002, sec. 5.5.

    >>> robust_mean([10.0, 11.0, 12.0, 13.0, 90.0])[0] < 13
    True
    """
    if not values:
        raise ShopError("nothing_measured", "No time was measured.", remedy="Measure at least one.")
    middle = median(values)
    scale = MAD_TO_SIGMA * median(abs(value - middle) for value in values)
    if scale == 0.0:
        return middle, 0.0
    location = middle
    for _ in range(1000):
        low, high = location - k * scale, location + k * scale
        better = sum(min(max(value, low), high) for value in values) / len(values)
        if abs(better - location) < 1e-12 * scale:
            break
        location = better
    return location, scale


def learned_time(
    *, band: TimeBand, values_s: Sequence[float], band_weight: float = BAND_WEIGHT
) -> TimeFigure:
    """The time to estimate with: the band at first, more and more what was measured.

    Formula: (w b + n m) / (w + n), m = robust mean of the n measured, b = middle of the band

    Args:
        band: what to expect before anything is measured.
        values_s: accepted measured times [s].
        band_weight: measured times the band counts for [ratio].

    Returns: a `TimeFigure`; its range is the 10 to 90 % range of five or more measured times, else
        the band widened to what was seen.

    References: common practice, no source (a weighted mean of prior and measured).

    >>> learned_time(band=TimeBand(10, 20), values_s=[16.0, 17.0, 18.0]).value_s
    16.0
    """
    if not values_s:
        return TimeFigure(band.middle_s, band.low_s, band.high_s, 0, band.source)
    mean, _ = robust_mean(values_s)
    count = len(values_s)
    value = (band_weight * band.middle_s + count * mean) / (band_weight + count)
    if count >= LEAST_FOR_SPREAD:
        low, high = quantile(values_s, LOW_SHARE), quantile(values_s, HIGH_SHARE)
    else:
        low, high = min(band.low_s, *values_s), max(band.high_s, *values_s)
    return TimeFigure(value, min(low, value), max(high, value), count, "measured in this shop")


def quantile(values: Sequence[float], share: float) -> float:
    """A quantile by linear interpolation between the ordered values.

    Formula: value at position (n - 1) share

    Args:
        values: the values, at least one.
        share: 0 for the least, 1 for the most [ratio].

    Returns: the quantile.

    References: R. J. Hyndman, Y. Fan, Sample Quantiles in Statistical Packages, The American
        Statistician 50 (1996) 361-365, definition 7.

    >>> quantile([1.0, 2.0, 3.0, 4.0], 0.5)
    2.5
    """
    ordered = sorted(values)
    position = (len(ordered) - 1) * share
    below = int(position)
    above = min(below + 1, len(ordered) - 1)
    return ordered[below] + (position - below) * (ordered[above] - ordered[below])


def time_standards(
    measured: Iterable[MeasuredTime], bands: Mapping[tuple[Kind, str], TimeBand]
) -> dict[tuple[Kind, str], TimeFigure]:
    """The standard of every class that has a band or an accepted measured time.

    A class without a band takes its first measured times as they are.
    """
    grouped: defaultdict[tuple[Kind, str], list[float]] = defaultdict(list)
    for one in measured:
        if one.accepted:
            grouped[one.kind, one.group].append(one.seconds_s)
    figures = {}
    for key in sorted({*bands, *grouped}):
        values = grouped.get(key, [])
        band = bands.get(key)
        if band is None:
            band = TimeBand(min(values), max(values), robust_mean(values)[0])
        figures[key] = learned_time(band=band, values_s=values)
    return figures


def time_gap(
    *, quoted_min: float, actual_min: float, rate_per_hour: float | Fraction, digits: int = 2
) -> TimeGap:
    """What a job took against what was quoted, in minutes and money.

    Formula: money = round_half_even((actual - quoted) / 60 x rate)

    Args:
        quoted_min: time in the quote [min], 0 or more.
        actual_min: time measured [min], 0 or more.
        rate_per_hour: what an hour costs, in major units.
        digits: digits of the currency's minor unit [count].

    Returns: a `TimeGap`; positive means more time and money than quoted.

    Raises: ShopError `out_of_range` for negative times.

    References: definition.

    >>> str(time_gap(quoted_min=30, actual_min=52, rate_per_hour=60).told)
    'Took 52 min against 30 min quoted: 22 min more, 22.00 lost.'
    """
    need_between("quoted_min", quoted_min, 0.0, 1e7, "min")
    need_between("actual_min", actual_min, 0.0, 1e7, "min")
    gap = exact(actual_min) - exact(quoted_min)
    money = rounded_minor(gap / 60 * exact(rate_per_hour), digits=digits)
    words: dict[str, Amount | str] = {
        "actual": Amount(actual_min, "min"),
        "quoted": Amount(quoted_min, "min"),
        "gap": Amount(float(abs(gap)), "min"),
        "money": decimal_string(abs(money), digits=digits),
    }
    if gap == 0:
        told = say("Took {actual}, as quoted.", actual=words["actual"])
    elif gap > 0:
        told = say("Took {actual} against {quoted} quoted: {gap} more, {money} lost.", **words)
    else:
        told = say("Took {actual} against {quoted} quoted: {gap} less, {money} gained.", **words)
    return TimeGap(quoted_min, actual_min, float(gap), money, told)


def check_standard_change(
    *, name: str, before: TimeFigure, after: TimeFigure
) -> tuple[Finding, ...]:
    """A note where accepted times move a standard enough to change prices."""
    change = after.value_s - before.value_s
    if abs(change) < WORTH_TELLING_RATIO * before.value_s:
        return ()
    return (
        Finding(
            "note",
            "standard_moved",
            say(
                "The estimating time for {name} goes from {before} to {after}: {why}",
                name=name,
                before=Amount(before.value_s, "s"),
                after=Amount(after.value_s, "s"),
                why=str(after.told),
            ),
            say("New quotes use it; quotes already given keep theirs."),
            source=after.source,
            amount=Amount(change, "s"),
        ),
    )
