"""Typed lengths that need a decision: signs, separators, families, and texts read two ways."""

import pytest

from server.errors import ShopError
from server.units.length import mm_from_inches
from server.units.sheet_gauge import gauge_thickness_in
from server.units.typed_length import typed_length_mm, written_length


@pytest.mark.parametrize(
    ("text", "length_mm"),
    [
        ("  12 ", 12.0),
        ("12.", 12.0),
        (".5", 0.5),
        (",5", 0.5),
        ("12,5", 12.5),
        ("1.234,5", 1234.5),
        ("1,234.5", 1234.5),
        ("+7", 7.0),
        ("-7", -7.0),
        ("−7 mm", -7.0),
        ("1.5 cm", 15.0),
        ("0.25 m", 250.0),
        ("3 feet", mm_from_inches(36.0)),
        ("2 ft 3", mm_from_inches(27.0)),
        ("1’ 6”", mm_from_inches(18.0)),
        ("¾ in", mm_from_inches(0.75)),
        ("25/64 in", mm_from_inches(25 / 64)),
        ("3/2", 1.5),
    ],
)
def test_a_length_has_one_reading(text: str, length_mm: float) -> None:
    assert typed_length_mm(text, unit="mm") == pytest.approx(length_mm, rel=1e-15)


@pytest.mark.parametrize(
    ("text", "first", "second"),
    [
        ("1,500", "1.500", "1500"),
        ("1 -1/2", "1-1/2", "1 less 1/2"),
        ("1- 1/2", "1-1/2", "1 less 1/2"),
        ("11/2", "1-1/2", "5.5"),
        ("13/8", "1-3/8", "1.625"),
    ],
)
def test_a_text_with_two_readings_is_refused_and_both_are_shown(
    text: str, first: str, second: str
) -> None:
    with pytest.raises(ShopError) as caught:
        typed_length_mm(text, unit="in")
    assert caught.value.code == "ambiguous_length"
    assert first in str(caught.value.what)
    assert second in str(caught.value.what)


@pytest.mark.parametrize("text", ["+-5", "--5", "5-", "1/0", "1//2", "0/0", "1 2", "12 mm mm"])
def test_what_is_no_length_is_refused(text: str) -> None:
    with pytest.raises(ShopError):
        typed_length_mm(text, unit="mm")


def test_a_gauge_without_a_family_shows_what_each_family_would_mean() -> None:
    with pytest.raises(ShopError) as caught:
        typed_length_mm("16 gauge", unit="mm")
    told = str(caught.value.what)
    for thickness in ("1.519", "1.613", "1.587", "1.290"):
        assert thickness in told


def test_a_gauge_family_that_no_table_has_is_refused() -> None:
    with pytest.raises(ShopError) as caught:
        gauge_thickness_in(family="lead", gauge=16)  # type: ignore[arg-type]
    assert caught.value.code == "unknown_gauge_family"


def test_the_shortest_text_is_written() -> None:
    assert written_length(38.1, unit="in") == "1.5 in"
    assert written_length(38.1, unit="mm") == "38.1 mm"
    assert written_length(0.0, unit="in") == "0 in"
