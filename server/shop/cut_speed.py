"""Cutting speed and pierce time from the shop's own table, by cutter, material and thickness."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from server.errors import Amount, ShopError, say
from server.mechanics.elementary import need_above, need_between

SAME_THICKNESS_MM = 1e-9


@dataclass(frozen=True, slots=True)
class CutSpeed:
    """One row of a cutter's table, as its maker or the shop measured it."""

    cutter: str
    family: str
    thickness_mm: float
    cut_speed_mm_per_s: float
    pierce_s: float

    def __post_init__(self) -> None:
        need_above("thickness_mm", self.thickness_mm, 0.0, "mm")
        need_above("cut_speed_mm_per_s", self.cut_speed_mm_per_s, 0.0, "mm_per_s")
        need_between("pierce_s", self.pierce_s, 0.0, 600.0, "s")


@dataclass(frozen=True, slots=True)
class CutTime:
    """Cutting time of one part and its two parts."""

    moving_s: float
    piercing_s: float
    speed: CutSpeed

    @property
    def total_s(self) -> float:
        """Seconds for one part."""
        return self.moving_s + self.piercing_s


def cut_speed(
    *, table: Iterable[CutSpeed], cutter: str, family: str, thickness_mm: float
) -> CutSpeed:
    """Speed and pierce time at a thickness, between the table's rows, never beyond them.

    Formula: straight line in log(speed) and in pierce time over log(thickness)

    Args:
        table: rows of any cutters and families.
        cutter: the cutter's name.
        family: the material family.
        thickness_mm: sheet thickness [mm], above 0.

    Returns: a `CutSpeed`; a row of the table where the thickness is in it.

    Raises: ShopError `out_of_range`, or `no_cut_speed` when the table has nothing to go by.

    References: common practice, no source; speed falls about as a power of the thickness.

    >>> rows = [CutSpeed("C", "steel", 1.0, 100.0, 0.2), CutSpeed("C", "steel", 4.0, 25.0, 0.8)]
    >>> row = cut_speed(table=rows, cutter="C", family="steel", thickness_mm=2.0)
    >>> round(row.cut_speed_mm_per_s, 6), round(row.pierce_s, 6)
    (50.0, 0.5)
    """
    need_above("thickness_mm", thickness_mm, 0.0, "mm")
    rows = sorted(
        (row for row in table if row.cutter == cutter and row.family == family),
        key=lambda row: row.thickness_mm,
    )
    below = [row for row in rows if row.thickness_mm <= thickness_mm + SAME_THICKNESS_MM]
    above = [row for row in rows if row.thickness_mm >= thickness_mm - SAME_THICKNESS_MM]
    if not below or not above:
        raise ShopError(
            "no_cut_speed",
            say(
                "{cutter} has no cutting speed for {family} of {thickness}.",
                cutter=cutter,
                family=family,
                thickness=Amount(thickness_mm, "mm"),
            ),
            remedy="Add a row for this thickness or a thicker one to the cutter's table.",
            where="thickness_mm",
        )
    low, high = below[-1], above[0]
    if high.thickness_mm - low.thickness_mm <= SAME_THICKNESS_MM:
        return low
    share = math.log(thickness_mm / low.thickness_mm) / math.log(
        high.thickness_mm / low.thickness_mm
    )
    ratio = high.cut_speed_mm_per_s / low.cut_speed_mm_per_s
    return CutSpeed(
        cutter,
        family,
        thickness_mm,
        low.cut_speed_mm_per_s * ratio**share,
        low.pierce_s + (high.pierce_s - low.pierce_s) * share,
    )


def cut_time(*, cut_length_mm: float, pierces_count: int, speed: CutSpeed) -> CutTime:
    """Cutting time of one part.

    Formula: length / speed + pierces x pierce time

    Args:
        cut_length_mm: length of all contours [mm], 0 or more.
        pierces_count: pierces [count], 0 or more.
        speed: the row to cut by.

    Returns: a `CutTime`.

    Raises: ShopError `out_of_range` for a negative length or count.

    References: definition.

    >>> cut_time(cut_length_mm=1200.0, pierces_count=4,
    ...          speed=CutSpeed("C", "steel", 2.0, 50.0, 0.5)).total_s
    26.0
    """
    need_between("cut_length_mm", cut_length_mm, 0.0, 1e9, "mm")
    need_between("pierces", pierces_count, 0, 1e6, "count")
    return CutTime(cut_length_mm / speed.cut_speed_mm_per_s, pierces_count * speed.pierce_s, speed)
