"""A raw sheet with the blanks that are cut from it, to scale."""

from collections.abc import Callable, Sequence

from server.drawings.svg import INK, SHEET, SHEET_FILL, SOFT, STEEL, STEEL_LINE, Sheet
from server.shop.sheet_room import Place

MOST_DRAWN = 900
"""More blanks than this are drawn as the first so many: single ones could not be seen anyway."""


def draw_sheet_nest(
    *,
    sheet_width_mm: float,
    sheet_height_mm: float,
    places: Sequence[Place],
    title: str,
    length: Callable[[float], str],
) -> str:
    """One full sheet: its blanks, its size, and the grain along its width."""
    size = max(sheet_width_mm, sheet_height_mm) * 0.036
    corners = ((0.0, 0.0), (sheet_width_mm, sheet_height_mm))
    paper = Sheet.around(corners, margin=size * 3.4)
    whole = ((0.0, 0.0), (sheet_width_mm, 0.0), corners[1], (0.0, sheet_height_mm))
    paper.polygon(whole, fill=STEEL, line=STEEL_LINE, thick=size * 0.12)
    for place in places[:MOST_DRAWN]:
        x, y = place.x_mm, place.y_mm
        right, top = x + place.width_mm, y + place.height_mm
        box = ((x, y), (right, y), (right, top), (x, top))
        paper.polygon(box, fill=SHEET_FILL, line=SHEET, thick=size * 0.07)
    paper.dimension(
        (sheet_width_mm, 0.0), (0.0, 0.0), length(sheet_width_mm), away=size * 1.9, size=size
    )
    paper.dimension(
        (0.0, 0.0), (0.0, sheet_height_mm), length(sheet_height_mm), away=size * 1.9, size=size
    )
    high = sheet_height_mm + size * 1.5
    words_mm = size * 3.6
    paper.text((words_mm / 2, high), "grain", size=size, colour=SOFT)
    paper.arrow(
        (words_mm, high), (words_mm + size * 6, high), line=INK, thick=size * 0.09, head=size * 0.8
    )
    return paper.svg(title=title, role="nest")
