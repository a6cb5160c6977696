"""Long bend sequences cut into programs."""

from dataclasses import replace

import pytest

from server.errors import ShopError
from server.planning.planner import plan
from server.planning.sequence import PlanStep
from server.planning.split import split_programs
from tests.unit.planning.shop import profile_task

MADE = plan(profile_task([40.0, 60.0], [90.0]))


def steps(marks: str) -> list[PlanStep]:
    """One step for each mark: t tools changed, o turned over, . nothing."""
    assert MADE.sequence is not None
    return [
        replace(
            MADE.sequence.steps[0],
            number=number + 1,
            tools_changed=mark == "t",
            turned_over=mark == "o",
        )
        for number, mark in enumerate(marks)
    ]


def cut(marks: str, most: int) -> list[tuple[int, int]]:
    return [(one.first, one.last) for one in split_programs(steps(marks), most_steps=most)]


def test_a_short_sequence_is_one_program() -> None:
    assert cut("....", 10) == [(1, 4)]


def test_programs_are_as_few_and_as_even_as_possible() -> None:
    assert cut("........", 5) == [(1, 4), (5, 8)]


def test_a_change_of_tools_is_cut_first_even_when_uneven() -> None:
    assert cut("..t.....", 6) == [(1, 2), (3, 8)]


def test_a_turn_is_cut_before_a_plain_step() -> None:
    assert cut("...o....", 6) == [(1, 3), (4, 8)]


def test_every_step_is_in_exactly_one_program() -> None:
    found = cut("..t..o...t...o.", 4)
    covered = [n for first, last in found for n in range(first, last + 1)]
    assert covered == list(range(1, 16))
    assert all(last - first + 1 <= 4 for first, last in found)


def test_nothing_to_split_gives_no_program() -> None:
    assert split_programs([], most_steps=4) == ()


def test_a_control_without_steps_is_refused() -> None:
    with pytest.raises(ShopError):
        split_programs(steps(".."), most_steps=0)
