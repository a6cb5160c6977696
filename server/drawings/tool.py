"""Cross-sections of punches, dies and holders."""

from collections.abc import Sequence
from dataclasses import dataclass

from server.drawings.svg import GAUGE, INK, RED, SHEET, SOFT, STEEL, STEEL_LINE, Point, Sheet

LABEL_SHARE = 0.05
LEAST_LABEL_MM = 1.2


@dataclass(frozen=True, slots=True)
class ToolWords:
    """What is written around a cross-section; an empty word leaves its dimension out."""

    height: str = ""
    width: str = ""
    mouth: str = ""
    tip: str = ""


def draw_tool(outline: Sequence[Point], *, title: str) -> str:
    """One tool's cross-section, to scale, as SVG."""
    if not outline:
        return ""
    sheet = Sheet.around(outline, margin=4.0)
    sheet.polygon(outline, fill=STEEL, line=STEEL_LINE, thick=0.8)
    return sheet.svg(title=title, role="tool")


def draw_tool_with_sizes(
    outline: Sequence[Point],
    *,
    title: str,
    words: ToolWords,
    mouth: tuple[float, float] = (0.0, 0.0),
    broken: bool = False,
) -> str:
    """A cross-section with its main sizes, its corners and the centre line, to scale.

    `mouth` is where a die's flat top ends left and right of the V. A `broken` outline (one that
    may not be kept) is drawn as a line only, so that the trouble with it can be seen.
    """
    if not outline:
        return ""
    low, high = _box(outline)
    size = max(LEAST_LABEL_MM, LABEL_SHARE * max(high[0] - low[0], high[1] - low[1]))
    room = ((low[0] - size, low[1] - size * 3), (high[0] + size * 5, high[1] + size * 3.4))
    sheet = Sheet.around((*outline, *room, (0.0, 0.0)), margin=size)
    if broken:
        sheet.polygon(outline, line=RED, thick=size * 0.1, dash=f"{size * 0.5:.2f}")
    else:
        sheet.polygon(outline, fill=STEEL, line=STEEL_LINE, thick=size * 0.09)
    _centre_line(sheet, low[1], high[1], size)
    for point in outline:
        sheet.circle(point, size * 0.13, fill=STEEL_LINE, line=STEEL_LINE, thick=0.0)
    sheet.circle((0.0, 0.0), size * 0.3, line=SHEET, thick=size * 0.12)
    if not broken:
        _sizes(sheet, low, high, words, mouth, size)
    return sheet.svg(title=title, role="tool")


def _sizes(
    sheet: Sheet,
    low: Point,
    high: Point,
    words: ToolWords,
    mouth: tuple[float, float],
    size: float,
) -> None:
    if words.height:
        sheet.dimension(
            (high[0], low[1]), (high[0], high[1]), words.height, away=-size * 2, size=size
        )
    if words.width:
        over = high[1] if not words.mouth else low[1]
        away = size * 1.6 if not words.mouth else -size * 1.6
        sheet.dimension((low[0], over), (high[0], over), words.width, away=away, size=size)
    if words.mouth and mouth[0] < mouth[1]:
        ends = (mouth[0], 0.0), (mouth[1], 0.0)
        sheet.dimension(*ends, "", away=size * 1.2, size=size, colour=GAUGE)
        above = ((mouth[0] + mouth[1]) / 2, size * 2.3)
        sheet.text(above, words.mouth, size=size, colour=GAUGE, halo=True)
    if words.tip:
        sheet.text((0.0, low[1] - size * 1.9), words.tip, size=size, colour=INK, halo=True)


def _centre_line(sheet: Sheet, low_y: float, high_y: float, size: float) -> None:
    sheet.line(
        (0.0, low_y - size),
        (0.0, high_y + size),
        line=SOFT,
        thick=size * 0.05,
        dash=f"{size:.2f} {size * 0.3:.2f} {size * 0.2:.2f} {size * 0.3:.2f}",
    )


def _box(points: Sequence[Point]) -> tuple[Point, Point]:
    xs, ys = zip(*points, strict=True)
    return (min(xs), min(ys)), (max(xs), max(ys))
