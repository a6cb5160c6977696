"""The published values, and how a test claims and checks them.

`published_values.json` holds numbers printed by standards, handbooks and textbooks, or derived from
their formulas by hand, each with its source and whether it was read there or remembered. A test
takes its cases with `@each("ID-", ...)` and hands the program's numbers to `case.check`, which wants
exactly the values the source printed, each within the case's own tolerance.
"""

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

import pytest

from server.actions.calc.front import calculate
from server.units.length import mm_from_inches

HERE = Path(__file__).parent
ROUNDING = 1e-9
Test = TypeVar("Test", bound=Callable[..., None])


@dataclass(frozen=True)
class Case:
    """One published example."""

    id: str
    inputs: Mapping[str, Any]
    expected: Mapping[str, Any]
    tolerance: Mapping[str, float]
    source: str

    def check(self, **found: float) -> None:
        """Assert that the program found what was published, all of it, within the tolerance."""
        assert set(found) == set(self.expected), "every published value has to be checked"
        for name, value in found.items():
            wanted, allowed = self.expected[name], self.tolerance[name]
            assert abs(value - wanted) <= allowed + ROUNDING * max(1.0, abs(wanted)), (
                f"{self.id} {name}: {value} is not {wanted} +/- {allowed} of {self.source}"
            )

    def check_inside(self, value: float, *, least: str, most: str) -> None:
        """Assert that a value lies in a published band, widened by its tolerance."""
        assert {least, most} == set(self.expected)
        low = self.expected[least] - self.tolerance[least]
        high = self.expected[most] + self.tolerance[most]
        assert low <= value <= high, f"{self.id}: {value} not in {low} .. {high} of {self.source}"


@cache
def all_cases() -> tuple[Case, ...]:
    read = json.loads((HERE / "published_values.json").read_text(encoding="utf-8"))
    return tuple(
        Case(row["id"], row["inputs"], row["expected"], row["tolerance"], row["source"])
        for row in read["cases"]
    )


def cases(*names: str) -> list[Case]:
    """Cases by id, or by the beginning of the id where the name ends in a hyphen."""
    found = []
    for name in names:
        here = [
            case
            for case in all_cases()
            if case.id == name or (name.endswith("-") and case.id.startswith(name))
        ]
        assert here, f"no published case {name}"
        found += here
    return found


def each(*names: str) -> Callable[[Test], Test]:
    """Run a test once for each of the named cases, and claim them for its file."""
    return pytest.mark.parametrize("case", cases(*names), ids=lambda case: case.id)


def ask(name: str, body: Mapping[str, object]) -> Any:
    """The program's answer through the contract that outside programs use."""
    return calculate(name, body)


def ask_flat(*, thickness_mm: float, legs_mm: list[float], bends: list[dict[str, object]]) -> Any:
    """The flat of a constant-section part with outside legs, through the contract."""
    return ask(
        "flat",
        {"thickness_mm": thickness_mm, "legs_mm": legs_mm, "legs_are": "outside", "bends": bends},
    )


def mm(*lengths_in: float) -> list[float]:
    """Millimetres of a source that prints inches."""
    return [mm_from_inches(length) for length in lengths_in]
