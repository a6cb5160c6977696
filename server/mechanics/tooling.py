"""Punches, dies and the brake as the formulas and the planner see them.

Cross-sections are in the machine frame: x to the back gauge, y up. A punch's tip is at (0, 0) and
points down; a die's top plane is y = 0 with the V centred on x = 0.
"""

from dataclasses import dataclass
from typing import Literal

from server.errors import Unit
from server.mechanics.elementary import need_above, need_between

Point = tuple[float, float]
Outline = tuple[Point, ...]
YSense = Literal[1, -1]


@dataclass(frozen=True, slots=True)
class Punch:
    """An upper tool. `rating_kn_per_m` None means: no rating entered, so no job may run on it."""

    name: str
    tip_radius_mm: float
    angle_deg: float
    height_mm: float = 0.0
    rating_kn_per_m: float | None = None
    profile_mm: Outline = ()
    segments_mm: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        need_between("punch.tip_radius_mm", self.tip_radius_mm, 0.0, 1000.0, "mm")
        need_between("punch.angle_deg", self.angle_deg, 1.0, 179.0, "deg")
        _need_rating("punch.rating_kn_per_m", self.rating_kn_per_m)


@dataclass(frozen=True, slots=True)
class Die:
    """A lower tool with one V. `v_depth_mm` is the depth of a flat-bottomed V, None when sharp."""

    name: str
    v_opening_mm: float
    angle_deg: float
    shoulder_radius_mm: float
    height_mm: float = 0.0
    rating_kn_per_m: float | None = None
    v_depth_mm: float | None = None
    profile_mm: Outline = ()
    segments_mm: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        need_above("die.v_opening_mm", self.v_opening_mm, 0.0, "mm")
        need_between("die.v_opening_mm", self.v_opening_mm, 0.0, 2000.0, "mm")
        need_between("die.angle_deg", self.angle_deg, 1.0, 179.0, "deg")
        need_between("die.shoulder_radius_mm", self.shoulder_radius_mm, 0.0, 500.0, "mm")
        _need_rating("die.rating_kn_per_m", self.rating_kn_per_m)


@dataclass(frozen=True, slots=True)
class Finger:
    """A back gauge finger: its face reaches from low to high above the die top."""

    low_mm: float
    high_mm: float
    width_mm: float

    def __post_init__(self) -> None:
        need_above("brake.finger.width_mm", self.width_mm, 0.0, "mm")
        need_above("brake.finger.high_mm", self.high_mm, self.low_mm, "mm")


@dataclass(frozen=True, slots=True)
class Axis:
    """One axis of the control. All in mm, whatever unit the control shows."""

    least_mm: float
    most_mm: float
    resolution_mm: float

    def __post_init__(self) -> None:
        need_above("brake.axis.resolution_mm", self.resolution_mm, 0.0, "mm")
        need_above("brake.axis.most_mm", self.most_mm, self.least_mm, "mm")


@dataclass(frozen=True, slots=True)
class Brake:
    """A press brake with a two-axis control.

    `frame_distance_mm` is the free width between the side frames; `max_line_load_kn_per_m` the
    maker's concentrated load limit, None when the manual gives none (the usual 60 % rule then
    holds). `speed_mm_per_s` is the bending speed.
    """

    name: str
    max_force_kn: float
    bed_length_mm: float
    opening_mm: float
    x_axis: Axis
    y_axis: Axis
    y_sense: YSense
    finger: Finger
    frame_distance_mm: float | None = None
    max_line_load_kn_per_m: float | None = None
    off_centre_share: float = 0.5
    speed_mm_per_s: float = 10.0
    holder_mm: Outline = ()
    bed_mm: Outline = ()

    def __post_init__(self) -> None:
        need_above("brake.max_force_kn", self.max_force_kn, 0.0, "kn")
        need_above("brake.bed_length_mm", self.bed_length_mm, 0.0, "mm")
        need_above("brake.opening_mm", self.opening_mm, 0.0, "mm")
        need_between("brake.off_centre_share", self.off_centre_share, 0.0, 1.0, "ratio")


def _need_rating(where: str, rating: float | None) -> None:
    unit: Unit = "kn_per_m"
    if rating is not None:
        need_above(where, rating, 0.0, unit)
