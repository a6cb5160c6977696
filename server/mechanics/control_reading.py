"""From punch tip travel to the number keyed into the control, and what shifts it."""

import math
from dataclasses import dataclass, replace
from typing import Literal

from server.errors import Amount, ShopError, say
from server.mechanics.elementary import need_above
from server.mechanics.tooling import Axis, YSense

TouchOffOn = Literal["sheet", "die"]


@dataclass(frozen=True, slots=True)
class TouchOff:
    """The control's reading at a known tip height above the die top plane.

    On the `sheet`: the tip rested on the job's own sheet, so the *travel* from there is what is
    kept when another sheet is touched off the same way. On the `die`: the *position* is kept.
    `tip_above_die_top_mm` is the sheet's thickness, or the height of the bar or feeler used.
    `tool_height_mm` is punch height + die height when it was taken. `checked` is False for a
    reading that was predicted after a tool change and not yet looked at.
    """

    on: TouchOffOn
    reading_mm: float
    tip_above_die_top_mm: float
    tool_height_mm: float = 0.0
    checked: bool = True

    def __post_init__(self) -> None:
        if not math.isfinite(self.reading_mm):
            raise ShopError(
                "out_of_range",
                "The touch-off reading is not a number.",
                remedy="Read it off the control again.",
                where="touch_off.reading_mm",
            )
        if not 0.0 <= self.tip_above_die_top_mm < 1000.0:
            raise ShopError(
                "out_of_range",
                say(
                    "The tip was {height} above the die at touch-off.",
                    height=Amount(self.tip_above_die_top_mm, "mm"),
                ),
                remedy="Give the height of the sheet or bar under the punch.",
                where="touch_off.tip_above_die_top_mm",
            )


def y_reading(
    *, touch_off: TouchOff, y_sense: YSense, depth_mm: float, thickness_mm: float
) -> float:
    """The control's Y for a punch tip travel, exact, before rounding.

    Formula: Y = reading + sense x (tip travel since touch-off); the tip goes from h to t - D above
        the die top, so the travel is h - t + D; touched off on the sheet itself h = t: D alone

    Args:
        touch_off: the known reading.
        y_sense: 1 when a greater reading is deeper, -1 when it is less deep.
        depth_mm: punch tip travel from first touch of this sheet [mm].
        thickness_mm: thickness of the sheet now on the die [mm], above 0.

    Returns: the reading [mm].

    Raises: ShopError `out_of_range` for a thickness that is not above 0.

    References: definition of the touch-off; derived here.

    >>> on_die = TouchOff("die", reading_mm=100.0, tip_above_die_top_mm=2.0)
    >>> y_reading(touch_off=on_die, y_sense=1, depth_mm=6.0, thickness_mm=2.5)
    105.5
    """
    need_above("thickness_mm", thickness_mm, 0.0, "mm")
    if touch_off.on == "sheet":
        return touch_off.reading_mm + y_sense * depth_mm
    travel_mm = touch_off.tip_above_die_top_mm - thickness_mm + depth_mm
    return touch_off.reading_mm + y_sense * travel_mm


def depth_from_y(
    *, touch_off: TouchOff, y_sense: YSense, y_mm: float, thickness_mm: float
) -> float:
    """Punch tip travel from first touch for a reading: `y_reading` inverted.

    Formula: D = sense x (Y - reading) - (h - t), the bracket only for a touch-off on the die

    Args:
        touch_off: the known reading.
        y_sense: 1 when a greater reading is deeper, -1 when it is less deep.
        y_mm: the control's reading [mm].
        thickness_mm: thickness of the sheet on the die [mm].

    Returns: the travel [mm]; negative while the tip is still above the sheet.

    References: `y_reading`.

    >>> on_sheet = TouchOff("sheet", reading_mm=100.0, tip_above_die_top_mm=2.0)
    >>> depth_from_y(touch_off=on_sheet, y_sense=-1, y_mm=94.0, thickness_mm=2.0)
    6.0
    """
    travel_mm = y_sense * (y_mm - touch_off.reading_mm)
    if touch_off.on == "sheet":
        return travel_mm
    return travel_mm - (touch_off.tip_above_die_top_mm - thickness_mm)


