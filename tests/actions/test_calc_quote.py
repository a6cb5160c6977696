"""The `quote` calculation keeps the contract's shapes and refuses bad input by field."""

import json
from copy import deepcopy
from typing import Any

import pytest

from server.actions.calc.front import calculate
from server.errors import ShopError

INPUT: dict[str, Any] = {
    "quantities": [1, 10, 50, 250],
    "material": {
        "price_per_kg": 1.35,
        "density_kg_m3": 7850,
        "sheet_mm": [3000, 1500],
        "scrap_allowance": 0.12,
    },
    "thickness_mm": 2,
    "blank_mm": [400, 250],
    "cut_length_mm": 1300,
    "pierces": 4,
    "bends": 4,
    "tool_changes": 1,
    "rates": {"cut_per_hour": 95, "brake_per_hour": 70},
    "times": {
        "cut_speed_mm_per_s": 60,
        "pierce_s": 0.6,
        "setup_min": 12,
        "tool_change_min": 8,
        "first_article_min": 10,
        "bend_s": 12,
    },
    "margin": 0.25,
}


def answered(**changes: object) -> dict[str, Any]:
    return json.loads(json.dumps(calculate("quote", {**deepcopy(INPUT), **changes})))  # type: ignore[no-any-return]


def test_the_contract_s_fields_carry_the_hand_worked_figures() -> None:
    answer = answered(spacing_mm=5)
    assert answer["blanks_per_sheet"] == 41
    ten = answer["breaks"][1]
    wanted = {
        "quantity": 10,
        "material": "23.74",
        "cutting": "6.35",
        "bending": "9.33",
        "setup": "35.00",
        "unit_price": "9.92",
        "total": "99.23",
        "sheets": 1,
    }
    assert {name: ten[name] for name in wanted} == wanted


def test_spacing_is_optional_and_the_minimum_charge_holds() -> None:
    answer = answered(quantities=[1], minimum_charge=65.5)
    assert answer["breaks"][0]["total"] == "65.50"
    assert answer["breaks"][0]["minimum_applied"] is True
    assert answer["blanks_per_sheet"] == 44


def test_an_outline_area_may_stand_for_the_blank() -> None:
    values = {k: v for k, v in INPUT.items() if k != "blank_mm"}
    answer = calculate("quote", {**values, "outline_area_mm2": 100_000})
    assert answer["blanks_per_sheet"] == 40


def test_every_figure_is_explained() -> None:
    explained = answered()["breaks"][0]["explained"]
    assert explained["name"] == "total"
    names = {part["name"] for part in explained["parts"][0]["parts"]}
    assert names == {"material", "cutting", "setup", "bending"}


@pytest.mark.parametrize(
    ("changes", "code", "where"),
    [
        ({"quantities": [0]}, "no_quantity", "quantity"),
        ({"quantities": []}, "too_few", "quantities"),
        ({"quantities": [1.5]}, "not_a_whole_number", "quantities.0"),
        ({"quantities": ["10"]}, "not_a_whole_number", "quantities.0"),
        ({"blank_mm": [400]}, "too_few", "blank_mm"),
        ({"blank_mm": [4000, 250]}, "blank_exceeds_sheet", "blank_mm"),
        ({"blank_mm": [0, 250]}, "out_of_range", "blank_mm"),
        ({"thickness_mm": 0}, "out_of_range", "thickness_mm"),
        ({"margin": 25}, "margin_eats_price", "margin"),
        ({"margin": "25 %"}, "not_a_number", "margin"),
        ({"pierces": -1}, "out_of_range", "pierces"),
        ({"colour": "red"}, "unknown_field", "colour"),
    ],
)
def test_bad_input_is_refused_by_field(changes: dict[str, object], code: str, where: str) -> None:
    with pytest.raises(ShopError) as refused:
        answered(**changes)
    assert (refused.value.code, refused.value.where) == (code, where)
