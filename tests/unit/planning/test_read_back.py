"""Story 3, and the usual slips: digits marked, sums off, start locked, override logged."""

from datetime import UTC, datetime
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.errors import ShopError
from server.planning.key_in import KeyField, KeyInSheet, KeyLayout, StepToKey, key_in_sheet
from server.planning.read_back import Place, ReadBack, override, read_back

LAYOUT = KeyLayout("mm", {"x": 0.05, "y": 0.01})
NUMBERS = ((25.05, 106.15), (40.20, 106.12), (61.35, 102.50), (33.10, 99.80))
NOW = datetime(2024, 5, 6, 7, 8, tzinfo=UTC)


def sheet_of(numbers: tuple[tuple[float, float], ...] = NUMBERS) -> KeyInSheet:
    return key_in_sheet(
        layout=LAYOUT,
        steps=[
            StepToKey(index + 1, {"x": x, "y": y}, 90.0 - index, "P1 / V16")
            for index, (x, y) in enumerate(numbers)
        ],
    )


SHEET = sheet_of()
RIGHT: dict[Place, str] = {
    (line.number, value.name): value.text for line in SHEET.lines for value in line.values
}


def checked(**changed: str) -> ReadBack:
    """The sheet read back with some places changed: `x1="25.50"`."""
    typed = dict(RIGHT)
    for place, text in changed.items():
        name: KeyField = "x" if place[0] == "x" else "y"
        typed[int(place[1:]), name] = text
    return read_back(sheet=SHEET, typed=typed, step_count=4)


def likely(check: ReadBack) -> list[str]:
    return [str(cell.likely) for cell in check.wrong]


def test_story_3_25_50_against_25_05_marks_the_digits_and_locks_the_start() -> None:
    check = checked(x1="25.50")
    (cell,) = check.wrong
    assert list(cell.marks) == [False, False, False, True, True]
    assert check.sums_off == {"x": Decimal("0.45"), "y": Decimal("0.00")}
    assert check.locked
    assert "exchanged" in str(cell.likely)


def test_story_3_an_override_is_logged_with_name_time_and_reason() -> None:
    kept = override(check=checked(x1="25.50"), by="Ines", at=NOW, reason="gauge was moved by hand")
    assert (kept.by, kept.at, kept.reason) == ("Ines", NOW, "gauge was moved by hand")
    assert kept.differed == ("step 1 x: 25.50 against 25.05",)


@pytest.mark.parametrize(
    ("by", "reason", "code"),
    [("Ines", "", "reason_missing"), ("Ines", "  ", "reason_missing"), ("", "why", "name_missing")],
)
def test_an_override_without_name_or_reason_is_refused(by: str, reason: str, code: str) -> None:
    with pytest.raises(ShopError) as trouble:
        override(check=checked(x1="25.50"), by=by, at=NOW, reason=reason)
    assert trouble.value.code == code


def test_what_is_right_is_not_locked_and_has_nothing_to_override() -> None:
    check = checked()
    assert not check.locked
    assert check.wrong == ()
    with pytest.raises(ShopError):
        override(check=check, by="Ines", at=NOW, reason="because")


@pytest.mark.parametrize("text", ["25.05", "25,05", "25.050", " 25.05 ", "025.05", "+25.05"])
def test_the_same_number_written_otherwise_is_right(text: str) -> None:
    assert not checked(x1=text).locked


def test_what_was_not_read_keeps_the_start_locked_and_a_tick_will_do() -> None:
    typed = {place: text for place, text in RIGHT.items() if place != (3, "y")}
    assert read_back(sheet=SHEET, typed=typed).locked
    assert not read_back(sheet=SHEET, typed=typed, ticked=frozenset({(3, "y")})).locked
    assert read_back(sheet=SHEET, typed={}, ticked=frozenset()).locked


