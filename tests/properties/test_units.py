"""Typed lengths and gauges: what is written is read back, and nothing is read two ways."""

import math

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from server.errors import ShopError
from server.units.length import LengthUnit, from_mm, inches_from_mm, mm_from_inches, to_mm
from server.units.sheet_gauge import GAUGE_FAMILIES, RANGE, GaugeFamily, gauge_thickness_in
from server.units.typed_length import typed_length_mm, written_length

lengths = st.one_of(
    st.just(0.0),
    st.floats(1e-6, 1e6),
    st.floats(-1e6, -1e-6),
    st.integers(-(10**6), 10**6).map(lambda micrometres: micrometres / 1000),
    st.integers(-(10**5), 10**5).map(lambda sixtyfourths: mm_from_inches(sixtyfourths / 64) / 10),
)
units: st.SearchStrategy[LengthUnit] = st.sampled_from(("mm", "in"))


def read_or_refused(text: str, unit: LengthUnit) -> float | ShopError:
    try:
        return typed_length_mm(text, unit=unit)
    except ShopError as trouble:
        return trouble


@given(lengths, units, units)
def test_a_written_length_is_read_back_exactly(
    length_mm: float, written_in: LengthUnit, reader: LengthUnit
) -> None:
    text = written_length(length_mm, unit=written_in)
    assert typed_length_mm(text, unit=reader) == length_mm


@given(st.integers(0, 200), st.integers(1, 63), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_a_mixed_fraction_is_its_whole_and_its_part(whole: int, top: int, bottom: int) -> None:
    expected = mm_from_inches(whole + top / bottom)
    for text in (f'{whole}-{top}/{bottom}"', f"{whole} {top}/{bottom} in"):
        assert typed_length_mm(text, unit="mm") == pytest.approx(expected, rel=1e-15)


@given(st.integers(0, 40), st.integers(0, 11))
def test_feet_and_inches_add_up(feet: int, inches: int) -> None:
    expected = mm_from_inches(12 * feet + inches)
    for text in (
        f"{feet}'{inches}\"",
        f"{feet}' {inches}\"",
        f"{feet}'-{inches}\"",
        f"{feet} ft {inches}",
    ):
        assert typed_length_mm(text, unit="mm") == pytest.approx(expected, rel=1e-15)


@given(st.text(max_size=60), units)
@example("\x00", "mm")
@example("١٢", "mm")
@example("1\u20444", "in")
@example("{}", "mm")
@example("1e308 mm", "mm")
@example("--1", "mm")
@example(".", "mm")
@example(",", "mm")
@example("1..2", "mm")
@example("1/2/3", "mm")
@example("-", "mm")
@example("²", "mm")
def test_any_text_is_a_finite_length_or_a_trouble_a_person_can_fix(
    text: str, unit: LengthUnit
) -> None:
    read = read_or_refused(text, unit)
    if isinstance(read, ShopError):
        assert str(read.what)
        assert read.code
    else:
        assert math.isfinite(read)
        assert abs(read) <= 1e6


@given(st.text(alphabet="0123456789 .,-/'\"mincftga", max_size=14), units)
def test_any_length_like_text_is_read_or_refused(text: str, unit: LengthUnit) -> None:
    read, spaced = read_or_refused(text, unit), read_or_refused(f"  {text} ", unit)
    if isinstance(read, ShopError):
        assert isinstance(spaced, ShopError)
        assert spaced.code == read.code
    else:
        assert spaced == read


@given(st.floats(-1e6, 1e6), units)
def test_conversion_there_and_back_is_the_same_length(length: float, unit: LengthUnit) -> None:
    assert from_mm(to_mm(length, unit), unit) == pytest.approx(length, rel=1e-15)
    assert mm_from_inches(inches_from_mm(length)) == pytest.approx(length, rel=1e-15)


@pytest.mark.parametrize("family", GAUGE_FAMILIES)
def test_a_higher_gauge_number_is_never_thicker(family: GaugeFamily) -> None:
    least, most = RANGE[family]
    thick = [gauge_thickness_in(family=family, gauge=gauge) for gauge in range(least, most + 1)]
    assert thick == sorted(thick, reverse=True)
    for outside in (least - 1, most + 1):
        with pytest.raises(ShopError):
            gauge_thickness_in(family=family, gauge=outside)
