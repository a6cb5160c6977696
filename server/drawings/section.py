"""A folded section as people draw it: legs with their dimensions, bends with their angles."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from server.drawings.svg import GAUGE, INK, PAPER, SHEET, SHEET_FILL, SOFT, Point, Sheet
from server.geometry.profile import Section

LABEL_SHARE = 0.042
DIMENSION_AWAY = 2.4


@dataclass(frozen=True, slots=True)
class SectionWords:
    """What is written beside each leg and each bend; `numbered` puts a bend's words in a disc."""

    legs: Sequence[str] = ()
    bends: Sequence[str] = ()
    numbered: bool = False


def draw_section(
    section: Section,
    *,
    title: str,
    words: SectionWords | None = None,
    handles: bool = False,
    upright_leg: int | None = None,
) -> str:
    """A section true to scale; with `handles` the points a hand can pull.

    The middle leg lies level unless `upright_leg` says which one.
    """
    words = words or SectionWords()
    level = len(section.legs) // 2 if upright_leg is None else upright_leg
    turned = _Turned(section, -section.legs[level].heading_deg)
    outline = turned.points(section.outline_mm)
    size = _label_size(outline)
    sheet = Sheet.around(outline, margin=size * (5.2 if words.legs else 0.8))
    sheet.polygon(outline, fill=SHEET_FILL, line=SHEET, thick=size * 0.09)
    middle = _middle(outline)
    for leg, label in zip(section.legs, words.legs, strict=False):
        _leg_label(sheet, turned, leg.start_mm, leg.end_mm, middle, label, size)
    for bend, label in zip(section.bends, words.bends, strict=False):
        _bend_label(sheet, turned, bend.middle_mm, bend.centre_mm, label, size, disc=words.numbered)
    if handles:
        _handles(sheet, section, turned, size)
    return sheet.svg(title=title, role="section")


@dataclass(frozen=True, slots=True)
class _Turned:
    """Turns a section so that one leg lies level."""

    section: Section
    turn_deg: float

    def point(self, at: Point) -> Point:
        cos, sin = math.cos(math.radians(self.turn_deg)), math.sin(math.radians(self.turn_deg))
        return (at[0] * cos - at[1] * sin, at[0] * sin + at[1] * cos)

    def points(self, at: Sequence[Point]) -> list[Point]:
        return [self.point(point) for point in at]


def _label_size(outline: Sequence[Point]) -> float:
    xs, ys = zip(*outline, strict=True)
    width, height = max(xs) - min(xs), max(ys) - min(ys)
    return max(2.2, LABEL_SHARE * float(max(width, height * 1.4)))


def _middle(points: Sequence[Point]) -> Point:
    return (
        math.fsum(x for x, _ in points) / len(points),
        math.fsum(y for _, y in points) / len(points),
    )


def _leg_label(
    sheet: Sheet,
    turned: _Turned,
    start: Point,
    end: Point,
    middle: Point,
    label: str,
    size: float,
) -> None:
    first, second = turned.point(start), turned.point(end)
    dx, dy = second[0] - first[0], second[1] - first[1]
    length = math.hypot(dx, dy) or 1.0
    normal = (-dy / length, dx / length)
    centre = ((first[0] + second[0]) / 2, (first[1] + second[1]) / 2)
    outward = (centre[0] - middle[0]) * normal[0] + (centre[1] - middle[1]) * normal[1]
    away = size * DIMENSION_AWAY * (1.0 if outward >= 0 else -1.0)
    at = (centre[0] + normal[0] * away, centre[1] + normal[1] * away)
    sheet.line(
        (centre[0] + normal[0] * away * 0.3, centre[1] + normal[1] * away * 0.3),
        (centre[0] + normal[0] * away * 0.65, centre[1] + normal[1] * away * 0.65),
        line=SOFT,
        thick=size * 0.06,
    )
    sheet.text(at, label, size=size, colour=INK, bold=True, halo=True)


def _bend_label(
    sheet: Sheet,
    turned: _Turned,
    on_arc: Point,
    centre: Point,
    label: str,
    size: float,
    *,
    disc: bool,
) -> None:
    arc, hub = turned.point(on_arc), turned.point(centre)
    dx, dy = hub[0] - arc[0], hub[1] - arc[1]
    length = math.hypot(dx, dy) or 1.0
    reach = length + size * 1.5
    if disc:
        reach = size * 1.15
    at = (arc[0] + dx / length * reach, arc[1] + dy / length * reach)
    if disc:
        sheet.circle(at, size * 0.78, fill=INK, line=PAPER, thick=size * 0.1)
        sheet.text(at, label, size=size, colour=PAPER, bold=True)
        return
    sheet.text(at, label, size=size * 0.8, colour=SOFT, halo=True)


def _handles(sheet: Sheet, section: Section, turned: _Turned, size: float) -> None:
    last = len(section.legs) - 1
    for leg in section.legs:
        first, second = turned.point(leg.start_mm), turned.point(leg.end_mm)
        at = second
        if leg.index == 0 and last > 0:
            at = first
        elif leg.index < last:
            at = ((first[0] + second[0]) / 2, (first[1] + second[1]) / 2)
        dx, dy = second[0] - first[0], second[1] - first[1]
        length = math.hypot(dx, dy) or 1.0
        sign = -1.0 if at == first else 1.0
        sheet.parts.append(
            f'<circle class="pull" data-leg="{leg.index + 1}" data-dx="{sign * dx / length:.6f}" '
            f'data-dy="{sign * dy / length:.6f}" cx="{at[0]:.3f}" cy="{-at[1]:.3f}" '
            f'r="{size * 0.75:.3f}" fill="#fffefb" fill-opacity="0.75" stroke="{GAUGE}" stroke-width="{size * 0.14:.3f}">'
            f"<title>Pull leg {leg.index + 1}</title></circle>"
        )
    for bend in section.bends:
        hub, arc = turned.point(bend.centre_mm), turned.point(bend.middle_mm)
        heading = bend.heading_deg + turned.turn_deg
        far = turned.point(section.legs[bend.index + 1].end_mm)
        sheet.parts.append(
            f'<circle class="turn" data-bend="{bend.index + 1}" data-x="{arc[0]:.3f}" '
            f'data-y="{arc[1]:.3f}" data-heading="{heading:.4f}" data-hx="{hub[0]:.3f}" '
            f'data-hy="{hub[1]:.3f}" data-fx="{far[0]:.3f}" data-fy="{far[1]:.3f}" '
            f'cx="{arc[0]:.3f}" cy="{-arc[1]:.3f}" r="{size * 0.62:.3f}" fill="{GAUGE}" '
            f'fill-opacity="0.25" stroke="{GAUGE}" stroke-width="{size * 0.12:.3f}">'
            f"<title>Turn bend {bend.index + 1}</title></circle>"
        )
