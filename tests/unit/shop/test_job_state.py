"""A job's states: every allowed way, every way that is not, and what has to be there first."""

from dataclasses import replace
from datetime import date
from itertools import product
from typing import get_args

import pytest

from server.errors import ShopError
from server.shop.job_state import MOVES, JobFacts, JobState, check_move, need_move

TODAY = date(2026, 3, 2)
ALL: tuple[JobState, ...] = get_args(JobState)
SETTLED = JobFacts(
    quantity_count=10,
    good_count=10,
    has_price=True,
    has_bend_sequence=True,
    material_there=True,
    reason="customer asked",
)


def codes(before: JobState, after: JobState, facts: JobFacts) -> list[str]:
    return [finding.code for finding in check_move(before, after, facts, today=TODAY)]


@pytest.mark.parametrize(("before", "after"), list(product(ALL, ALL)))
def test_only_the_listed_moves_are_allowed(before: JobState, after: JobState) -> None:
    found = codes(before, after, SETTLED)
    if before == after:
        assert found == ["already_there"]
    elif after in MOVES[before]:
        assert found == []
    else:
        assert found == ["no_such_move"]


def test_every_state_can_be_reached_and_the_ordinary_way_leads_from_asked_to_gone() -> None:
    way: list[JobState] = ["asked"]
    while way[-1] != "gone":
        way.append(MOVES[way[-1]][0])
    assert way == ["asked", "priced", "won", "ready", "running", "made", "gone"]
    assert {after for afters in MOVES.values() for after in afters} == set(ALL)


@pytest.mark.parametrize(
    ("before", "after", "changed", "code"),
    [
        ("asked", "priced", {"has_price": False}, "no_price"),
        ("priced", "won", {"has_price": False}, "no_price"),
        ("priced", "won", {"price_valid_until": date(2026, 3, 1)}, "price_expired"),
        ("won", "ready", {"material_there": False}, "material_missing"),
        ("won", "ready", {"has_bend_sequence": False}, "no_bend_sequence"),
        ("ready", "running", {"revision_superseded": True}, "revision_superseded"),
        ("running", "made", {"good_count": 7}, "parts_missing"),
        ("running", "made", {"good_count": 7, "short_delivery_agreed": True}, "short_delivery"),
        ("running", "held", {"reason": " "}, "no_reason"),
        ("priced", "lost", {"reason": ""}, "no_reason"),
        ("held", "won", {"held_from": "running"}, "not_where_it_was"),
    ],
)
def test_what_is_missing_is_named(
    before: JobState, after: JobState, changed: dict[str, object], code: str
) -> None:
    facts = replace(SETTLED, **changed)  # type: ignore[arg-type]
    assert codes(before, after, facts) == [code]
    (finding,) = check_move(before, after, facts, today=TODAY)
    assert finding.level == "caution" or finding.frees is not None


def test_a_part_without_bends_needs_no_bend_sequence() -> None:
    facts = replace(SETTLED, has_bend_sequence=False, needs_bending=False)
    assert codes("won", "ready", facts) == []


def test_a_stopped_move_is_refused_with_its_remedy() -> None:
    with pytest.raises(ShopError) as refused:
        need_move("running", "made", replace(SETTLED, good_count=7), today=TODAY)
    assert refused.value.code == "parts_missing"
    assert "3 of 10" in str(refused.value)
    assert "cut list" in str(refused.value.remedy)
    need_move("running", "made", SETTLED, today=TODAY)
