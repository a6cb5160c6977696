"""Round holes, rectangles and slots cut out of a sheet, as outlines."""

import math
from dataclasses import dataclass
from typing import Literal

from server.geometry.outline import Loop, Point

CutoutKind = Literal["round", "rectangle", "slot"]
CHORDS = 36


@dataclass(frozen=True, slots=True)
class Cutout:
    """One cut-out around its middle; a round one has its diameter as length and width.

    `turn_deg` turns the length from the u axis, counter-clockwise.
    """

    kind: CutoutKind
    at_mm: Point
    length_mm: float
    width_mm: float
    turn_deg: float = 0.0

    @property
    def outline_mm(self) -> Loop:
        """Its outline, counter-clockwise; arcs as chords with the arc's own length in all."""
        turn = math.radians(self.turn_deg)
        cos, sin = math.cos(turn), math.sin(turn)
        (u, v) = self.at_mm
        return tuple((u + x * cos - y * sin, v + x * sin + y * cos) for x, y in self._about_middle)

    @property
    def _about_middle(self) -> Loop:
        x, y = self.length_mm / 2, self.width_mm / 2
        if self.kind == "rectangle":
            return ((-x, -y), (x, -y), (x, y), (-x, y))
        if self.kind == "round" or x <= y:
            return arc((0.0, 0.0), y, 0.0, 360.0)[:-1]
        straight = x - y
        return (
            *arc((straight, 0.0), y, -90.0, 90.0),
            *arc((-straight, 0.0), y, 90.0, 270.0),
        )


def arc(centre: Point, radius_mm: float, start_deg: float, end_deg: float) -> Loop:
    """Points along an arc; its chords together are as long as the arc.

    >>> len(arc((0.0, 0.0), 5.0, 0.0, 360.0))
    37
    """
    steps = max(2, math.ceil(abs(end_deg - start_deg) / 360.0 * CHORDS))
    half = math.radians(abs(end_deg - start_deg)) / steps / 2
    reach_mm = radius_mm * half / math.sin(half)
    return tuple(
        (
            centre[0] + reach_mm * math.cos(math.radians(at_deg)),
            centre[1] + reach_mm * math.sin(math.radians(at_deg)),
        )
        for at_deg in (
            start_deg + (end_deg - start_deg) * step / steps for step in range(steps + 1)
        )
    )
