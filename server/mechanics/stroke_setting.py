"""Stroke settings of a set-up: where the ram stops on top and where it slows down.

These are set by hand on many brakes and must be set again when thickness or tool heights change.
The machine's manual comes first in every case.
"""

from dataclasses import dataclass

from server.errors import Amount, say
from server.findings import Finding
from server.mechanics.elementary import need_above, need_between

SPEED_CHANGE_ABOVE_SHEET_MM = 4.0
LOADING_ROOM_MM = 20.0
MUTE_OPENING_MM = 6.0
SLOW_CLOSING_MM_PER_S = 10.0
"""Speed change 3 to 6 mm above the sheet, loading room 12 to 25 mm: common practice, no source.
6 mm is the largest opening at which a guard may be muted, 10 mm/s the fastest slow closing speed:
EN 12622:2009+A1:2013, from memory. All are shop settings; the machine's manual comes first."""


@dataclass(frozen=True, slots=True)
class StrokeSetting:
    """Heights of the punch tip above the die top plane, and of the ram above the bed [mm]."""

    speed_change_mm: float
    top_opening_mm: float
    speed_change_ram_mm: float
    top_ram_mm: float
    mute_opening_mm: float


def stroke_setting(
    *,
    thickness_mm: float,
    tool_height_mm: float,
    tallest_standing_flange_mm: float = 0.0,
    above_sheet_mm: float = SPEED_CHANGE_ABOVE_SHEET_MM,
    loading_room_mm: float = LOADING_ROOM_MM,
    mute_opening_mm: float = MUTE_OPENING_MM,
) -> StrokeSetting:
    """Speed-change point and top of stroke for one sheet and one pair of tools.

    Formula: speed change = t + clearance; top opening = tallest standing flange + t + room; the
        ram's height above the bed is each of them + punch height + die height

    Args:
        thickness_mm: sheet thickness [mm], above 0.
        tool_height_mm: punch height + die height [mm], 0 or more.
        tallest_standing_flange_mm: tallest flange under the punch at loading or removal [mm].
        above_sheet_mm: tip height above the sheet at which the ram slows down [mm].
        loading_room_mm: room over the tallest flange at the top of the stroke [mm].
        mute_opening_mm: opening under which the guard may be muted [mm], from the machine's manual.

    Returns: a `StrokeSetting` [mm].

    Raises: ShopError `out_of_range` outside the stated ranges.

    References: common practice, no source; the machine's manual comes first.

    >>> stroke_setting(thickness_mm=1.5, tool_height_mm=200.0).speed_change_mm
    5.5
    >>> stroke_setting(thickness_mm=3.0, tool_height_mm=212.0).speed_change_ram_mm
    219.0
    """
    need_above("thickness_mm", thickness_mm, 0.0, "mm")
    need_between("tool_height_mm", tool_height_mm, 0.0, 5000.0, "mm")
    need_between("tallest_standing_flange_mm", tallest_standing_flange_mm, 0.0, 5000.0, "mm")
    need_between("above_sheet_mm", above_sheet_mm, 0.0, 200.0, "mm")
    need_between("loading_room_mm", loading_room_mm, 0.0, 1000.0, "mm")
    change_mm = thickness_mm + above_sheet_mm
    top_mm = max(change_mm, tallest_standing_flange_mm + thickness_mm + loading_room_mm)
    return StrokeSetting(
        speed_change_mm=change_mm,
        top_opening_mm=top_mm,
        speed_change_ram_mm=change_mm + tool_height_mm,
        top_ram_mm=top_mm + tool_height_mm,
        mute_opening_mm=mute_opening_mm,
    )


def check_stroke_setting(
    *, setting: StrokeSetting, brake_opening_mm: float, tool_height_mm: float
) -> tuple[Finding, ...]:
    """Whether the ram can open far enough for the top of the stroke.

    Args:
        setting: the settings wanted.
        brake_opening_mm: ram-to-bed distance with the ram on top, no tools [mm].
        tool_height_mm: punch height + die height [mm].

    Returns: a stop when the opening is too small, else nothing.
    """
    room_mm = brake_opening_mm - tool_height_mm
    if setting.top_opening_mm <= room_mm:
        return ()
    return (
        Finding(
            "stop",
            "opening_too_small",
            say(
                "Loading needs {needed} between punch and die; these tools leave {room}.",
                needed=Amount(setting.top_opening_mm, "mm"),
                room=Amount(room_mm, "mm"),
            ),
            say("Use lower tools, or slide the part out at the end of the bed."),
            source="the machine's plate and the tool heights",
            amount=Amount(setting.top_opening_mm - room_mm, "mm"),
        ),
    )


def seconds_lost_by_high_speed_change(
    *, above_sheet_mm: float, advised_mm: float, bending_speed_mm_per_s: float
) -> float:
    """Time each stroke loses to a speed-change point set too high.

    Formula: (height - advised height) / bending speed

    Args:
        above_sheet_mm: height of the speed change above the sheet now [mm].
        advised_mm: advised height above the sheet [mm].
        bending_speed_mm_per_s: bending speed [mm_per_s], above 0.

    Returns: the time [s], not below 0.

    Raises: ShopError `out_of_range` for a speed that is not above 0.

    References: definition.

    >>> seconds_lost_by_high_speed_change(above_sheet_mm=14.0, advised_mm=4.0,
    ...                                   bending_speed_mm_per_s=10.0)
    1.0
    """
    need_above("bending_speed_mm_per_s", bending_speed_mm_per_s, 0.0, "mm_per_s")
    return max(0.0, above_sheet_mm - advised_mm) / bending_speed_mm_per_s
