"""What the buttons of a flat part's drawing board do: one more of something, one less, another way up."""

from dataclasses import replace
from typing import TypeVar

from server.errors import ShopError
from server.geometry.cutout import Cutout, CutoutKind
from server.geometry.outline import Point, signed_area
from server.geometry.outside_pattern import lengthened
from server.planning.blank import DrawnBend
from server.planning.drawn_flat import (
    SQUARE,
    BracketSizes,
    DrawnFlat,
    PanelSizes,
    Pattern,
    PatternLine,
    SteppedSizes,
    Tab,
    with_line_added,
    with_line_removed,
)
from server.planning.flat_blank import FlatBlank, made_corner, whole_outline

NEW_HOLE_MM = 12.0
NEW_TAB_MM = 25.0
SMOOTH_MM = 1e-3
PLACES = 4
T = TypeVar("T")


def with_cutout(flat: DrawnFlat, kind: CutoutKind) -> DrawnFlat:
    """The part with one more cut-out, in the middle of what it is cut from."""
    long_mm = NEW_HOLE_MM * (1 if kind == "round" else 2)
    one = Cutout(kind, _middle(flat), long_mm, NEW_HOLE_MM)
    return replace(flat, cutouts=(*flat.cutouts, one))


def without_cutout(flat: DrawnFlat, index: int) -> DrawnFlat:
    """The part without one of its cut-outs."""
    return replace(flat, cutouts=_without(flat.cutouts, index))


def with_row(flat: DrawnFlat) -> DrawnFlat:
    """The part with one more tab, step or bend line, beside the last one."""
    form = flat.form
    match form:
        case BracketSizes():
            last = form.tabs[-1] if form.tabs else Tab(0.0, 0.0, NEW_TAB_MM)
            start_mm = last.end_mm + 2 * form.relief_mm + 5.0
            tab = Tab(start_mm, start_mm + NEW_TAB_MM, last.height_mm)
            width_mm = max(form.width_mm, tab.end_mm + 2 * form.relief_mm)
            form = replace(form, tabs=(*form.tabs, tab), width_mm=width_mm)
        case SteppedSizes():
            form = replace(form, steps=(*form.steps, form.steps[-1]))
        case Pattern():
            us, vs = zip(*form.outline_mm, strict=True)
            at_mm = round((min(vs) + max(vs)) / 2, 1)
            line = ((min(us), at_mm), (max(us), at_mm))
            form = with_line_added(form, line, form.lines[-1].bend if form.lines else SQUARE)
    return replace(flat, form=form)


def without_row(flat: DrawnFlat, index: int) -> DrawnFlat:
    """The part without one of its tabs, steps or bend lines; a last step stays."""
    form = flat.form
    match form:
        case BracketSizes():
            form = replace(form, tabs=_without(form.tabs, index))
        case SteppedSizes() if len(form.steps) > 1:
            form = replace(form, steps=_without(form.steps, index))
        case Pattern() if 0 <= index < len(form.lines):
            form = with_line_removed(form, index)
    return replace(flat, form=form)


def turned_over(flat: DrawnFlat) -> DrawnFlat:
    """The part with every bend closing to the other side."""
    form = flat.form
    if isinstance(form, Pattern):
        form = replace(
            form, lines=tuple(replace(line, bend=_opposite(line.bend)) for line in form.lines)
        )
    return replace(flat, form=form, bend=_opposite(flat.bend))


def as_pattern(flat: DrawnFlat, blank: FlatBlank) -> DrawnFlat:
    """A part made by dimensions as a pattern in outside dimensions, to be changed freely.

    Raises: ShopError `already_a_pattern`.
    """
    if isinstance(flat.form, Pattern):
        raise ShopError(
            "already_a_pattern", "This is a pattern already.", remedy="Change its outline."
        )
    bare = replace(blank.part, faces=tuple(replace(face, holes_mm=()) for face in blank.part.faces))
    outside = lengthened(bare, [bend.use.bend_deduction_mm for bend in blank.bends])
    ring = whole_outline(outside).exterior.simplify(SMOOTH_MM).coords[:-1]
    left, low = min(u for u, _ in ring), min(v for _, v in ring)

    def moved(point: Point) -> Point:
        """The drawing's lower left corner is 0, 0."""
        return _rounded((point[0] - left, point[1] - low))

    outline = tuple(moved((u, v)) for u, v in ring)
    u, v = made_corner(flat, blank)
    return replace(
        flat,
        form=Pattern(
            outline if signed_area(outline) > 0 else outline[::-1],
            tuple(
                PatternLine((moved(line.line_mm[0]), moved(line.line_mm[1])), bend)
                for line, bend in zip(outside.bends, blank.drawn_bends, strict=True)
            ),
        ),
        cutouts=tuple(
            replace(one, at_mm=moved((one.at_mm[0] + u, one.at_mm[1] + v))) for one in flat.cutouts
        ),
        bend=SQUARE,
    )


def _middle(flat: DrawnFlat) -> Point:
    match flat.form:
        case PanelSizes() | BracketSizes() as sizes:
            return (round(sizes.width_mm / 2, 1), round(sizes.depth_mm / 2, 1))
        case SteppedSizes() as sizes:
            total_mm = sum(length for length, _ in sizes.steps)
            return (round(total_mm / 2, 1), round(sizes.depth_mm / 2, 1))
        case Pattern() as pattern:
            us, vs = zip(*pattern.outline_mm, strict=True)
            return (round((min(us) + max(us)) / 2, 1), round((min(vs) + max(vs)) / 2, 1))


def _opposite(bend: DrawnBend) -> DrawnBend:
    return replace(bend, bend_angle_deg=-bend.bend_angle_deg)


def _rounded(point: Point) -> Point:
    return (round(point[0], PLACES) + 0.0, round(point[1], PLACES) + 0.0)


def _without(rows: tuple[T, ...], index: int) -> tuple[T, ...]:
    return tuple(row for number, row in enumerate(rows) if number != index)
