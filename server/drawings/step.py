"""A step at the brake: sheet, tools and gauge true to scale, seen along the bed.

The operator stands on the left, the back gauge is on the right.
"""

from collections.abc import Sequence

from server.drawings.svg import (
    GAUGE,
    GAUGE_FILL,
    INK,
    PAPER,
    RED,
    SHEET,
    SHEET_FILL,
    SOFT,
    STEEL,
    STEEL_LINE,
    Point,
    Sheet,
)
from server.planning.step_picture import StepPicture

LEAST_WINDOW_MM = 90.0
MOST_FRONT_MM = 260.0
MOST_REAR_MM = 300.0
MOST_UP_MM = 230.0
BELOW_MM = 42.0
CLOSE_MM = 24.0
CLOSE_RATIO = 2.2
SHADOW_FILL = "#f9d9c5"


def draw_step(
    before: StepPicture, after: StepPicture, *, side_up: str, title: str
) -> tuple[str, str]:
    """The step as two pictures in one scale: loaded against the gauge, and bent under load."""
    window = _window(before, after)
    return (
        _draw_moment(before, window, title=f"{title}, loaded", side_up=side_up, lift=True),
        _draw_moment(after, window, title=f"{title}, bent", side_up=side_up, lift=False),
    )


def draw_whole_step(before: StepPicture, after: StepPicture, *, side_up: str, title: str) -> str:
    """Both moments in one picture: the bent sheet, and a ghost of it as loaded."""
    sheet = Sheet(*_window(before, after))
    _tools(sheet, after)
    _gauge(sheet, before)
    for loop in before.sheet_mm:
        sheet.polygon(loop, line=SOFT, thick=_thin(sheet), dash=_dash(sheet))
    _sheet(sheet, after)
    _side_letter(sheet, after, side_up)
    return sheet.svg(title=title, role="step")


def draw_blocked(
    picture: StepPicture, overlap: Sequence[Sequence[Point]], *, side_up: str, title: str
) -> tuple[str, str]:
    """The moment a step is blocked: the whole scene, and its overlap close by.

    The close picture is empty where nothing overlaps.
    """
    whole = Sheet(*_window(picture, picture))
    _blocked_scene(whole, picture, overlap)
    _side_letter(whole, picture, side_up)
    if not overlap:
        return whole.svg(title=title, role="step"), ""
    around = max((Sheet.around(loop) for loop in overlap), key=lambda one: one.width * one.height)
    middle = (around.least_x + around.width / 2, around.least_y + around.height / 2)
    across = max(CLOSE_MM, CLOSE_RATIO * max(around.width, around.height))
    whole.circle(
        middle,
        max(across * 0.3, whole.width * 0.035),
        line=RED,
        thick=_thin(whole) * 3,
    )
    close = Sheet(middle[0] - across / 2, middle[1] - across / 2.6, across, across / 1.3)
    _blocked_scene(close, picture, overlap)
    return (
        whole.svg(title=title, role="step"),
        close.svg(title=f"{title}, the overlap close by", role="step close"),
    )


def _blocked_scene(sheet: Sheet, picture: StepPicture, overlap: Sequence[Sequence[Point]]) -> None:
    _tools(sheet, picture)
    if picture.finger_mm:
        _gauge(sheet, picture)
    _sheet(sheet, picture)
    thick = _thin(sheet)
    for outline in (picture.punch_mm, picture.holder_mm, picture.die_mm, picture.finger_mm):
        sheet.polygon(outline, line=INK, thick=thick)
    for loop in overlap:
        sheet.polygon(loop, fill=PAPER, line=RED, thick=thick)
        sheet.hatched(loop, thick=thick * 1.2, apart=max(sheet.width / 40, 0.4))


def _draw_moment(
    picture: StepPicture,
    window: tuple[float, float, float, float],
    *,
    title: str,
    side_up: str,
    lift: bool,
) -> str:
    sheet = Sheet(*window)
    _tools(sheet, picture)
    if lift:
        _gauge(sheet, picture)
    _sheet(sheet, picture)
    _side_letter(sheet, picture, side_up)
    if lift and picture.contact_mm is not None:
        _push_arrow(sheet)
    return sheet.svg(title=title, role="step")


