"""The sheet of a flat part as convex solids, with its skin taken off, in any folded state."""

import itertools
import math
from functools import cached_property

import numpy as np
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from server.geometry.clearance import erosion_for
from server.geometry.folding import Motion, RolledBend, rolled_bend
from server.geometry.outline import Loop, convex_parts, eroded, is_convex
from server.geometry.part import FlatPart, flat_regions, zone_half
from server.geometry.solid import Solid, plate, wedge

CHORD_DEG = 15.0
MOST_HOLE_CORNERS = 8


def coarse(hole: Loop) -> Loop:
    """A rounded hole by few of its corners: never larger, so nothing gets room it does not have.

    Many corners make many solids, and a round hole of 36 corners blocks what one of 8 blocks.
    """
    if len(hole) <= MOST_HOLE_CORNERS or not is_convex(hole):
        return hole
    step = len(hole) / MOST_HOLE_CORNERS
    return tuple(hole[int(number * step)] for number in range(MOST_HOLE_CORNERS))


class ThickPart:
    """A flat part's faces as plates and its bend zones as strips, eroded all round."""

    def __init__(self, part: FlatPart) -> None:
        self.part = part
        self.skin_mm = erosion_for(part.thickness_mm)
        self.regions = flat_regions(part)
        self._grown_faces: dict[tuple[int, float], tuple[BaseGeometry, ...]] = {}
        self._grown_zones: dict[tuple[int, int, float], BaseGeometry] = {}
        self._rolled: dict[tuple[int, RolledBend, int, float], tuple[Solid, ...]] = {}

    @cached_property
    def _plates(self) -> tuple[tuple[Solid, ...], ...]:
        low_mm, high_mm = self.skin_mm, self.part.thickness_mm - self.skin_mm
        found = []
        for regions in self.regions:
            loops: list[Loop] = []
            for region in regions:
                shape = Polygon(region.outline_mm, [coarse(hole) for hole in region.holes_mm])
                loops += convex_parts(eroded(shape, self.skin_mm))
            found.append(tuple(plate(loop, low_mm, high_mm) for loop in loops))
        return tuple(found)

    def grown_face(self, face: int, by_mm: float) -> tuple[BaseGeometry, ...]:
        """A face's regions on the flat with so much added all round."""
        key = (face, by_mm)
        if key not in self._grown_faces:
            self._grown_faces[key] = tuple(
                Polygon(region.outline_mm, region.holes_mm).buffer(by_mm)
                for region in self.regions[face]
            )
        return self._grown_faces[key]

    def grown_zone(self, bend_index: int, face: int, by_mm: float) -> BaseGeometry:
        """The half of a bend zone beside one of its faces, with so much added all round."""
        key = (bend_index, face, by_mm)
        if key not in self._grown_zones:
            self._grown_zones[key] = zone_half(self.part, bend_index, face).buffer(by_mm)
        return self._grown_zones[key]

    def face_solids(self, face: int, pose: Motion) -> tuple[Solid, ...]:
        """The plates of a face at a pose."""
        return tuple(solid.moved(pose) for solid in self._plates[face])

    def zone_solids(
        self, bend_index: int, angle_deg: float, near_face: int, pose: Motion
    ) -> tuple[Solid, ...]:
        """The strips of a bend zone at an angle, hanging on its nearer face at a pose."""
        bend = self.part.bends[bend_index]
        roll = rolled_bend(
            angle_deg=angle_deg,
            full_angle_deg=bend.bend_angle_deg,
            inside_radius_mm=bend.inside_radius_mm,
            allowance_mm=bend.allowance_mm,
            thickness_mm=self.part.thickness_mm,
        )
        return self.rolled_solids(bend_index, roll, near_face, pose)

    def rolled_solids(
        self,
        bend_index: int,
        roll: RolledBend,
        near_face: int,
        pose: Motion,
        *,
        skin_mm: float | None = None,
    ) -> tuple[Solid, ...]:
        """The strips of a bend zone rolled in any way, hanging on its nearer face at a pose.

        The unrolled rest of a partly closed zone is flat on both sides of the arc. `skin_mm` is
        what is taken off, if not the usual skin.
        """
        skin_mm = self.skin_mm if skin_mm is None else skin_mm
        key = (bend_index, roll, near_face, skin_mm)
        if key not in self._rolled:
            self._rolled[key] = self._strips(bend_index, roll, near_face, skin_mm)
        return tuple(strip.moved(pose) for strip in self._rolled[key])

    def _strips(
        self, bend_index: int, roll: RolledBend, near_face: int, skin_mm: float
    ) -> tuple[Solid, ...]:
        """The strips of a rolled zone in the flat coordinates of its nearer face."""
        part, angle_deg = self.part, roll.angle_deg
        bend = part.bends[bend_index]
        sign = 1.0 if bend.faces[0] == near_face else -1.0
        n = sign * np.array([*part.across[bend_index], 0.0])
        lift = np.array([0.0, 0.0, 1.0])
        along = np.array([*bend.along, 0.0])
        start, end = (np.array([*point, 0.0]) for point in bend.line_mm)
        ends = (start + skin_mm * along, end - skin_mm * along)
        half_mm = bend.allowance_mm / 2
        stations: list[tuple[float, float]] = [(-half_mm, 0.0)]
        steps = max(2, math.ceil(abs(angle_deg) / CHORD_DEG)) if angle_deg else 1
        stations += [(roll.start_mm, share / steps) for share in range(steps + 1)]
        stations.append((half_mm - roll.arc_mm, 1.0))
        rings = []
        for offset_mm, share in stations:
            angle = math.radians(angle_deg * share)
            levels = []
            for w_mm in (skin_mm, part.thickness_mm - skin_mm):
                arm = w_mm - roll.axis_w_mm
                beyond = offset_mm - roll.start_mm if share == 1.0 else 0.0
                before = offset_mm if share == 0.0 else roll.start_mm
                x = before - arm * math.sin(angle) + beyond * math.cos(angle)
                w = roll.axis_w_mm + arm * math.cos(angle) + beyond * math.sin(angle)
                levels.append([point + x * n + w * lift for point in ends])
            rings.append(levels)
        found = []
        for first, second in itertools.pairwise(rings):
            if math.dist(first[0][0], second[0][0]) + math.dist(first[1][0], second[1][0]) < 1e-9:
                continue
            lower, upper = (
                np.array([first[level][0], first[level][1], second[level][1], second[level][0]])
                for level in (0, 1)
            )
            found.append(wedge(lower, upper))
        return tuple(found)
