"""EN 10131:2006, EN 10051, EN 10259 / ISO 9445, EN 485-4:1994: thickness of delivered sheet.

Every row of `thickness_tolerances.csv`, each read in a copy of the standard or in a stockholder's
summary of it, over its whole range of thickness and each of its widths.
"""

import csv

import pytest

from server.errors import ShopError
from server.mechanics.sheet_tolerance import TABLES, SheetStandard, thickness_tolerance
from tests.published.cases import HERE

STANDARDS: tuple[SheetStandard, ...] = ("EN 10131", "EN 10051", "EN 10259", "EN 485-4")
COLUMNS = ("tol_mm_normal_w<=1200", "tol_1200_1500", "tol_>1500")


def rows() -> list[tuple[SheetStandard, dict[str, str]]]:
    with (HERE / "thickness_tolerances.csv").open(encoding="utf-8", newline="") as lines:
        return [
            (next(name for name in STANDARDS if row["standard"].startswith(name)), row)
            for row in csv.DictReader(lines)
        ]


@pytest.mark.parametrize(
    ("standard", "row"),
    rows(),
    ids=lambda value: value["nominal_to_mm"] if isinstance(value, dict) else value,
)
def test_deviation_over_the_whole_row(standard: SheetStandard, row: dict[str, str]) -> None:
    least = float(row["nominal_over_mm"] or 1.0)
    most = float(row["nominal_to_mm"])
    from_least = least if TABLES[standard].lower_included else least + 0.01
    widths = TABLES[standard].widths_mm
    for thickness_mm in (from_least, most):
        for column, width_mm in zip(COLUMNS, (widths[0], widths[1], widths[1] + 1), strict=True):
            found = thickness_tolerance(
                standard=standard, thickness_mm=thickness_mm, width_mm=width_mm
            )
            assert found == float(row[column])
        if row["tol_special_w<=1200"]:
            special = thickness_tolerance(
                standard=standard, thickness_mm=thickness_mm, width_mm=widths[0], special=True
            )
            assert special == float(row["tol_special_w<=1200"])


@pytest.mark.parametrize(
    ("standard", "thickness_mm", "width_mm"),
    [("EN 10131", 0.6, 1000.0), ("EN 10131", 3.01, 1000.0), ("EN 10259", 1.3, 1000.0),
     ("EN 485-4", 1.0, 1700.0)],
)  # fmt: skip
def test_a_row_that_was_not_read_is_not_guessed(
    standard: SheetStandard, thickness_mm: float, width_mm: float
) -> None:
    with pytest.raises(ShopError) as caught:
        thickness_tolerance(standard=standard, thickness_mm=thickness_mm, width_mm=width_mm)
    assert caught.value.code == "out_of_table"


def test_every_row_we_hold_was_read_or_says_that_it_was_not() -> None:
    read = {(standard, float(row["nominal_over_mm"] or 0.0)) for standard, row in rows()}
    for standard, table in TABLES.items():
        for row in table.rows:
            assert ((standard, row.over_mm) in read) is not row.from_memory