def _window(before: StepPicture, after: StepPicture) -> tuple[float, float, float, float]:
    points = [
        point
        for picture in (before, after)
        for loop in (*picture.sheet_mm, *picture.silhouette_mm)
        for point in loop
    ]
    points += [(x, 0.0) for x, _ in before.finger_mm[:2]]
    left = max(-MOST_FRONT_MM, min(-LEAST_WINDOW_MM / 2, min(x for x, _ in points) - 12))
    right = min(MOST_REAR_MM, max(LEAST_WINDOW_MM / 2, max(x for x, _ in points) + 12))
    up = min(MOST_UP_MM, max(LEAST_WINDOW_MM * 0.55, max(y for _, y in points) + 12))
    down = max(-BELOW_MM * 2, min(-BELOW_MM, min(y for _, y in points) - 6))
    return left, down, right - left, up - down


def _tools(sheet: Sheet, picture: StepPicture) -> None:
    thick = _thin(sheet)
    for outline in (picture.bed_mm, picture.holder_mm):
        sheet.polygon(outline, fill="#dfe4ea", line=STEEL_LINE, thick=thick * 0.7)
    for outline in (picture.die_mm, picture.punch_mm):
        sheet.polygon(outline, fill=STEEL, line=STEEL_LINE, thick=thick)


def _sheet(sheet: Sheet, picture: StepPicture) -> None:
    thick = _thin(sheet)
    if picture.silhouette_mm != picture.sheet_mm:
        for loop in picture.silhouette_mm:
            sheet.polygon(loop, fill=SHADOW_FILL, line=SHEET, thick=thick * 0.5, opacity=0.75)
    for loop in picture.sheet_mm:
        sheet.polygon(loop, fill=SHEET_FILL, line=SHEET, thick=thick * 2.0)


def _gauge(sheet: Sheet, picture: StepPicture) -> None:
    sheet.polygon(picture.finger_mm, fill=GAUGE_FILL, line=GAUGE, thick=_thin(sheet) * 1.2)
    if picture.contact_mm is not None:
        sheet.circle(
            picture.contact_mm, sheet.width * 0.011, fill=GAUGE, line=PAPER, thick=_thin(sheet)
        )


def _side_letter(sheet: Sheet, picture: StepPicture, side_up: str) -> None:
    """The letter of the side that faces up, on the front half of the sheet."""
    front = [point for loop in picture.sheet_mm for point in loop if point[0] < -2.0]
    if not front:
        return
    at = _resting_point(front, sheet)
    size = sheet.width * 0.05
    sheet.circle(
        (at[0], at[1] + size * 0.95), size * 0.72, fill=PAPER, line=SHEET, thick=size * 0.1
    )
    sheet.text((at[0], at[1] + size * 0.95), side_up, size=size, colour=INK, bold=True)


def _resting_point(front: Sequence[Point], sheet: Sheet) -> Point:
    reach = min(x for x, _ in front)
    wanted = max(reach * 0.6, sheet.least_x * 0.7)
    near = min(front, key=lambda point: abs(point[0] - wanted))
    above = [y for x, y in front if abs(x - near[0]) < 6.0]
    return near[0], max(above, default=near[1])


def _push_arrow(sheet: Sheet) -> None:
    """Push the sheet against the gauge: from the front to the rear."""
    size = sheet.width
    y = -sheet.width * 0.055
    x = sheet.least_x + size * 0.04
    sheet.arrow((x, y), (x + size * 0.16, y), line=GAUGE, thick=size * 0.012, head=size * 0.04)


def _thin(sheet: Sheet) -> float:
    return max(0.25, sheet.width / 420)


def _dash(sheet: Sheet) -> str:
    return f"{sheet.width / 90:.2f} {sheet.width / 130:.2f}"
