"""The blank of a flat part in one pair of tools: faces and bends, cut length, weight, folded size.

The blank belongs to its die: inside radius and allowance of every bend come from it, and the bend
lines move with it, because the folded outside dimensions are what is asked for.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import Polygon

from server.errors import ShopError, place, say
from server.findings import Finding, Reason, sorted_by_level
from server.geometry.cutout import Cutout
from server.geometry.flat_pattern import SplitPattern, sheet_of, split_pattern
from server.geometry.folding import arc_strips, folded_poses, lifted, moved
from server.geometry.generator import Fold, base_corner, bracket, panel, stepped_flange
from server.geometry.outline import Point, polygons_of
from server.geometry.outside_pattern import shortened_with_origins
from server.geometry.part import (
    MOST_BENDS,
    BendLine,
    Face,
    FlatPart,
    bend_tree,
    checked_part,
    flat_area,
    flat_regions,
    flat_size,
)
from server.geometry.zoned_part import Zone, ZonedPart, zoned_part
from server.mechanics.handling import sheet_mass
from server.mechanics.tooling import Die
from server.planning.bend_way import BentWay, bent_way
from server.planning.bend_zone import folded_zones, smooth_zones, whole_allowance, whole_radius
from server.planning.blank import (
    BendKey,
    BlankBend,
    DrawnBend,
    KChoice,
    SheetInTools,
    blank_bend,
    once,
    reason_of_deduction,
)
from server.planning.drawn_flat import (
    BracketSizes,
    DrawnFlat,
    Made,
    PanelSizes,
    Pattern,
    SteppedSizes,
)
from server.planning.flat_check import check_flat
from server.planning.plan_task import FlatShape, FlatShapeBend

USUAL_LENGTH_MM = 100.0
JOIN_MM = 1e-4
ARC_STRIPS = 6


@dataclass(frozen=True, slots=True)
class FlatBlank:
    """A flat part in its die. `drawn_bends` are the bends as drawn, in the order of the part's;
    `line_of_bend` names the drawn line of each. `zones` are those of each bend when all is made,
    `zoned` the part with them, as it is marked out and drawn folded.

    `size_mm` is the rectangle around the blank, longer side first; `folded_mm` the folded part's
    outside size along the first face's own axes and across it.
    """

    part: FlatPart
    zones: tuple[tuple[Zone, ...], ...]
    zoned: ZonedPart
    drawn_bends: tuple[DrawnBend, ...]
    line_of_bend: tuple[int, ...]
    bends: tuple[BlankBend, ...]
    size_mm: tuple[float, float]
    area_mm2: float
    cut_length_mm: float
    pierces_count: int
    mass_kg: float
    folded_mm: tuple[float, float, float]
    findings: tuple[Finding, ...]

    @property
    def shape(self) -> FlatShape:
        """The part as the planner takes it."""
        return flat_shape(self.part, self.drawn_bends)


def flat_blank(drawn: DrawnFlat, sheet: SheetInTools) -> FlatBlank:
    """The blank of a drawn flat part bent in one pair of tools.

    Raises: ShopError naming a dimension, a line (`lines.N`), a cut-out (`cutouts.N`), a face
        (`part.faces.N`) or a bend (`part.bends.N`).
    """
    bents = _Bents(sheet)
    if isinstance(drawn.form, Pattern):
        part, drawn_bends, lines = _of_pattern(drawn.form, drawn.cutouts, bents)
    else:
        part, drawn_bends = _of_sizes(drawn.form, drawn, bents)
        lines = tuple(range(len(drawn_bends)))
    made = [bents.of(bend, index) for index, bend in enumerate(drawn_bends)]
    outline = whole_outline(part)
    area_mm2 = flat_area(part)
    width_mm, height_mm = flat_size(part)
    ways = [(bend.shape_bend, bent) for bend, bent in zip(drawn_bends, made, strict=True)]
    zones = tuple(folded_zones(*way) for way in ways)
    folded = zoned_part(part, [smooth_zones(*way) for way in ways])
    found = check_flat(part, folded, outline, drawn_bends, made, sheet, drawn.grain)
    return FlatBlank(
        part=part,
        zones=zones,
        zoned=zoned_part(part, zones),
        drawn_bends=drawn_bends,
        line_of_bend=lines,
        bends=tuple(
            blank_bend(bend.shape_bend, bent, bent.use)
            for bend, bent in zip(drawn_bends, made, strict=True)
        ),
        size_mm=(max(width_mm, height_mm), min(width_mm, height_mm)),
        area_mm2=area_mm2,
        cut_length_mm=float(outline.length),
        pierces_count=1 + len(outline.interiors),
        mass_kg=sheet_mass(
            area_mm2=area_mm2,
            thickness_mm=sheet.thickness_mm,
            density_kg_m3=sheet.material.density_kg_m3,
        ),
        folded_mm=folded_size(folded.part),
        findings=sorted_by_level(once(tuple(found))),
    )


def flat_shape(part: FlatPart, bends: Sequence[DrawnBend]) -> FlatShape:
    """A part and its drawn bends as the planner takes them."""
    return FlatShape(
        faces=part.faces,
        bends=tuple(
            FlatShapeBend(line.line_mm, line.faces, bend.shape_bend)
            for line, bend in zip(part.bends, bends, strict=True)
        ),
    )


def whole_outline(part: FlatPart) -> Polygon:
    """The blank in one piece: what is cut out of the sheet."""
    shapes = [Polygon(face.outline_mm, face.holes_mm) for face in part.faces]
    joined = shapely.union_all(
        [shape.buffer(JOIN_MM, join_style="mitre") for shape in shapes]
    ).buffer(-JOIN_MM, join_style="mitre")
    return max(polygons_of(joined), key=lambda piece: piece.area)


def folded_size(part: FlatPart) -> tuple[float, float, float]:
    """Outside size of the folded part along u, v and across the first face [mm]."""
    angles = {index: bend.bend_angle_deg for index, bend in enumerate(part.bends)}
    poses = folded_poses(part, angles)
    points = [
        moved(poses[face], lifted(region.outline_mm, w_mm))
        for face, regions in enumerate(flat_regions(part))
        for region in regions
        for w_mm in (0.0, part.thickness_mm)
    ]
    for index, near, _ in bend_tree(part):
        points += [
            moved(poses[near], strip.reshape(-1, 3))
            for strip in arc_strips(part, index, angles[index], near, ARC_STRIPS)
        ]
    everything = np.concatenate(points)
    low, high = everything.min(axis=0), everything.max(axis=0)
    return (float(high[0] - low[0]), float(high[1] - low[1]), float(high[2] - low[2]))


class _Bents:
    """What bends take of the sheet in its tools; equal bends are worked out once."""

    def __init__(self, sheet: SheetInTools) -> None:
        self.sheet = sheet
        self._known: dict[DrawnBend, BentWay] = {}

    def of(self, bend: DrawnBend, index: int) -> BentWay:
        """One bend in the tools."""
        alike = replace(bend, bend_angle_deg=abs(bend.bend_angle_deg))
        if alike not in self._known:
            self._known[alike] = bent_way(
                self.sheet, index, alike.shape_bend, USUAL_LENGTH_MM, self.sheet.fit
            )
        return self._known[alike]


def _of_sizes(
    form: Made, drawn: DrawnFlat, bents: _Bents
) -> tuple[FlatPart, tuple[DrawnBend, ...]]:
    """A part made by dimensions, with its cut-outs in the base."""
    t_mm = bents.sheet.thickness_mm
    if drawn.bend.way == "offset":
        raise ShopError(
            "pattern_only",
            "A part made by its sizes has no offsets.",
            remedy="Turn it into a pattern, and make a line of it an offset.",
            where="way",
        )
    bent, shape = bents.of(drawn.bend, 0), drawn.bend.shape_bend
    fold = Fold(shape.bend_angle_deg, whole_radius(shape, bent), bent.use.bend_allowance_mm)
    match form:
        case PanelSizes():
            part = panel(
                width_mm=form.width_mm,
                depth_mm=form.depth_mm,
                walls=form.standing,
                thickness_mm=t_mm,
                fold=fold,
                relief_mm=form.relief_mm,
                round_relief=form.round_relief,
            )
        case BracketSizes():
            part = bracket(
                width_mm=form.width_mm,
                depth_mm=form.depth_mm,
                tabs=[(tab.start_mm, tab.end_mm, tab.height_mm) for tab in form.tabs],
                thickness_mm=t_mm,
                fold=fold,
                relief_mm=form.relief_mm,
            )
        case SteppedSizes():
            part = stepped_flange(
                depth_mm=form.depth_mm, steps=form.steps, thickness_mm=t_mm, fold=fold
            )
    if drawn.cutouts:
        part = _with_holes(part, drawn.cutouts, _corner(form, fold, t_mm))
    bends = tuple(replace(drawn.bend, bend_angle_deg=bend.bend_angle_deg) for bend in part.bends)
    return part, bends


def made_corner(drawn: DrawnFlat, blank: "FlatBlank") -> Point:
    """Where the outside corner of the base of a part made by dimensions lies on its blank."""
    if isinstance(drawn.form, Pattern) or not blank.part.bends:
        return (0.0, 0.0)
    line = blank.part.bends[0]
    fold = Fold(line.bend_angle_deg, line.inside_radius_mm, line.allowance_mm)
    return _corner(drawn.form, fold, blank.part.thickness_mm)


def _corner(form: Made, fold: Fold, thickness_mm: float) -> Point:
    if isinstance(form, PanelSizes):
        return base_corner(fold=fold, thickness_mm=thickness_mm, walls=form.standing)
    return (0.0, fold.allowance_mm / 2 - fold.setback_mm(thickness_mm))


def _with_holes(part: FlatPart, cutouts: Sequence[Cutout], corner: Point) -> FlatPart:
    holes = tuple(
        replace(one, at_mm=(one.at_mm[0] + corner[0], one.at_mm[1] + corner[1])).outline_mm
        for one in cutouts
    )
    base = Face(part.faces[0].outline_mm, holes)
    try:
        return checked_part(replace(part, faces=(base, *part.faces[1:])))
    except ShopError as trouble:
        number = (trouble.where or "").rpartition(".")[2]
        if trouble.code != "hole_off_the_face":
            raise
        raise ShopError(
            "hole_off_the_face",
            say("Cut-out {n} does not lie in the base.", n=place(int(number))),
            remedy="Move it, or turn the part into a pattern to cut across bends.",
            where=f"cutouts.{number}",
        ) from None


def split_of_pattern(pattern: Pattern, cutouts: Sequence[Cutout]) -> SplitPattern:
    """The faces and bends of a pattern as it is drawn.

    Raises: ShopError naming a line (`lines.N`), a cut-out (`cutouts.N`) or `outline_mm`.
    """
    if len(pattern.lines) >= MOST_BENDS:
        return split_pattern(Polygon(), [line.line_mm for line in pattern.lines])
    sheet = sheet_of(pattern.outline_mm, [one.outline_mm for one in cutouts])
    return split_pattern(sheet, [line.line_mm for line in pattern.lines])


def split_if_possible(pattern: Pattern, cutouts: Sequence[Cutout]) -> SplitPattern | None:
    """As `split_of_pattern`, None for a drawing that cannot be split."""
    try:
        return split_of_pattern(pattern, cutouts)
    except ShopError:
        return None


def _of_pattern(
    pattern: Pattern, cutouts: Sequence[Cutout], bents: _Bents
) -> tuple[FlatPart, tuple[DrawnBend, ...], tuple[int, ...]]:
    """The part of a drawn pattern, its bends as drawn, and the line of each."""
    split = split_of_pattern(pattern, cutouts)
    lines = tuple(bend.line for bend in split.bends)
    drawn = tuple(pattern.lines[line].bend for line in lines)
    part = FlatPart(
        bents.sheet.thickness_mm,
        split.faces,
        tuple(
            BendLine(bend.line_mm, bend.faces, one.shape_bend.bend_angle_deg)
            for bend, one in zip(split.bends, drawn, strict=True)
        ),
    )
    try:
        as_drawn = checked_part(part)
    except ShopError as trouble:
        raise _at_line(trouble, lines) from None
    made = [bents.of(bend, index) for index, bend in enumerate(drawn)]
    if pattern.pattern_is == "outside":
        blank, origins = shortened_with_origins(
            as_drawn,
            [
                blank_bend(bend.shape_bend, bent, bent.use).use.bend_deduction_mm
                for bend, bent in zip(drawn, made, strict=True)
            ],
        )
    else:
        blank, origins = as_drawn, tuple(range(len(drawn)))
    ways = [(drawn[origin].shape_bend, made[origin]) for origin in origins]
    used = blank.with_uses(
        [whole_radius(*way) for way in ways], [whole_allowance(*way) for way in ways]
    )
    try:
        part = checked_part(used)
    except ShopError as trouble:
        raise _crowded(trouble) from None
    return (
        part,
        tuple(drawn[origin] for origin in origins),
        tuple(lines[origin] for origin in origins),
    )


def _at_line(trouble: ShopError, lines: Sequence[int]) -> ShopError:
    """A trouble with a bend as one with the line it was drawn by."""
    words = (trouble.where or "").split(".")
    if words[:2] == ["part", "bends"] and words[2].isdigit():
        return trouble.at(f"lines.{lines[int(words[2])]}")
    return trouble


def _crowded(trouble: ShopError) -> ShopError:
    """Faces that only meet when the deductions are taken off want a relief between them."""
    if trouble.code != "faces_overlap":
        return trouble
    return ShopError(
        trouble.code,
        trouble.what,
        remedy="On the blank their corner gets too narrow: cut a relief between them.",
        where=trouble.where,
    )


def reasons_of_flat(
    *, blank: FlatBlank, thickness_mm: float, k: KChoice, die: Die
) -> tuple[Reason, ...]:
    """Why each different bend of a flat part takes what it takes, in the order they first come."""
    first: dict[BendKey, int] = {}
    for index, bend in enumerate(blank.bends):
        first.setdefault(bend.key, index)
    return tuple(
        reason_of_deduction(index, blank.bends[index], thickness_mm, k, die)
        for index in first.values()
    )
