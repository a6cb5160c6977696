"""Parts people ask for, as flat patterns of the one model.

Sizes are outside dimensions of the folded part. `Fold` says what one bend uses of the sheet. Every
generator returns a checked `FlatPart`; the profile shapes return legs and signed angles.

Choices where the trade leaves them open: base corners are notched square by the relief; walls of a
box end at the base's tangent lines less the relief, so folded corners stay open by the inside
radius; return flanges are mitred at 45 degrees with the relief as the gap.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from server.errors import Amount, ShopError, say
from server.geometry.outline import Loop, Point
from server.geometry.part import BendLine, Face, FlatPart, checked_part

ARC_CHORDS = 8


@dataclass(frozen=True, slots=True)
class Fold:
    """What one bend of a generated part is and uses."""

    bend_angle_deg: float
    inside_radius_mm: float
    allowance_mm: float

    def setback_mm(self, thickness_mm: float) -> float:
        """Tangent point to the outside corner; to the tangent plane above 90."""
        angle_deg = abs(self.bend_angle_deg)
        reach = 1.0 if angle_deg >= 90.0 else math.tan(math.radians(angle_deg) / 2)
        return reach * (self.inside_radius_mm + thickness_mm)


@dataclass(frozen=True, slots=True)
class LegsAndBends:
    """A profile as the shop draws it: outside legs and signed bend angles in order."""

    legs_mm: tuple[float, ...]
    bend_angles_deg: tuple[float, ...]


def angle_profile(
    *, leg_a_mm: float, leg_b_mm: float, bend_angle_deg: float = 90.0
) -> LegsAndBends:
    """Two legs and one bend."""
    return LegsAndBends((leg_a_mm, leg_b_mm), (bend_angle_deg,))


def channel_profile(*, web_mm: float, flange_mm: float) -> LegsAndBends:
    """A web with two flanges to one side."""
    return LegsAndBends((flange_mm, web_mm, flange_mm), (90.0, 90.0))


def z_profile(*, web_mm: float, flange_mm: float) -> LegsAndBends:
    """A web with one flange to each side."""
    return LegsAndBends((flange_mm, web_mm, flange_mm), (90.0, -90.0))


def hat_profile(*, crown_mm: float, side_mm: float, brim_mm: float) -> LegsAndBends:
    """A crown, two sides and two brims."""
    return LegsAndBends((brim_mm, side_mm, crown_mm, side_mm, brim_mm), (-90.0, 90.0, 90.0, -90.0))


def channel_with_returns_profile(
    *, web_mm: float, flange_mm: float, return_mm: float
) -> LegsAndBends:
    """A channel whose flanges turn inward again."""
    return LegsAndBends(
        (return_mm, flange_mm, web_mm, flange_mm, return_mm), (90.0, 90.0, 90.0, 90.0)
    )


@dataclass(frozen=True, slots=True)
class Wall:
    """One wall of a panel: outside height, and the outside width of a return, 0 for none."""

    height_mm: float
    return_mm: float = 0.0
    return_out: bool = False


def box(
    *,
    width_mm: float,
    depth_mm: float,
    height_mm: float,
    thickness_mm: float,
    fold: Fold,
    relief_mm: float = 0.0,
    return_mm: float = 0.0,
) -> FlatPart:
    """An open box; with `return_mm` above 0 every wall ends in a return flange to the inside.

    Raises: ShopError `out_of_range` where a size leaves nothing flat between its bends.
    """
    wall = Wall(height_mm, return_mm)
    return panel(
        width_mm=width_mm,
        depth_mm=depth_mm,
        walls=(wall, wall, wall, wall),
        thickness_mm=thickness_mm,
        fold=fold,
        relief_mm=relief_mm,
    )


def panel(
    *,
    width_mm: float,
    depth_mm: float,
    walls: Sequence[Wall | None],
    thickness_mm: float,
    fold: Fold,
    relief_mm: float = 0.0,
    round_relief: bool = False,
) -> FlatPart:
    """A rectangle with walls on any of its sides, in the order v = 0, u = end, v = end, u = 0.

    `width_mm` and `depth_mm` are outside sizes along u and v where a wall stands, else to the edge.

    Raises: ShopError `out_of_range` where a size leaves nothing flat between its bends.
    """
    if len(walls) != 4:
        raise ShopError(
            "wrong_count",
            "A panel has four sides.",
            remedy="Give a wall or none for each.",
            where="walls",
        )
    setback_mm = fold.setback_mm(thickness_mm)
    half_mm = fold.allowance_mm / 2
    taken = [setback_mm - half_mm if wall else 0.0 for wall in walls]
    base_u = width_mm - taken[1] - taken[3]
    base_v = depth_mm - taken[0] - taken[2]
    _need_room("width_mm", base_u - 2 * (half_mm + relief_mm))
    _need_room("depth_mm", base_v - 2 * (half_mm + relief_mm))
    sheet = _Sheet(thickness_mm)
    corners: list[Point] = [(0.0, 0.0), (base_u, 0.0), (base_u, base_v), (0.0, base_v)]
    rounding_mm = relief_mm if round_relief else 0.0
    base = sheet.face(_notched(corners, walls, half_mm + relief_mm, rounding_mm))
    for side, wall in enumerate(walls):
        if wall is None:
            continue
        start, end = corners[side], corners[(side + 1) % 4]
        beside = (walls[side - 1] is not None, walls[(side + 1) % 4] is not None)
        inset_mm = half_mm + relief_mm
        run = _Run(start, end).between(inset_mm * beside[0], inset_mm * beside[1])
        _stand(sheet, base, run, wall, fold, relief_mm, beside, where=f"walls.{side}")
    return sheet.part()


def _stand(
    sheet: "_Sheet",
    base: int,
    run: "_Run",
    wall: Wall,
    fold: Fold,
    relief_mm: float,
    beside: tuple[bool, bool],
    *,
    where: str,
) -> None:
    """One wall on a run of the base, with its return."""
    setback_mm, half_mm = fold.setback_mm(sheet.thickness_mm), fold.allowance_mm / 2
    flat_mm = wall.height_mm - setback_mm + half_mm
    if wall.return_mm <= 0.0:
        _need_room(f"{where}.height_mm", flat_mm - half_mm)
        sheet.bend(run, base, sheet.face(run.rectangle(flat_mm)), fold)
        return
    flat_mm -= setback_mm - half_mm
    _need_room(f"{where}.height_mm", flat_mm - fold.allowance_mm)
    return_flat_mm = wall.return_mm - setback_mm + half_mm
    _need_room(f"{where}.return_mm", return_flat_mm - half_mm)
    top = run.moved(flat_mm)
    if wall.return_out:
        face = sheet.face(run.rectangle(flat_mm))
        sheet.bend(run, base, face, fold)
        away = replace(fold, bend_angle_deg=-fold.bend_angle_deg)
        sheet.bend(top, face, sheet.face(top.rectangle(return_flat_mm)), away)
        return
    before, after = beside
    gap_mm = relief_mm + setback_mm
    short = top.between(gap_mm * before, gap_mm * after)
    _need_room(
        f"{where}.return_mm",
        math.dist(short.start, short.end) - (return_flat_mm - half_mm) * (before + after),
    )
    face = sheet.face(run.stepped(flat_mm - half_mm, short.moved(-half_mm), short))
    sheet.bend(run, base, face, fold)
    edge = sheet.face(short.mitred(half_mm, return_flat_mm, before=before, after=after))
    sheet.bend(short, face, edge, fold)


def bracket(
    *,
    width_mm: float,
    depth_mm: float,
    tabs: Sequence[tuple[float, float, float]],
    thickness_mm: float,
    fold: Fold,
    relief_mm: float,
) -> FlatPart:
    """A plate with tabs bent up along one edge: (from, to, outside height) along u for each.

    The plate is relieved beside every tab, deeper than the bend.

    Raises: ShopError `out_of_range`, `tabs_overlap`.
    """
    setback_mm = fold.setback_mm(thickness_mm)
    half_mm = fold.allowance_mm / 2
    base_v = depth_mm - setback_mm + half_mm
    _need_room("depth_mm", base_v - half_mm - relief_mm)
    deep_mm = half_mm + relief_mm
    outline: list[Point] = []
    last_mm = 0.0
    in_row = sorted(enumerate(tabs), key=lambda one: one[1])
    for index, (start_mm, end_mm, _) in in_row:
        if start_mm - relief_mm < last_mm - 1e-9 or end_mm - start_mm <= 0.0:
            raise ShopError(
                "tabs_overlap",
                say(
                    "A tab from {a} to {b} does not fit beside the one before it.",
                    a=Amount(start_mm, "mm"),
                    b=Amount(end_mm, "mm"),
                ),
                remedy="Leave the relief's width between tabs and at the ends.",
                where=f"tabs.{index}",
            )
        outline += [
            (start_mm - relief_mm, 0.0),
            (start_mm - relief_mm, deep_mm),
            (start_mm, deep_mm),
            (start_mm, 0.0),
            (end_mm, 0.0),
            (end_mm, deep_mm),
            (end_mm + relief_mm, deep_mm),
            (end_mm + relief_mm, 0.0),
        ]
        last_mm = end_mm + relief_mm
    _need_room("width_mm", width_mm - last_mm + 1e-6)
    sheet = _Sheet(thickness_mm)
    base = sheet.face(((0.0, 0.0), *outline, (width_mm, 0.0), (width_mm, base_v), (0.0, base_v)))
    for index, (start_mm, end_mm, height_mm) in in_row:
        run = _Run((start_mm, 0.0), (end_mm, 0.0))
        flat_mm = height_mm - setback_mm + half_mm
        _need_room(f"tabs.{index}", flat_mm - half_mm)
        sheet.bend(run, base, sheet.face(run.rectangle(flat_mm)), fold)
    return sheet.part()


def stepped_flange(
    *,
    depth_mm: float,
    steps: Sequence[tuple[float, float]],
    thickness_mm: float,
    fold: Fold,
) -> FlatPart:
    """A plate with one flange whose height changes in steps: (length, outside height) along u.

    Raises: ShopError `out_of_range`.
    """
    setback_mm = fold.setback_mm(thickness_mm)
    half_mm = fold.allowance_mm / 2
    base_v = depth_mm - setback_mm + half_mm
    _need_room("depth_mm", base_v - half_mm)
    length_mm = math.fsum(length for length, _ in steps)
    lower: list[Point] = []
    at_mm = 0.0
    for index, (length, height_mm) in enumerate(steps):
        flat_mm = height_mm - setback_mm + half_mm
        _need_room(f"steps.{index}", min(flat_mm - half_mm, length))
        lower += [(at_mm, -flat_mm), (at_mm + length, -flat_mm)]
        at_mm += length
    sheet = _Sheet(thickness_mm)
    base = sheet.face(((0.0, 0.0), (length_mm, 0.0), (length_mm, base_v), (0.0, base_v)))
    flange = sheet.face(((0.0, 0.0), *lower, (length_mm, 0.0)))
    sheet.bend(_Run((0.0, 0.0), (length_mm, 0.0)), base, flange, fold)
    return sheet.part()


@dataclass(frozen=True, slots=True)
class _Run:
    """A stretch of an edge walked counter-clockwise; outward is to its right."""

    start: Point
    end: Point

    @property
    def along(self) -> Point:
        length = math.dist(self.start, self.end)
        return ((self.end[0] - self.start[0]) / length, (self.end[1] - self.start[1]) / length)

    @property
    def outward(self) -> Point:
        return (self.along[1], -self.along[0])

    def between(self, from_start_mm: float, from_end_mm: float) -> "_Run":
        (x, y) = self.along
        return _Run(
            (self.start[0] + x * from_start_mm, self.start[1] + y * from_start_mm),
            (self.end[0] - x * from_end_mm, self.end[1] - y * from_end_mm),
        )

    def moved(self, outward_mm: float) -> "_Run":
        (x, y) = self.outward
        return _Run(
            (self.start[0] + x * outward_mm, self.start[1] + y * outward_mm),
            (self.end[0] + x * outward_mm, self.end[1] + y * outward_mm),
        )

    def rectangle(self, outward_mm: float) -> Loop:
        outer = self.moved(outward_mm)
        return (self.start, outer.start, outer.end, self.end)

    def stepped(self, low_mm: float, feet: "_Run", top: "_Run") -> Loop:
        """A rectangle up to `low_mm`, and on from the feet of a shorter run to that run."""
        shoulder = self.moved(low_mm)
        loop = [self.start, shoulder.start, feet.start, top.start]
        loop += [top.end, feet.end, shoulder.end, self.end]
        return tuple(loop)

    def mitred(self, straight_mm: float, outward_mm: float, *, before: bool, after: bool) -> Loop:
        """Straight through the bend's zone, then 45 degree mitres at the ends asked for."""
        cut_mm = outward_mm - straight_mm
        zone = self.moved(straight_mm)
        outer = self.moved(outward_mm).between(cut_mm * before, cut_mm * after)
        return (self.start, zone.start, outer.start, outer.end, zone.end, self.end)


