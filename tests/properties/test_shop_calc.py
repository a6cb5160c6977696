"""`quote` and `schedule` answer or refuse, whatever the numbers: no bug, no infinity, no long wait."""

import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.properties.test_calc_never_breaks import holds, junk, numbers
from tests.unit.actions.calc.contract import Json, changed, leaves, refused

QUOTE: Json = {
    "quantities": [1, 10],
    "material": {
        "price_per_kg": 1.35, "density_kg_m3": 7850, "sheet_mm": [3000, 1500],
        "scrap_allowance": 0.12,
    },
    "thickness_mm": 2, "blank_mm": [400, 250], "outline_area_mm2": 90000, "cut_length_mm": 1300,
    "pierces": 4, "bends": 4, "tool_changes": 1,
    "rates": {"cut_per_hour": 95, "brake_per_hour": 70},
    "times": {
        "cut_speed_mm_per_s": 60, "pierce_s": 0.6, "setup_min": 12, "tool_change_min": 8,
        "first_article_min": 10, "bend_s": 12, "load_s": 3, "programming_min": 1,
    },
    "margin": 0.25, "minimum_charge": 45, "spacing_mm": 5, "edge_mm": 8, "overhead": 0.1,
}  # fmt: skip
SCHEDULE: Json = {
    "now": "2026-03-02T07:00:00",
    "brakes": ["B1", "B2"],
    "jobs": [
        {"id": "J1", "minutes": 60, "due": "2026-03-02T08:00:00", "family": "A", "pinned": True},
        {"id": "J2", "minutes": 30.5, "due": "2026-03-02T08:10:00", "family": "B", "weight": 2.5},
        {"id": "J3", "minutes": 45, "due": "2026-03-02T08:20:00", "family": "A",
         "ready": "2026-03-02T07:30:00"},
    ],
    "changeover_min": {"same": 0, "other": 20},
    "time_budget_s": 0.01,
}  # fmt: skip
BODIES: dict[str, Json] = {"quote": QUOTE, "schedule": SCHEDULE}
places = st.sampled_from([(name, path) for name, body in BODIES.items() for path in leaves(body)])
times = st.sampled_from(
    ["2026-03-02", "2026-13-01T00:00", "9999-12-31T23:59:59", "0001-01-01T00:00", "1970-01-01T00:00",
     "2300-12-31T23:59:59.999999", "2026-03-02T07:00:00+23:59", "2026-W10-1T07:00", "T", "", "now"]
)  # fmt: skip


def quick(body: Any) -> Any:
    """The same body with little effort, so that a wild number does not start a long search."""
    if isinstance(body, dict) and isinstance(body.get("time_budget_s"), int | float):
        return {**body, "time_budget_s": min(body["time_budget_s"], 0.01)}
    return body


@settings(max_examples=500, deadline=None, derandomize=True)
@given(places, numbers)
def test_one_odd_number_anywhere(place: tuple[str, str], value: float) -> None:
    name, path = place
    holds(name, quick(changed(BODIES[name], path, value)))


@pytest.mark.parametrize("amount", [1e308, -1e308, 1e16, 10**400])
def test_an_amount_no_shop_charges_is_refused_beside_its_field(amount: float) -> None:
    error = refused("quote", changed(QUOTE, "minimum_charge", amount))
    assert error["field"] == "minimum_charge"


@settings(max_examples=300, deadline=None, derandomize=True)
@given(st.data(), st.sampled_from(list(BODIES)))
def test_many_odd_numbers_at_once(data: st.DataObject, name: str) -> None:
    body: Json = BODIES[name]
    for path in data.draw(st.lists(st.sampled_from(list(leaves(body))), max_size=6, unique=True)):
        body = changed(body, path, data.draw(numbers))
    holds(name, quick(body))


@settings(max_examples=300, deadline=None, derandomize=True)
@given(places, junk)
def test_anything_at_all_anywhere(place: tuple[str, str], value: object) -> None:
    name, path = place
    holds(name, quick(changed(BODIES[name], path, value)))


@settings(max_examples=200, deadline=None, derandomize=True)
@given(st.sampled_from(["now", "jobs.0.due", "jobs.2.ready", "jobs.0.pinned"]), times)
def test_any_time_anywhere(path: str, value: str) -> None:
    holds("schedule", changed(SCHEDULE, path, value))


def test_braces_in_names_are_only_names() -> None:
    body = json.loads(json.dumps(SCHEDULE).replace("J1", "{0}").replace('"A"', '"{x}"'))
    holds("schedule", body)
    holds("schedule", changed(body, "jobs.1.id", "{0}"))
