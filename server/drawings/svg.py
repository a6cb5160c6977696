"""A small sheet of paper to draw on: true to scale in mm, y up, presentation attributes only.

Nothing here writes a `style` attribute: the pages forbid inline style, and print needs none.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from html import escape
from typing import Literal

Point = tuple[float, float]
Anchor = Literal["start", "middle", "end"]

INK = "#141d28"
SOFT = "#465364"
LINE = "#877f6d"
SHEET = "#c8430a"
SHEET_FILL = "#f4a57c"
GHOST = "#8a97a6"
STEEL = "#c3ccd6"
STEEL_LINE = "#566577"
GAUGE = "#103c82"
GAUGE_FILL = "#c9d8f0"
RED = "#93101f"
PAPER = "#fffefb"
MOST_LINES = 400
WORD_SHARE = 0.3  # half a letter's width: a dimension's line stops beside its words


@dataclass
class Sheet:
    """A drawing in mm. Points are (x to the right, y up); text keeps its size in drawing mm."""

    least_x: float
    least_y: float
    width: float
    height: float
    parts: list[str] = field(default_factory=list)

    @classmethod
    def around(cls, points: Iterable[Point], margin: float = 0.0) -> "Sheet":
        """A sheet just large enough for the points and a margin."""
        xs, ys = zip(*points, strict=True)
        return cls(
            min(xs) - margin,
            min(ys) - margin,
            max(xs) - min(xs) + 2 * margin or 1.0,
            max(ys) - min(ys) + 2 * margin or 1.0,
        )

    def polygon(
        self,
        points: Sequence[Point],
        *,
        fill: str = "none",
        line: str = INK,
        thick: float = 0.4,
        dash: str = "",
        opacity: float = 1.0,
        role: str = "",
    ) -> None:
        """A closed outline."""
        if points:
            self._path(f"{self._moves(points)}Z", fill, line, thick, dash, opacity, role)

    def polyline(
        self,
        points: Sequence[Point],
        *,
        line: str = INK,
        thick: float = 0.4,
        dash: str = "",
        role: str = "",
    ) -> None:
        """An open line."""
        if points:
            self._path(self._moves(points), "none", line, thick, dash, 1.0, role)

    def line(
        self, start: Point, end: Point, *, line: str = INK, thick: float = 0.4, dash: str = ""
    ) -> None:
        """A straight line."""
        self.polyline((start, end), line=line, thick=thick, dash=dash)

    def circle(
        self,
        centre: Point,
        radius: float,
        *,
        fill: str = "none",
        line: str = INK,
        thick: float = 0.4,
        role: str = "",
    ) -> None:
        """A circle."""
        x, y = centre
        self.parts.append(
            f'<circle cx="{_n(x)}" cy="{_n(-y)}" r="{_n(radius)}" fill="{fill}" stroke="{line}" '
            f'stroke-width="{_n(thick)}"{_role(role)}/>'
        )

    def text(
        self,
        at: Point,
        words: str,
        *,
        size: float = 3.5,
        colour: str = INK,
        anchor: Anchor = "middle",
        bold: bool = False,
        turn_deg: float = 0.0,
        halo: bool = False,
        role: str = "",
    ) -> None:
        """Words; the point is at the middle of their height. A halo keeps them readable."""
        x, y = at
        turn = f' transform="rotate({_n(-turn_deg)} {_n(x)} {_n(-y)})"' if turn_deg else ""
        weight = ' font-weight="700"' if bold else ""
        ring = (
            f' stroke="{PAPER}" stroke-width="{_n(size * 0.28)}" paint-order="stroke" stroke-linejoin="round"'
            if halo
            else ""
        )
        self.parts.append(
            f'<text x="{_n(x)}" y="{_n(-y)}" dy="0.35em" font-size="{_n(size)}" fill="{colour}" '
            f'text-anchor="{anchor}"{weight}{ring}{turn}{_role(role)}>{escape(words)}</text>'
        )

    def hatched(
        self, points: Sequence[Point], *, line: str = RED, thick: float = 0.3, apart: float = 1.5
    ) -> None:
        """A closed outline filled with slanting lines, readable without colour."""
        self.polygon(points, fill="none", line=line, thick=thick * 1.5)
        for start, end in slanting_lines(points, apart):
            self.line(start, end, line=line, thick=thick)

    def arrow(
        self, start: Point, end: Point, *, line: str = INK, thick: float = 0.6, head: float = 3.0
    ) -> None:
        """A line with a filled head at its end."""
        dx, dy = end[0] - start[0], end[1] - start[1]
        length = (dx * dx + dy * dy) ** 0.5 or 1.0
        ux, uy = dx / length, dy / length
        neck = (end[0] - ux * head, end[1] - uy * head)
        self.line(start, neck, line=line, thick=thick)
        left = (neck[0] - uy * head * 0.4, neck[1] + ux * head * 0.4)
        right = (neck[0] + uy * head * 0.4, neck[1] - ux * head * 0.4)
        self.polygon((end, left, right), fill=line, line=line, thick=thick * 0.3)

    def dimension(
        self,
        start: Point,
        end: Point,
        words: str,
        *,
        away: float = 8.0,
        size: float = 3.5,
        colour: str = INK,
    ) -> None:
        """A dimension line beside two points, to the left of the way from start to end."""
        dx, dy = end[0] - start[0], end[1] - start[1]
        length = (dx * dx + dy * dy) ** 0.5
        if length < 1e-9:
            return
        nx, ny = -dy / length, dx / length
        first = (start[0] + nx * away, start[1] + ny * away)
        second = (end[0] + nx * away, end[1] + ny * away)
        over = size * 0.5 * (1 if away >= 0 else -1)
        for base, tip in ((start, first), (end, second)):
            self.line(
                (base[0] + nx * over * 0.6, base[1] + ny * over * 0.6),
                (tip[0] + nx * over, tip[1] + ny * over),
                line=colour,
                thick=size * 0.05,
            )
        head = min(size * 0.75, length * 0.3)
        middle = ((first[0] + second[0]) / 2, (first[1] + second[1]) / 2)
        aside = min(len(words) * size * WORD_SHARE, length / 2 - head)
        for tip in (first, second):
            share = aside / (length / 2)
            start = (
                middle[0] + (tip[0] - middle[0]) * share,
                middle[1] + (tip[1] - middle[1]) * share,
            )
            self.arrow(start, tip, line=colour, thick=size * 0.07, head=head)
        turn_deg = math.degrees(math.atan2(dy, dx))
        if turn_deg > 90.0 or turn_deg <= -90.0:
            turn_deg += 180.0 if turn_deg <= -90.0 else -180.0
        self.text(middle, words, size=size, colour=colour, halo=True, turn_deg=turn_deg)

    def svg(
        self, *, title: str, role: str = "drawing", numbers: dict[str, str] | None = None
    ) -> str:
        """The finished drawing; the title is what a screen reader says."""
        data = "".join(f' data-{name}="{escape(value)}"' for name, value in (numbers or {}).items())
        box = f"{_n(self.least_x)} {_n(-self.least_y - self.height)} {_n(self.width)} {_n(self.height)}"
        return (
            f'<svg class="{role}" xmlns="http://www.w3.org/2000/svg" viewBox="{box}" role="img" '
            f'aria-label="{escape(title)}"{data}><title>{escape(title)}</title>'
            f"{''.join(self.parts)}</svg>"
        )

    def _path(
        self, moves: str, fill: str, line: str, thick: float, dash: str, opacity: float, role: str
    ) -> None:
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        faint = f' opacity="{_n(opacity)}"' if opacity < 1.0 else ""
        self.parts.append(
            f'<path d="{moves}" fill="{fill}" stroke="{line}" stroke-width="{_n(thick)}" '
            f'stroke-linejoin="round"{dashed}{faint}{_role(role)}/>'
        )

    @staticmethod
    def _moves(points: Sequence[Point]) -> str:
        first, *rest = points
        return f"M{_n(first[0])} {_n(-first[1])}" + "".join(f"L{_n(x)} {_n(-y)}" for x, y in rest)


def slanting_lines(points: Sequence[Point], apart: float) -> list[tuple[Point, Point]]:
    """Lines at 45 degrees inside an outline, where they enter it to where they leave it."""
    found: list[tuple[Point, Point]] = []
    along = [x - y for x, y in points]
    first = math.ceil(min(along) / apart)
    last = math.floor(max(along) / apart)
    for number in range(first, min(last, first + MOST_LINES) + 1):
        level = number * apart
        cuts: list[Point] = []
        for (ax, ay), (bx, by) in zip(points, (*points[1:], points[0]), strict=True):
            a, b = ax - ay - level, bx - by - level
            if (a <= 0.0 < b) or (b <= 0.0 < a):
                at = a / (a - b)
                cuts.append((ax + (bx - ax) * at, ay + (by - ay) * at))
        cuts.sort()
        found += list(zip(cuts[::2], cuts[1::2], strict=False))
    return found


def _n(value: float) -> str:
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _role(role: str) -> str:
    return f' class="{role}"' if role else ""
