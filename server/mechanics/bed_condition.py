"""What three strips bent left, centre and right at one Y say of the bed: tilt, crown, or only Y."""

import math
from dataclasses import dataclass

from server.errors import Amount, say
from server.findings import Finding
from server.mechanics.elementary import need_above, need_between
from server.mechanics.learned_bend import NORMAL_95, PROTRACTOR_SD_DEG

LOCK_OUT = (
    "Block the ram and lock out the power before reaching between the tools; shim and level only as "
    "the machine's manual says."
)
LOCK_OUT_SOURCE = "OSHA 29 CFR 1910.147 (lock-out); ISO 12100; the machine's manual first"


@dataclass(frozen=True, slots=True)
class BedCondition:
    """Three parts of the angle errors: positive tilt = left more open, positive crown = centre more
    open, positive Y = all open; each as bend angle [deg] and as the height it takes [mm].
    """

    tilt_deg: float
    crown_deg: float
    all_open_deg: float
    tilt_shim_mm: float
    crown_shim_mm: float
    y_deeper_mm: float
    sure_within_deg: float
    findings: tuple[Finding, ...]


def bed_condition(
    *,
    left_deg: float,
    centre_deg: float,
    right_deg: float,
    wanted_deg: float,
    depth_mm_per_deg: float,
    protractor_sd_deg: float = PROTRACTOR_SD_DEG,
) -> BedCondition:
    """Tilt, crown and depth from strips bent left, centre and right at one Y.

    Formula: tilt = right - left; crown = (left + right)/2 - centre; all open = wanted - mean of all;
        shim = angle error x dD/dA; what is within 1.96 x the reading error of each is left alone

    Args:
        left_deg: bend angle of the left strip [deg].
        centre_deg: bend angle of the centre strip [deg].
        right_deg: bend angle of the right strip [deg].
        wanted_deg: bend angle wanted [deg].
        depth_mm_per_deg: slope of travel over angle [mm_per_deg], above 0.
        protractor_sd_deg: standard deviation of one reading [deg], above 0.

    Returns: a `BedCondition`; a smaller bend angle is a more open strip.

    Raises: ShopError `out_of_range` outside the stated ranges.

    References: definition; shim = angle error x sensitivity is common practice, no source.

    >>> bed = bed_condition(left_deg=88.0, centre_deg=90.0, right_deg=92.0, wanted_deg=90.0,
    ...                     depth_mm_per_deg=0.13)
    >>> bed.tilt_deg, round(bed.tilt_shim_mm, 3), [one.code for one in bed.findings]
    (4.0, 0.52, ['bed_tilt'])
    """
    for name, angle_deg in (
        ("left_deg", left_deg),
        ("centre_deg", centre_deg),
        ("right_deg", right_deg),
        ("wanted_deg", wanted_deg),
    ):
        need_between(name, angle_deg, 0.0, 180.0, "deg")
    need_above("depth_mm_per_deg", depth_mm_per_deg, 0.0, "mm_per_deg")
    need_above("protractor_sd_deg", protractor_sd_deg, 0.0, "deg")
    tilt_deg = right_deg - left_deg
    crown_deg = (left_deg + right_deg) / 2 - centre_deg
    open_deg = wanted_deg - (left_deg + centre_deg + right_deg) / 3
    reading_deg = NORMAL_95 * protractor_sd_deg
    found = []
    if abs(tilt_deg) > reading_deg * math.sqrt(2):
        found.append(_tilt(tilt_deg, tilt_deg * depth_mm_per_deg))
    if abs(crown_deg) > reading_deg * math.sqrt(1.5):
        found.append(_crown(crown_deg, crown_deg * depth_mm_per_deg))
    if abs(open_deg) > reading_deg / math.sqrt(3):
        found.append(_depth(open_deg, open_deg * depth_mm_per_deg))
    return BedCondition(
        tilt_deg=tilt_deg,
        crown_deg=crown_deg,
        all_open_deg=open_deg,
        tilt_shim_mm=tilt_deg * depth_mm_per_deg,
        crown_shim_mm=crown_deg * depth_mm_per_deg,
        y_deeper_mm=open_deg * depth_mm_per_deg,
        sure_within_deg=reading_deg * math.sqrt(2),
        findings=tuple(found),
    )


def _tilt(tilt_deg: float, shim_mm: float) -> Finding:
    side = "left" if tilt_deg > 0 else "right"
    return Finding(
        "caution",
        "bed_tilt",
        say(
            "The {side} strip is {angle} more open than the other end: the ram or the bed is tilted.",
            side=side,
            angle=Amount(abs(tilt_deg), "deg"),
        ),
        say(
            "Level ram and bed; between those two places the {side} side lacks {shim} of depth. "
            "{lock_out}",
            side=side,
            shim=Amount(abs(shim_mm), "mm"),
            lock_out=LOCK_OUT,
        ),
        source=LOCK_OUT_SOURCE,
        amount=Amount(abs(shim_mm), "mm"),
    )


def _crown(crown_deg: float, shim_mm: float) -> Finding:
    way = "open" if crown_deg > 0 else "closed"
    more = "raised" if crown_deg > 0 else "lowered"
    return Finding(
        "caution",
        "bed_crown",
        say(
            "The centre strip is {angle} more {way} than the ends: bed and ram bend under load.",
            angle=Amount(abs(crown_deg), "deg"),
            way=way,
        ),
        say(
            "The middle of the die has to be {more} by {shim}. {lock_out}",
            more=more,
            shim=Amount(abs(shim_mm), "mm"),
            lock_out=LOCK_OUT,
        ),
        source=LOCK_OUT_SOURCE,
        amount=Amount(abs(shim_mm), "mm"),
    )


def _depth(open_deg: float, deeper_mm: float) -> Finding:
    return Finding(
        "note",
        "all_open" if open_deg > 0 else "all_closed",
        say(
            "All strips together are {angle} too {way}: that is Y, not the bed.",
            angle=Amount(abs(open_deg), "deg"),
            way="open" if open_deg > 0 else "closed",
        ),
        say(
            "Key Y {amount} {way}.",
            amount=Amount(abs(deeper_mm), "mm"),
            way="deeper" if open_deg > 0 else "shallower",
        ),
        source="shim = angle error x sensitivity (common practice, no source)",
        amount=Amount(deeper_mm, "mm"),
    )
