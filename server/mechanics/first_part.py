"""What the shop knows: how often the first part was right, and how sure it was, month by month.

Made of first parts as they were: foretold with a band, then measured. Nothing is smoothed.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from server.mechanics.elementary import need_above, need_between
from server.mechanics.learned_bend import NORMAL_95, PROTRACTOR_SD_DEG

RIGHT_WITHIN_DEG = 1.0


@dataclass(frozen=True, slots=True)
class FirstPart:
    """A bend of a set-up's first part: the angle wanted, the band foretold, the angle read."""

    on: date
    wanted_deg: float
    low_deg: float
    high_deg: float
    read_deg: float
    tolerance_deg: float = RIGHT_WITHIN_DEG
    protractor_sd_deg: float = PROTRACTOR_SD_DEG

    @property
    def error_deg(self) -> float:
        """Read less wanted."""
        return self.read_deg - self.wanted_deg

    @property
    def right(self) -> bool:
        """Whether it was within its tolerance."""
        return abs(self.error_deg) <= self.tolerance_deg + 1e-9

    @property
    def width_deg(self) -> float:
        """Width of the band foretold."""
        return self.high_deg - self.low_deg

    @property
    def held(self) -> bool:
        """Whether the reading is where readings were to be expected: band and protractor together.

        The band is the true angle's; what is read scatters by the protractor besides.
        """
        half_deg = math.hypot(self.width_deg / 2, NORMAL_95 * self.protractor_sd_deg)
        return abs(self.read_deg - (self.low_deg + self.high_deg) / 2) <= half_deg


@dataclass(frozen=True, slots=True)
class FirstPartPeriod:
    """The first parts of one month, or of all time.

    `least_share` and `most_share` are the 95 % interval of the rate itself: few parts say little.
    """

    year: int | None
    month: int | None
    parts_count: int
    right_count: int
    least_share: float
    most_share: float
    mean_error_deg: float
    mean_width_deg: float
    held_count: int

    @property
    def right_share(self) -> float:
        """First-part-right rate."""
        return self.right_count / self.parts_count

    @property
    def held_share(self) -> float:
        """Share of readings inside what was foretold; an honest band has about 0.95."""
        return self.held_count / self.parts_count


def share_interval(*, right_count: int, parts_count: int) -> tuple[float, float]:
    """The 95 % interval of a rate seen in a few parts.

    Formula: (p + z^2/2n -+ z sqrt(p(1-p)/n + z^2/4n^2)) / (1 + z^2/n)

    Args:
        right_count: how many were right [count], 0 to the number of parts.
        parts_count: how many parts there were [count], above 0.

    Returns: (least, greatest) rate [ratio].

    Raises: ShopError `out_of_range` outside the stated ranges.

    References: E. B. Wilson, "Probable inference, the law of succession, and statistical
        inference", JASA 22 (1927) 209-212.

    >>> [round(share, 3) for share in share_interval(right_count=8, parts_count=10)]
    [0.49, 0.943]
    """
    need_above("parts_count", float(parts_count), 0.0, "count")
    need_between("right_count", float(right_count), 0.0, float(parts_count), "count")
    share, z = right_count / parts_count, NORMAL_95
    middle = share + z**2 / (2 * parts_count)
    half = z * math.sqrt(share * (1 - share) / parts_count + z**2 / (4 * parts_count**2))
    whole = 1 + z**2 / parts_count
    return max(0.0, (middle - half) / whole), min(1.0, (middle + half) / whole)


def first_parts_by_month(parts: Sequence[FirstPart]) -> tuple[FirstPartPeriod, ...]:
    """The months that had first parts, oldest first."""
    months: dict[tuple[int, int], list[FirstPart]] = {}
    for part in parts:
        months.setdefault((part.on.year, part.on.month), []).append(part)
    return tuple(_period(made, year, month) for (year, month), made in sorted(months.items()))


def first_parts_together(parts: Sequence[FirstPart]) -> FirstPartPeriod | None:
    """All of them as one period, None when there is none."""
    return _period(parts, None, None) if parts else None


def _period(parts: Sequence[FirstPart], year: int | None, month: int | None) -> FirstPartPeriod:
    right = sum(part.right for part in parts)
    least, most = share_interval(right_count=right, parts_count=len(parts))
    return FirstPartPeriod(
        year=year,
        month=month,
        parts_count=len(parts),
        right_count=right,
        least_share=least,
        most_share=most,
        mean_error_deg=math.fsum(abs(part.error_deg) for part in parts) / len(parts),
        mean_width_deg=math.fsum(part.width_deg for part in parts) / len(parts),
        held_count=sum(part.held for part in parts),
    )