class _Sheet:
    """Collects faces and bends."""

    def __init__(self, thickness_mm: float) -> None:
        self.thickness_mm = thickness_mm
        self.faces: list[Face] = []
        self.bends: list[BendLine] = []

    def face(self, outline: Sequence[Point]) -> int:
        self.faces.append(Face(tuple(outline)))
        return len(self.faces) - 1

    def bend(self, run: _Run, near: int, far: int, fold: Fold) -> None:
        self.bends.append(
            BendLine(
                (run.start, run.end),
                (near, far),
                fold.bend_angle_deg,
                fold.inside_radius_mm,
                fold.allowance_mm,
            )
        )

    def part(self) -> FlatPart:
        return checked_part(FlatPart(self.thickness_mm, tuple(self.faces), tuple(self.bends)))


def base_corner(*, fold: Fold, thickness_mm: float, walls: Sequence[Wall | None]) -> Point:
    """Where the outside corner of a panel's base lies on the flat: holes are measured from it."""
    taken_mm = fold.setback_mm(thickness_mm) - fold.allowance_mm / 2
    return (-taken_mm if walls[3] else 0.0, -taken_mm if walls[0] else 0.0)


def _notched(
    corners: Sequence[Point],
    walls: Sequence[Wall | None],
    deep_mm: float,
    rounding_mm: float,
) -> Loop:
    """A rectangle with a notch at each corner between two walls, rounded inside when asked."""
    outline: list[Point] = []
    for index, corner in enumerate(corners):
        if walls[index - 1] is None or walls[index] is None or deep_mm <= 0.0:
            outline.append(corner)
            continue
        arriving = _Run(corners[index - 1], corner)
        leaving = _Run(corner, corners[(index + 1) % 4])
        before = arriving.between(0.0, deep_mm).end
        after = leaving.between(deep_mm, 0.0).start
        inner = (before[0] + after[0] - corner[0], before[1] + after[1] - corner[1])
        outline += [before, *_rounded(before, inner, after, rounding_mm), after]
    return tuple(outline)


def _rounded(before: Point, inner: Point, after: Point, radius_mm: float) -> list[Point]:
    """A right-angled inner corner as an arc around the point `radius_mm` back along both edges."""
    deep_mm = math.dist(before, inner)
    if radius_mm <= 0.0 or deep_mm <= 0.0:
        return [inner]
    share = min(1.0, radius_mm / deep_mm)
    (ix, iy) = inner
    ux, uy = (before[0] - ix) * share, (before[1] - iy) * share
    vx, vy = (after[0] - ix) * share, (after[1] - iy) * share
    centre = (ix + ux + vx, iy + uy + vy)
    found = []
    for step in range(ARC_CHORDS + 1):
        turn = math.pi / 2 * step / ARC_CHORDS
        cos, sin = math.cos(turn), math.sin(turn)
        found.append((centre[0] - vx * cos - ux * sin, centre[1] - vy * cos - uy * sin))
    return found


def _need_room(where: str, left_mm: float) -> None:
    if not left_mm > 0.0:
        raise ShopError(
            "out_of_range",
            say("The bends leave {left} flat there.", left=Amount(left_mm, "mm")),
            remedy="Make it larger, or bend with a smaller inside radius.",
            where=where,
        )
