"""No published case is left unchecked, and none is checked in two places by two readings."""

from collections import Counter
from importlib import import_module

from tests.published.cases import HERE, Case, all_cases


def claimed_in(module_name: str) -> set[str]:
    module = import_module(f"tests.published.{module_name}")
    marks = (
        mark
        for member in vars(module).values()
        if callable(member)
        for mark in getattr(member, "pytestmark", ())
        if mark.name == "parametrize"
    )
    return {value.id for mark in marks for value in mark.args[1] if isinstance(value, Case)}


def test_every_case_is_claimed_by_exactly_one_file() -> None:
    names = [path.stem for path in HERE.glob("test_*.py") if path.stem != __name__.split(".")[-1]]
    claims = Counter(case_id for name in names for case_id in claimed_in(name))
    assert set(claims) == {case.id for case in all_cases()}
    assert [case_id for case_id, count in claims.items() if count > 1] == []


def test_there_are_337_cases_with_an_id_a_source_and_a_tolerance_each() -> None:
    cases = all_cases()
    assert len(cases) == len({case.id for case in cases}) == 337
    for case in cases:
        assert case.source
        assert set(case.tolerance) == set(case.expected)
