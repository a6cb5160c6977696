"""Outlines and pieces as text: what was written is read back, and no text breaks the reader."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.actions.history import settled
from server.web.display import Display
from server.web.forms.form import Form
from server.web.forms.outline import read_pieces, read_points, typed_pieces, typed_points

LENGTHS = st.floats(-2000, 2000, allow_nan=False).map(lambda x: round(x, 3))
UNITS = st.sampled_from(["mm", "in"])


@given(points=st.lists(st.tuples(LENGTHS, LENGTHS), min_size=1, max_size=30), unit=UNITS)
def test_points_read_back_to_what_was_written(points: list[tuple[float, float]], unit: str) -> None:
    show = Display(unit=unit)  # type: ignore[arg-type]
    form = Form({"profile": typed_points(points, show)}, show.unit)
    read = read_points(form, "profile")
    assert form.ok
    assert settled([list(p) for p in points], [list(p) for p in read]) == [list(p) for p in points]


@given(
    pieces=st.dictionaries(
        st.floats(1, 5000).map(lambda x: round(x, 2)), st.integers(1, 99), min_size=1, max_size=12
    ),
    unit=UNITS,
)
def test_pieces_read_back_to_what_was_written(pieces: dict[float, int], unit: str) -> None:
    show = Display(unit=unit)  # type: ignore[arg-type]
    owned = tuple(sorted(pieces.items(), reverse=True))
    form = Form({"segments": typed_pieces(owned, show)}, show.unit)
    read = read_pieces(form, "segments")
    assert form.ok
    assert [count for _, count in read] == [count for _, count in owned]
    assert settled([x for x, _ in owned], [x for x, _ in read]) == [x for x, _ in owned]


@given(text=st.text(max_size=60), unit=UNITS)
def test_no_text_breaks_the_reader(text: str, unit: str) -> None:
    """Whatever was typed: points or a problem beside the field, never an exception."""
    form = Form({"profile": text, "segments": text}, unit)  # type: ignore[arg-type]
    assert read_points(form, "profile") or "profile" in form.problems
    pieces = read_pieces(form, "segments")
    assert pieces or "segments" in form.problems or not text.strip("; \n\t\r") or not text.strip()


@pytest.mark.parametrize(
    ("text", "pieces"),
    [
        ("500x3; 200 x 2", ((500.0, 3), (200.0, 2))),
        ("500×3\n200*2;", ((500.0, 3), (200.0, 2))),
        ("100; 100; 100", ((100.0, 3),)),
        ("19 11/16 in x 2", ((500.0625, 2),)),
        ("12,5x2", ((12.5, 2),)),
        ("", ()),
    ],
)
def test_pieces_are_read_the_way_people_type_them(
    text: str, pieces: tuple[tuple[float, int], ...]
) -> None:
    form = Form({"segments": text})
    assert read_pieces(form, "segments") == pieces
    assert form.ok


@pytest.mark.parametrize(
    "text",
    ["0 0; 10 10; -10 10", "0 0\n10 10\n-10 10", "0, 0; 10, 10; -10, 10;", "0 0;10 10;−10 10"],
)
def test_points_are_read_the_way_people_type_them(text: str) -> None:
    form = Form({"profile": text})
    assert read_points(form, "profile") == ((0.0, 0.0), (10.0, 10.0), (-10.0, 10.0))
