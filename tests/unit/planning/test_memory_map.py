"""Story 10 and the slots of a control: free, taken, split, superseded."""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.errors import ShopError
from server.planning.memory_map import (
    MemoryMap,
    Placement,
    SlotContent,
    check_slots,
    placed,
    placement,
    programs_named,
)

TODAY = date(2024, 5, 6)
OLD = SlotContent(
    "BRACKET-7", "A", "1", step_count=4, keyed_on=date(2024, 2, 1), keyed_by="Ines",
    digits={(1, "x"): "25.05"},
)  # fmt: skip
NEW = SlotContent("COVER-2", "B", "1", step_count=6, keyed_on=TODAY)


def two_programs(content: SlotContent) -> tuple[SlotContent, ...]:
    return tuple(replace(content, program_of=(which, 2)) for which in (1, 2))


def test_story_10_an_occupied_number_names_what_is_lost_and_archives_it() -> None:
    memory = MemoryMap(10, {3: OLD})
    place = placement(memory=memory, contents=(NEW,), chosen=(3,))
    (finding,) = place.findings
    for word in ("Program 3", "BRACKET-7", "revision A", "2024-02-01", "Ines", "lost"):
        assert word in str(finding.what)
    after, archived = placed(memory=memory, place=place, contents=(NEW,), on=TODAY)
    assert after.slots == {3: NEW}
    assert [(one.number, one.content, one.on) for one in archived] == [(3, OLD, TODAY)]
    assert archived[0].content.digits == {(1, "x"): "25.05"}  # it can be keyed again
    assert "COVER-2" in archived[0].replaced_by


def test_without_a_wish_a_free_number_is_taken_and_nothing_is_lost() -> None:
    memory = MemoryMap(10, {1: OLD, 2: OLD})
    place = placement(memory=memory, contents=(NEW,))
    assert place == Placement((3,), (), ())
    assert memory.free == (3, 4, 5, 6, 7, 8, 9, 10)


def test_a_sequence_keyed_before_stays_where_it_is() -> None:
    memory = MemoryMap(10, {4: NEW, 1: OLD})
    place = placement(memory=memory, contents=(NEW,))
    assert place.numbers == (4,)
    assert place.findings == ()


def test_a_split_sequence_takes_numbers_next_to_each_other_where_it_can() -> None:
    scattered = MemoryMap(8, {2: OLD, 4: OLD})
    assert placement(memory=scattered, contents=two_programs(NEW)).numbers == (5, 6)
    no_run = MemoryMap(5, {2: OLD, 4: OLD})
    assert placement(memory=no_run, contents=two_programs(NEW)).numbers == (1, 3)


def test_a_sequence_that_moves_leaves_its_old_number_free() -> None:
    memory = MemoryMap(10, {4: NEW, 1: OLD})
    place = placement(memory=memory, contents=(NEW,), chosen=(7,))
    after, archived = placed(memory=memory, place=place, contents=(NEW,), on=TODAY)
    assert after.slots == {1: OLD, 7: NEW}
    assert archived == ()


def test_a_newer_revision_does_not_take_the_older_ones_place_silently() -> None:
    memory = MemoryMap(10, {3: OLD})
    newer = replace(OLD, revision_label="B")
    assert placement(memory=memory, contents=(newer,)).numbers == (1,)
    assert placement(memory=memory, contents=(newer,), chosen=(3,)).overwritten == ((3, OLD),)


def test_story_14_a_superseded_program_in_the_control_is_a_stop() -> None:
    memory = MemoryMap(10, {3: OLD, 5: NEW})
    (stop,) = check_slots(memory=memory, newest_revisions={"BRACKET-7": "B", "COVER-2": "B"})
    assert stop.level == "stop"
    assert "Program 3" in str(stop.what)


@pytest.mark.parametrize(
    ("chosen", "code"),
    [
        ((11, 1), "no_such_program"),
        ((0, 1), "no_such_program"),
        ((2, 2), "number_chosen_twice"),
        ((2,), "wrong_count_of_numbers"),
    ],
)
def test_numbers_that_cannot_be_are_refused(chosen: tuple[int, ...], code: str) -> None:
    with pytest.raises(ShopError) as trouble:
        placement(memory=MemoryMap(10), contents=two_programs(NEW), chosen=chosen)
    assert trouble.value.code == code


def test_a_full_control_asks_which_to_key_over() -> None:
    full = MemoryMap(2, {1: OLD, 2: OLD})
    with pytest.raises(ShopError) as trouble:
        placement(memory=full, contents=(NEW,))
    assert trouble.value.code == "no_free_program"


def test_a_control_without_programs_or_a_slot_beyond_the_last_is_refused() -> None:
    with pytest.raises(ShopError):
        MemoryMap(0)
    with pytest.raises(ShopError):
        MemoryMap(5, {6: OLD})


@given(
    st.integers(1, 12),
    st.sets(st.integers(1, 12)),
    st.integers(1, 4),
    st.lists(st.integers(1, 12), min_size=1, max_size=4),
)
def test_nothing_is_ever_lost_without_being_named(
    count: int, taken: set[int], programs: int, chosen: list[int]
) -> None:
    memory = MemoryMap(
        count,
        {number: replace(OLD, part_number=f"P{number}") for number in taken if number <= count},
    )
    contents = tuple(replace(NEW, program_of=(which + 1, programs)) for which in range(programs))
    try:
        place = placement(memory=memory, contents=contents, chosen=chosen)
    except ShopError:
        return
    after, archived = placed(memory=memory, place=place, contents=contents, on=TODAY)
    kept = {content.part_number for content in after.slots.values()}
    kept |= {one.content.part_number for one in archived}
    assert kept == {content.part_number for content in memory.slots.values()} | {"COVER-2"}
    assert len(place.findings) == len(archived)


@pytest.mark.parametrize(("numbers", "text"), [((), ""), ((4,), "4"), ((1, 2, 3, 7), "1-3, 7")])
def test_program_numbers_are_said_in_runs(numbers: tuple[int, ...], text: str) -> None:
    assert programs_named(numbers) == text