@pytest.mark.parametrize(
    "text", ["", "abc", "12.34.56", "nan", "1e99", "9" * 60, "--5", "Infinity"]
)
def test_what_is_no_number_is_not_taken_for_right(text: str) -> None:
    check = checked(x1=text)
    assert check.locked
    assert len(check.wrong[0].marks) == len(text)


def test_a_wrong_step_count_locks_though_every_number_is_right() -> None:
    assert read_back(sheet=SHEET, typed=RIGHT, step_count=5).locked
    kept = override(
        check=read_back(sheet=SHEET, typed=RIGHT, step_count=5), by="I", at=NOW, reason="known"
    )
    assert kept.differed == ("step count off by +1",)


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"x2": "402.0"}, "ten times"),
        ({"x2": "4.02"}, "a tenth"),
        ({"x1": "636.27"}, "inches taken for millimetres"),
        ({"x1": "0.986"}, "millimetres taken for inches"),
        ({"x1": "106.15"}, "Y was read in the place of X"),
        ({"y1": "25.05"}, "X was read in the place of Y"),
        ({"x1": "-25.05"}, "sign"),
        ({"x1": "61.35"}, "step 3's number"),
    ],
)
def test_the_usual_slips_are_named(changed: dict[str, str], words: str) -> None:
    assert words in " ".join(likely(checked(**changed)))


def test_5_25_as_52_5_and_as_2_55_are_told_apart() -> None:
    sheet = key_in_sheet(layout=LAYOUT, steps=[StepToKey(1, {"x": 5.25, "y": 99.0}, 90.0, "T")])
    for text, words in (("52.5", "ten times"), ("2.55", "exchanged")):
        check = read_back(sheet=sheet, typed={(1, "x"): text, (1, "y"): "99.00"})
        assert words in str(check.wrong[0].likely)


def test_a_program_not_keyed_over_is_recognised_by_what_it_held() -> None:
    old = {(number, name): f"{10 * number}.{5 if name == 'x' else 7}0" for number, name in RIGHT}
    check = read_back(sheet=SHEET, typed=old, held_before=old)
    assert any("held before" in str(one) for one in check.patterns)


def test_a_skipped_step_is_recognised_by_its_followers() -> None:
    typed = dict(RIGHT)
    for number in (2, 3):
        for name in ("x", "y"):
            typed[number, name] = RIGHT[number + 1, name]
    typed[4, "x"], typed[4, "y"] = "0.00", "0.00"
    check = read_back(sheet=SHEET, typed=typed, step_count=3)
    assert any("From step 2" in str(one) for one in check.patterns)


def test_a_left_over_offset_is_recognised_in_its_column() -> None:
    check = checked(x1="25.55", x2="40.70", x3="61.85", x4="33.60")
    assert [str(one) for one in check.patterns] == [
        "Every X is off by +0.50: an offset is left over in the control."
    ]
    assert check.sums_off["x"] == Decimal("2.00")


def test_a_whole_program_in_inches_is_said_once() -> None:
    typed = {place: f"{float(text) / 25.4:.3f}" for place, text in RIGHT.items()}
    check = read_back(sheet=SHEET, typed=typed)
    assert any(
        "Every one of them is millimetres taken for inches" in str(p) for p in check.patterns
    )


@given(
    st.dictionaries(
        st.tuples(st.integers(1, 4), st.sampled_from(["x", "y"])), st.text(max_size=14), max_size=8
    )
)
def test_whatever_is_typed_only_the_right_numbers_unlock(typed: dict[Place, str]) -> None:
    check = read_back(sheet=SHEET, typed={**RIGHT, **typed})
    for cell in check.cells:
        assert len(cell.marks) == len(cell.typed)
        text = {**RIGHT, **typed}[cell.step, cell.name].strip().replace(",", ".")
        try:
            same = len(text) <= 12 and Decimal(text) == Decimal(RIGHT[cell.step, cell.name])
        except ArithmeticError:
            same = False
        assert cell.right is same
        assert not (cell.right and any(cell.marks))
