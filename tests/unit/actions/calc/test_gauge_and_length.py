"""`gauge` and `length`: what people type instead of millimetres."""

import pytest

from server.units.length import mm_from_inches
from tests.unit.actions.calc.contract import answered


@pytest.mark.parametrize(
    ("family", "inches"),
    [("steel", 0.0598), ("galvanized", 0.0635), ("stainless", 0.0625), ("aluminium", 0.0508)],
)
def test_sixteen_gauge_differs_by_family(family: str, inches: float) -> None:
    answer = answered("gauge", {"family": family, "gauge": 16})
    assert set(answer) >= {"thickness_in", "thickness_mm"}
    assert answer["thickness_in"] == inches
    assert answer["thickness_mm"] == pytest.approx(mm_from_inches(inches))


@pytest.mark.parametrize(
    ("text", "unit", "length_mm"),
    [
        ("12", "mm", 12.0),
        ("12", "in", 304.8),
        ("12.5 mm", "in", 12.5),
        ("1/2", "in", 12.7),
        ('1-1/2"', "mm", 38.1),
        ("1 1/2 in", "mm", 38.1),
        ('0.0598"', "mm", 1.51892),
        ("2'-3 1/2\"", "mm", 698.5),
        ("0,5 mm", "in", 0.5),
        ("-3 mm", "mm", -3.0),
        ("½ in", "mm", 12.7),
    ],
)
def test_a_length_is_read_the_way_it_was_meant(text: str, unit: str, length_mm: float) -> None:
    answer = answered("length", {"text": text, "unit": unit})
    assert set(answer) == {"mm"}
    assert answer["mm"] == pytest.approx(length_mm, rel=1e-15)


@pytest.mark.parametrize(
    ("family", "length_mm"), [("steel", 1.51892), ("galvanized", 1.6129), ("aluminium", 1.29032)]
)
def test_a_gauge_number_is_read_from_its_familys_table(family: str, length_mm: float) -> None:
    answer = answered("length", {"text": "16 ga", "unit": "mm", "family": family})
    assert answer["mm"] == pytest.approx(length_mm)
