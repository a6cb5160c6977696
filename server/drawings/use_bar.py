"""How a resource's time is used: work, changing over, waiting, as one bar with its shares."""

from html import escape

from server.drawings.svg import LINE, PAPER, SHEET, SHEET_FILL, SOFT

WIDTH, HEIGHT = 600.0, 26.0
CHANGE_FILL = "#c3ccd6"


def draw_use(*, working_min: float, changeover_min: float, waiting_min: float, name: str) -> str:
    """Work filled, changing over grey, waiting empty; the words stand beside it on the page."""
    total_min = working_min + changeover_min + waiting_min or 1.0
    work = WIDTH * working_min / total_min
    change = WIDTH * changeover_min / total_min
    return (
        f'<svg class="use" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:.0f} {HEIGHT:.0f}" '
        f'preserveAspectRatio="none" role="img" aria-label="{escape(name)}">'
        f'<rect width="{WIDTH:.0f}" height="{HEIGHT:.0f}" fill="{PAPER}" stroke="{LINE}"/>'
        f'<rect width="{work:.1f}" height="{HEIGHT:.0f}" fill="{SHEET_FILL}" stroke="{SHEET}"/>'
        f'<rect x="{work:.1f}" width="{change:.1f}" height="{HEIGHT:.0f}" fill="{CHANGE_FILL}" '
        f'stroke="{SOFT}"/></svg>'
    )