def touch_off_after_tool_change(
    *, touch_off: TouchOff, y_sense: YSense, tool_height_mm: float
) -> TouchOff:
    """The touch-off to expect after other tools were fitted, marked as not checked.

    Formula: reading' = reading - sense x (new height - old height): taller tools touch earlier

    Args:
        touch_off: the touch-off with the old tools.
        y_sense: 1 when a greater reading is deeper, -1 when it is less deep.
        tool_height_mm: punch height + die height of the new tools [mm].

    Returns: the predicted `TouchOff`.

    References: geometry of the shut height.

    >>> old = TouchOff("die", reading_mm=100.0, tip_above_die_top_mm=2.0, tool_height_mm=200.0)
    >>> touch_off_after_tool_change(touch_off=old, y_sense=1, tool_height_mm=199.5).reading_mm
    100.5
    """
    rise_mm = tool_height_mm - touch_off.tool_height_mm
    return replace(
        touch_off,
        reading_mm=touch_off.reading_mm - y_sense * rise_mm,
        tool_height_mm=tool_height_mm,
        checked=touch_off.checked and rise_mm == 0.0,
    )


def rounded_shallower(*, reading_mm: float, y_sense: YSense, resolution_mm: float) -> float:
    """A Y the control can show, rounded so that the bend comes out shallower, never deeper.

    Formula: floor to the resolution where a greater reading is deeper, ceiling otherwise

    Args:
        reading_mm: exact reading [mm].
        y_sense: 1 when a greater reading is deeper, -1 when it is less deep.
        resolution_mm: smallest step of the control [mm], above 0.

    Returns: the reading [mm].

    Raises: ShopError `out_of_range` for a resolution that is not above 0.

    References: an under-bent part can be bent further, an over-bent one cannot be un-bent.

    >>> rounded_shallower(reading_mm=106.178, y_sense=1, resolution_mm=0.05)
    106.15
    >>> rounded_shallower(reading_mm=106.178, y_sense=-1, resolution_mm=0.05)
    106.2
    """
    need_above("resolution_mm", resolution_mm, 0.0, "mm")
    steps = reading_mm / resolution_mm
    nearest = round(steps)
    if abs(steps - nearest) > 1e-6:
        nearest = math.floor(steps) if y_sense == 1 else math.ceil(steps)
    return round(nearest * resolution_mm, 9)


def rounded_nearest(*, reading_mm: float, resolution_mm: float) -> float:
    """An X the control can show, rounded to the nearest step.

    Formula: nearest multiple of the resolution

    Args:
        reading_mm: exact reading [mm].
        resolution_mm: smallest step of the control [mm], above 0.

    Returns: the reading [mm].

    Raises: ShopError `out_of_range` for a resolution that is not above 0.

    References: definition.

    >>> rounded_nearest(reading_mm=48.2305, resolution_mm=0.1)
    48.2
    """
    need_above("resolution_mm", resolution_mm, 0.0, "mm")
    return round(round(reading_mm / resolution_mm) * resolution_mm, 9)


def within_axis(*, axis: Axis, reading_mm: float) -> bool:
    """Whether the control can go to a reading.

    Formula: least <= reading <= most

    Args:
        axis: the axis with its limits.
        reading_mm: the reading wanted [mm].

    Returns: True inside the limits.

    References: definition.

    >>> within_axis(axis=Axis(0.0, 600.0, 0.1), reading_mm=601.0)
    False
    """
    return axis.least_mm <= reading_mm <= axis.most_mm


@dataclass(frozen=True, slots=True)
class RamScale:
    """The brake's own scale of ram height, from two recorded readings.

    Formula: reading = a + b x ram height above the bed, through two points; with tools fitted the ram
    stands tip height + punch height + die height above the bed.
    """

    height_1_mm: float
    reading_1: float
    height_2_mm: float
    reading_2: float

    def __post_init__(self) -> None:
        if self.height_1_mm == self.height_2_mm or self.reading_1 == self.reading_2:
            raise ShopError(
                "same_reading_twice",
                "The two readings of the scale are the same point.",
                remedy="Record them at two different ram heights.",
                where="ram_scale",
            )

    def reading(self, height_mm: float) -> float:
        """The scale's reading at a ram height above the bed."""
        slope = (self.reading_2 - self.reading_1) / (self.height_2_mm - self.height_1_mm)
        return self.reading_1 + slope * (height_mm - self.height_1_mm)
