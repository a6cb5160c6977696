"""The straight sheet of a half that bears on the die's shoulder, in any folded state."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import shapely
from shapely.geometry import LineString, Polygon, box
from shapely.geometry import Point as ShapelyPoint
from shapely.geometry.base import BaseGeometry

from server.geometry.part import BendLine, zone_half
from server.geometry.solid import Span
from server.planning.placed_element import Element
from server.planning.profile_half import state_after
from server.planning.tool_staging import merged

if TYPE_CHECKING:
    from server.planning.part_half import PartHalf

SAME_PLACE = 1e-6
GROWN_MM = SAME_PLACE * 10
REACH_BEYOND_MM = 1.0


@dataclass(frozen=True, slots=True)
class _NearLine:
    """Flat sheet near the bend line: each shape with the strokes that take it away, and what stays.

    `mask` has all these strokes.
    """

    mask: int
    shapes: tuple[tuple[int, BaseGeometry], ...]
    own: tuple[BaseGeometry, ...]


class HalfSupport:
    """What bears of one half."""

    def __init__(self, half: "PartHalf", mates_mask: int) -> None:
        self.half = half
        self._mates = mates_mask
        self._changing = tuple(self._elements_that_change())
        self._known: dict[int, float] = {}

    def straight_mm(self, done: int) -> float:
        """Straight sheet beside the line, where it is least [mm]: `least_flat_mm` when enough.

        The contact line on the shoulder may be bare at both ends over its own distance from the
        bend line (a 45 degree mitre), and over the V in between (a hole); half of it has to bear.
        """
        key = done & self._near_line.mask
        if key not in self._known:
            self._known[key] = self._straight_mm(done)
        return self._known[key]

    def _straight_mm(self, done: int) -> float:
        least_mm = self.half.least_flat_mm
        if least_mm == 0.0:
            return 0.0
        flat = self._base_shape(done)
        worst_mm = least_mm
        for low, high in self.half.spans:
            bare = self._bare(flat, least_mm, (low, high))
            bearing_mm = high - low - math.fsum(b - a for a, b in bare)
            allowed = all(
                (b - a)
                <= (
                    least_mm
                    if a <= low + 1e-6 or b >= high - 1e-6
                    else self.half.stroke.die.v_opening_mm
                )
                for a, b in bare
            )
            if allowed and bearing_mm >= (high - low) / 2:
                continue
            a, b = max(bare, key=lambda span: span[1] - span[0])
            worst_mm = min(worst_mm, self._reach(flat, (a + b) / 2))
        return worst_mm

    def _elements_that_change(self) -> Iterator[Element]:
        """Elements that may bear though something placed them: beyond hits of the same curve, or
        zones whose states take up different lengths.
        """
        for element in self.half.elements:
            states = self.half.making.zone_states[element.index] if element.kind == "zone" else ()
            if element.mask & self._mates or len(states) > 1:
                yield element

    def _base_shape(self, done: int) -> BaseGeometry:
        """The flat sheet that may bear, in the base plane, in (along, outward) coordinates."""
        near = self._near_line
        shapes = [shape for mask, shape in near.shapes if not done & mask]
        shapes += [
            shape
            for element in self._changing
            if done & element.mask
            for shape in self._still_straight(element, done)
        ]
        return shapely.union_all([*shapes, *near.own])

    def _still_straight(self, element: Element, done: int) -> Iterator[BaseGeometry]:
        """What counts as straight of an element beyond hits of the same curve, seen from above, and
        of a zone that its present state does not take up.
        """
        if done & self.half.placed_by[element.near] & ~self._mates:
            return
        own = done & element.mask & ~self._mates
        if element.kind == "face":
            if own:
                return
            for region in self.half.thick.regions[element.index]:
                yield self._projected(Polygon(region.outline_mm, region.holes_mm), element, done)
            return
        line = self.half.part.bends[element.index]
        near_half = zone_half(self.half.part, element.index, element.near)
        state = state_after(self.half.making, element.index, done)
        arc_mm = 0.0 if state is None else state.arc_mm
        if arc_mm >= line.allowance_mm and own:
            return
        if own:
            taken = shapely.LineString(line.line_mm).buffer(arc_mm / 2, cap_style="flat")
            near_half = near_half.difference(taken)
        else:
            near_half = near_half.union(
                zone_half(self.half.part, element.index, far_face(line, element))
            )
        yield self._projected(near_half, element, done)

    def _projected(self, shape: BaseGeometry, element: Element, done: int) -> BaseGeometry:
        """A piece of sheet where its nearer face's pose puts it, in (along, outward) coordinates."""
        pose = self.half.frame @ self.half.pose(element.near, done)
        low_mm = 0.0 if self.half.stroke.sign > 0 else self.half.part.thickness_mm
        z, x = pose[2], pose[0]
        matrix = [z[0], z[1], x[0], x[1], z[2] * low_mm + z[3], x[2] * low_mm + x[3]]
        return shapely.affinity.affine_transform(shape.buffer(GROWN_MM), matrix)

    @cached_property
    def _near_line(self) -> _NearLine:
        """What of the flat sheet reaches into the strip that has to bear."""
        half, more_mm = self.half, SAME_PLACE * 20
        high_mm = half.least_flat_mm + REACH_BEYOND_MM
        strip = box(
            min(low for low, _ in half.spans) - more_mm,
            -more_mm,
            max(high for _, high in half.spans) + more_mm,
            high_mm + more_mm,
        )
        low_u, low_v, high_u, high_v = self._on_flat(strip).bounds
        found = []
        for element in half.elements:
            for shape in self._grown(element):
                u_0, v_0, u_1, v_1 = shape.bounds
                if u_0 <= high_u and u_1 >= low_u and v_0 <= high_v and v_1 >= low_v:
                    seen = self._from_above(shape)
                    if seen.intersects(strip):
                        found.append((element.mask, seen))
        own = [
            self._from_above(half.thick.grown_zone(bend, face, GROWN_MM))
            for bend in half.own
            for face in half.part.bends[bend].faces
            if face in half.beside
        ]
        mask = 0
        for one, _ in found:
            mask |= one
        return _NearLine(mask, tuple(found), tuple(own))

    def _grown(self, element: Element) -> Iterator[BaseGeometry]:
        """An element's sheet on the flat, a trifle wider."""
        half = self.half
        if element.kind == "face":
            yield from half.thick.grown_face(element.index, GROWN_MM)
        else:
            for face in half.part.bends[element.index].faces:
                yield half.thick.grown_zone(element.index, face, GROWN_MM)

    def _from_above(self, shape: BaseGeometry) -> BaseGeometry:
        """A shape of the flat in (along, outward) coordinates."""
        (u0, v0), along, out = self.half.origin, self.half.lead.along, self.half.outward
        matrix = [along[0], along[1], out[0], out[1]]
        matrix += [-(along[0] * u0 + along[1] * v0), -(out[0] * u0 + out[1] * v0)]
        return shapely.affinity.affine_transform(shape, matrix)

    def _on_flat(self, shape: BaseGeometry) -> BaseGeometry:
        """A shape in (along, outward) coordinates on the flat."""
        origin, along, out = self.half.origin, self.half.lead.along, self.half.outward
        matrix = [along[0], out[0], along[1], out[1], *origin]
        return shapely.affinity.affine_transform(shape, matrix)

    def _bare(self, flat: BaseGeometry, at_mm: float, span: Span) -> list[Span]:
        """Where a line parallel to the bend line has no sheet under it."""
        line = LineString([(span[0], at_mm), (span[1], at_mm)])
        covered = merged(
            (part.bounds[0], part.bounds[2]) for part in _lines(line.intersection(flat))
        )
        bare, at = [], span[0]
        for low, high in covered:
            if low - at > 0.01:
                bare.append((at, low))
            at = max(at, high)
        if span[1] - at > 0.01:
            bare.append((at, span[1]))
        return bare

    def _reach(self, flat: BaseGeometry, along_mm: float) -> float:
        """How far the sheet goes on flat from the bend line at one place."""
        high_mm = self.half.least_flat_mm + REACH_BEYOND_MM
        ray = LineString([(along_mm, 0.0), (along_mm, high_mm)])
        found = [part.bounds[3] for part in _lines(ray.intersection(flat)) if part.bounds[1] < 0.01]
        return max(found, default=0.0)


def far_face(line: BendLine, element: Element) -> int:
    """The face beyond a zone."""
    return line.faces[1] if line.faces[0] == element.near else line.faces[0]


def _lines(shape: BaseGeometry) -> Sequence[LineString]:
    if isinstance(shape, LineString):
        return [] if shape.is_empty else [shape]
    if isinstance(shape, ShapelyPoint):
        return []
    return [line for part in getattr(shape, "geoms", ()) for line in _lines(part)]
