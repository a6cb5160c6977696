"""The reader's own unit, both ways."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.errors import PLAIN_SYMBOL, Unit
from server.units.reader_unit import INCH_READER, from_reader, to_reader, unit_symbol


@pytest.mark.parametrize(
    ("value", "unit", "shown"),
    [
        (8.896443230521, "kn", 1.0),  # 2000 lbf, NIST SP 811 B.8
        (1.3558179483, "kn", 0.152400),
        (6.894757293168, "mpa", 1.0),  # 1 ksi, NIST SP 811 B.8
        (0.45359237, "kg", 1.0),  # exact
        (0.3048, "m_per_s", 1.0),  # exact
        (645.16, "mm2", 1.0),  # exact
        (29.187806, "kn_per_m", 1.0),  # 2000 lbf / ft
    ],
)
def test_factors_agree_with_published_ones(value: float, unit: Unit, shown: float) -> None:
    assert to_reader(value, unit, "in") == pytest.approx(shown, rel=1e-6)


@given(
    value=st.floats(-1e6, 1e6, allow_nan=False),
    unit=st.sampled_from(list(PLAIN_SYMBOL)),
    reader=st.sampled_from(["mm", "in"]),
)
def test_there_and_back_is_the_same(value: float, unit: Unit, reader: str) -> None:
    back = from_reader(to_reader(value, unit, reader), unit, reader)  # type: ignore[arg-type]
    assert back == pytest.approx(value, rel=1e-12, abs=1e-300)


def test_a_reader_in_mm_sees_ours_unchanged() -> None:
    assert to_reader(3.7, "kn", "mm") == 3.7
    assert unit_symbol("kn", "mm") == "kN"
    assert unit_symbol("deg", "in") == "°"
    assert set(INCH_READER) <= set(PLAIN_SYMBOL)
