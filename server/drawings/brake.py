"""Small drawings of a brake: its front, which way Y counts, and where a finger's face reaches."""

from collections.abc import Sequence

from server.drawings.svg import (
    GAUGE,
    GAUGE_FILL,
    INK,
    LINE,
    SHEET,
    SOFT,
    STEEL,
    STEEL_LINE,
    Point,
    Sheet,
)

PUNCH: tuple[Point, ...] = ((0, 0), (9, 10), (9, 26), (-9, 26), (-9, 10))
DIE: tuple[Point, ...] = (
    (22, 0),
    (9, 0),
    (0, -9.5),
    (-9, 0),
    (-22, 0),
    (-22, -22),
    (22, -22),
)
DEEPER_MM = 6.0


def draw_brake_front(
    *,
    bed_length_mm: float,
    frame_distance_mm: float,
    opening_mm: float,
    words: tuple[str, str, str],
) -> str:
    """A brake from the front, to scale: bed length, width between the frames, opening.

    `words` are what is written at bed length, frame distance and opening.
    """
    half_mm, frames_mm = bed_length_mm / 2, frame_distance_mm / 2
    tall_mm = max(bed_length_mm * 0.16, opening_mm * 0.6)
    size = max(bed_length_mm, 2 * frames_mm) * 0.042
    post_mm = bed_length_mm * 0.04
    top_mm = opening_mm + tall_mm
    sheet = Sheet.around(
        (
            (-max(half_mm, frames_mm + post_mm) - size, -tall_mm - size * 3.2),
            (max(half_mm, frames_mm + post_mm) + size * 4, top_mm + size * 3),
        )
    )
    thick = size * 0.08
    for side in (-1, 1):
        inner, outer = side * frames_mm, side * (frames_mm + post_mm)
        sheet.polygon(
            ((inner, -tall_mm), (outer, -tall_mm), (outer, top_mm), (inner, top_mm)),
            fill="#e4dfd1",
            line=LINE,
            thick=thick,
        )
    bed = ((-half_mm, -tall_mm), (half_mm, -tall_mm), (half_mm, 0.0), (-half_mm, 0.0))
    ram = ((-half_mm, opening_mm), (half_mm, opening_mm), (half_mm, top_mm), (-half_mm, top_mm))
    for body in (bed, ram):
        sheet.polygon(body, fill=STEEL, line=STEEL_LINE, thick=thick)
    sheet.dimension(bed[0], bed[1], words[0], away=-size * 1.8, size=size)
    sheet.dimension((-frames_mm, top_mm), (frames_mm, top_mm), words[1], away=size * 1.6, size=size)
    sheet.dimension((half_mm, 0.0), (half_mm, opening_mm), words[2], away=-size * 2.2, size=size)
    sheet.text((0.0, opening_mm + tall_mm / 2), "ram", size=size, colour=SOFT)
    sheet.text((0.0, -tall_mm / 2), "bed", size=size, colour=SOFT)
    return sheet.svg(title="The brake from the front", role="brake-front")


def draw_y_sense(*, y_sense: int, readings: tuple[str, str]) -> str:
    """Two positions of the punch and the reading at each: which way Y counts."""
    sheet = Sheet(-26.0, -42.0, 120.0, 88.0)
    flat: Sequence[Point] = ((-24, 0), (24, 0), (24, 2), (-24, 2))
    _position(sheet, 0.0, 2.0, flat)
    swung = ((0.0, -DEEPER_MM), (24.0, 9.0), (22.9, 10.7), (0.0, -3.7), (-22.9, 10.7), (-24.0, 9.0))
    _position(sheet, 68.0, -3.7, [(x + 68.0, y) for x, y in swung])
    sheet.text((0.0, -32.0), readings[0], size=6.5, bold=True)
    sheet.text((68.0, -32.0), readings[1], size=6.5, bold=True)
    sheet.arrow((30.0, 14.0), (38.0, 14.0), line=GAUGE, thick=1.0, head=4.0)
    word = "greater" if y_sense > 0 else "smaller"
    return sheet.svg(title=f"A {word} Y is deeper", role="y-sense")


def draw_finger(*, low_mm: float, high_mm: float, words: tuple[str, str]) -> str:
    """The window of a gauge finger's face beside the die, seen from the end of the bed."""
    reach_mm = max(abs(low_mm), abs(high_mm), 10.0)
    size = reach_mm * 0.16
    sheet = Sheet(-reach_mm * 1.3, -reach_mm * 0.8, reach_mm * 4.2, reach_mm * 2.1)
    scale = reach_mm / 40.0
    sheet.polygon(
        [(x * scale * 1.2, y * scale) for x, y in DIE],
        fill=STEEL,
        line=STEEL_LINE,
        thick=size * 0.1,
    )
    sheet.line(
        (-reach_mm * 1.2, 0.0),
        (reach_mm * 1.9, 0.0),
        line=SOFT,
        thick=size * 0.08,
        dash=f"{size} {size * 0.4:.2f}",
    )
    face_mm = reach_mm * 1.1
    sheet.polygon(
        (
            (face_mm, low_mm),
            (face_mm + reach_mm * 0.5, low_mm),
            (face_mm + reach_mm * 0.5, high_mm),
            (face_mm, high_mm),
        ),
        fill=GAUGE_FILL,
        line=GAUGE,
        thick=size * 0.1,
    )
    sheet.line((face_mm, low_mm), (face_mm, high_mm), line=GAUGE, thick=size * 0.3)
    sheet.text((face_mm + reach_mm * 0.6, high_mm), words[1], size=size, anchor="start", halo=True)
    below = (face_mm + reach_mm * 0.6, low_mm - size * 0.8)
    sheet.text(below, words[0], size=size, anchor="start", halo=True)
    sheet.text((-reach_mm * 1.15, size * 0.8), "die top", size=size, colour=SOFT, anchor="start")
    return sheet.svg(title="Where a finger's face reaches", role="finger")


def _position(sheet: Sheet, x: float, tip_y: float, sheet_metal: Sequence[Point]) -> None:
    sheet.polygon([(px + x, py) for px, py in DIE], fill=STEEL, line=STEEL_LINE, thick=0.5)
    sheet.polygon(sheet_metal, fill="#f4a57c", line=SHEET, thick=0.5)
    sheet.polygon([(px + x, py + tip_y) for px, py in PUNCH], fill=STEEL, line=INK, thick=0.5)
