"""Outlines and pieces typed as text: `0 0; 13 13.5; 13 96` and `500x3; 200x2`."""

import re
from collections.abc import Callable, Iterable, Sequence

from server.errors import ShopError
from server.geometry.outline import signed_area
from server.units.length import to_mm
from server.units.typed_length import typed_length_mm
from server.web.display import Display
from server.web.forms.form import NUMBER, Form, Problem

Point = tuple[float, float]
Check = Callable[[Iterable[Point]], Sequence[Point]]

MOST_POINTS = 400
MOST_PIECES = 200
LONGEST_PIECE_MM = 20_000.0
SPLIT = re.compile(r"[;\n]+")
TIMES = re.compile(r"\s*[x×*]\s*(?=\d+\s*$)", re.IGNORECASE)


def read_points(form: Form, name: str) -> tuple[Point, ...]:
    """The points of an outline as typed, in mm; empty while there is a problem."""
    pieces = [piece.strip() for piece in SPLIT.split(form.typed.get(name, "")) if piece.strip()]
    if not pieces:
        form.trouble(name, "There is no outline.", "Type its points, or draw it from numbers.")
        return ()
    if len(pieces) > MOST_POINTS:
        form.trouble(
            name, f"These are {len(pieces)} points.", f"Use at most {MOST_POINTS}; fewer will do."
        )
        return ()
    points: list[Point] = []
    for count, piece in enumerate(pieces, start=1):
        numbers = re.split(r"\s+|,\s+", piece.replace("\u2212", "-"))
        if len(numbers) != 2 or not all(NUMBER.fullmatch(number) for number in numbers):
            form.trouble(
                name,
                f"Point {count} is '{piece[:30]}'.",
                "A point is two numbers, x and y, with a space between; points end with ';'.",
            )
            return ()
        x, y = (to_mm(float(number.replace(",", ".")), form.unit) for number in numbers)
        points.append((x, y))
    return tuple(points)


def read_outline(form: Form, name: str, check: Check) -> tuple[Point, ...]:
    """A checked outline as it may be kept, in the order it was typed; empty with a problem."""
    points = read_points(form, name)
    if not points:
        return ()
    try:
        loop = tuple(check(points))
    except ShopError as trouble:
        form.problems.setdefault(name, Problem.of(trouble))
        return ()
    typed_order = loop if signed_area(points) > 0 else reversed(loop)
    return tuple((round(x, 4) + 0.0, round(y, 4) + 0.0) for x, y in typed_order)


def typed_points(points: Iterable[Sequence[float]], show: Display) -> str:
    """An outline as it stands in its field."""
    return "; ".join(f"{show.typed(x) or '0'} {show.typed(y) or '0'}" for x, y in points)


def read_pieces(form: Form, name: str) -> tuple[tuple[float, int], ...]:
    """Lengths and how many of each are owned, longest first; empty while there is a problem."""
    counts: dict[float, int] = {}
    for piece in SPLIT.split(form.typed.get(name, "")):
        if not piece.strip():
            continue
        length, *times = TIMES.split(piece.strip(), maxsplit=1)
        try:
            length_mm = typed_length_mm(length, unit=form.unit)
        except ShopError as trouble:
            form.problems.setdefault(name, Problem.of(trouble))
            return ()
        count = int(times[0]) if times and len(times[0]) < 5 else 1 if not times else 0
        if not 0.0 < length_mm <= LONGEST_PIECE_MM or not 0 < count <= MOST_PIECES:
            form.trouble(
                name,
                f"'{piece.strip()[:30]}' is not a length and a number of pieces.",
                "Type them like 500x3; 200x2; 100x1.",
            )
            return ()
        counts[round(length_mm, 4)] = counts.get(round(length_mm, 4), 0) + count
    return tuple(sorted(counts.items(), reverse=True))


def typed_pieces(pieces: Iterable[tuple[float, int]], show: Display) -> str:
    """Pieces as they stand in their field."""
    return "; ".join(f"{show.typed(length)}x{count}" for length, count in pieces)
