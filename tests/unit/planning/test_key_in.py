"""The key-in sheet: digits in the control's order, sums to check by, odd values, thickness range."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.errors import ShopError
from server.planning.key_in import (
    KeyLayout,
    StepToKey,
    check_thickness_for_sheet,
    key_in_sheet,
    likely_slip,
)
from server.units.length import mm_from_inches

MM = KeyLayout("mm", {"x": 0.05, "y": 0.01, "r": 0.1})
INCH = KeyLayout("in", {"x": mm_from_inches(0.001), "y": mm_from_inches(0.001)}, ("y", "x"))


def step(
    number: int, x_mm: float, y_mm: float, angle_deg: float = 90.0, **more: object
) -> StepToKey:
    return StepToKey(number, {"x": x_mm, "y": y_mm, "r": 5.0}, angle_deg, "P1 / V16", **more)  # type: ignore[arg-type]


STEPS = (step(1, 25.05, 106.15), step(2, 40.2, 106.12), step(3, 61.35, 102.5, 45.0))


def test_the_digits_have_every_decimal_of_the_control_and_stand_in_its_order() -> None:
    sheet = key_in_sheet(layout=MM, steps=STEPS)
    assert [[value.text for value in line.values] for line in sheet.lines] == [
        ["25.05", "106.15"],
        ["40.20", "106.12"],
        ["61.35", "102.50"],
    ]
    turned = key_in_sheet(layout=replace(MM, fields=("y", "r", "x")), steps=STEPS)
    assert [value.text for value in turned.lines[1].values] == ["106.12", "5.0", "40.20"]


def test_an_inch_control_gets_inches_and_its_own_order() -> None:
    sheet = key_in_sheet(layout=INCH, steps=(step(1, mm_from_inches(1.25), mm_from_inches(4.179)),))
    assert [(value.name, value.text) for value in sheet.lines[0].values] == [
        ("y", "4.179"),
        ("x", "1.250"),
    ]


def test_a_control_that_shows_commas_is_written_with_commas() -> None:
    sheet = key_in_sheet(layout=replace(MM, decimal_sign=","), steps=STEPS)
    assert sheet.lines[0].value("x").text == "25,05"
    assert sheet.sum_texts["y"] == "314,77"


def test_sums_and_count_are_those_of_the_digits_typed_exactly() -> None:
    sheet = key_in_sheet(layout=MM, steps=STEPS)
    assert sheet.sums == {"x": Decimal("126.60"), "y": Decimal("314.77")}
    assert sheet.sum_texts == {"x": "126.60", "y": "314.77"}
    assert sheet.step_count == 3


METRIC_MM = (0.1, 0.05, 0.02, 0.01, 0.005)
INCH_IN = (0.001, 0.0005, 0.005)


@given(
    st.lists(st.floats(-50.0, 600.0), min_size=1, max_size=40),
    st.sampled_from(
        [*((one, 1.0, "mm") for one in METRIC_MM), *((one, 25.4, "in") for one in INCH_IN)]
    ),
)
def test_what_stands_on_the_sheet_is_a_reading_the_control_can_show(
    values_mm: list[float], control: tuple[float, float, str]
) -> None:
    step_shown, per_unit_mm, unit = control
    layout = KeyLayout("mm" if unit == "mm" else "in", {"x": step_shown * per_unit_mm}, ("x",))
    steps = [StepToKey(index, {"x": mm}, 90.0, "T") for index, mm in enumerate(values_mm)]
    sheet = key_in_sheet(layout=layout, steps=steps)
    for line, value_mm in zip(sheet.lines, values_mm, strict=True):
        number = line.value("x").number
        assert number % Decimal(repr(step_shown)) == 0
        assert abs(float(number) - value_mm / per_unit_mm) <= step_shown / 2 + 1e-9
    assert sheet.sums["x"] == sum(Decimal(line.value("x").text) for line in sheet.lines)


def test_a_metric_step_on_an_inch_control_is_refused() -> None:
    """0.1 mm is 0.003937... in: somebody entered the step in the wrong unit."""
    with pytest.raises(ShopError) as trouble:
        KeyLayout("in", {"x": 0.1}, ("x",))
    assert trouble.value.code == "step_not_decimal"


@pytest.mark.parametrize(
    ("value", "expected", "words"),
    [
        (52.5, 5.25, "ten times"),
        (0.525, 5.25, "a tenth"),
        (525.0, 5.25, "a hundred times"),
        (133.35, 5.25, "inches taken for millimetres"),
        (0.2067, 5.25, "millimetres taken for inches"),
    ],
)
def test_a_slip_of_the_point_or_of_the_unit_is_recognised(
    value: float, expected: float, words: str
) -> None:
    assert words in (likely_slip(value, expected) or "")
    odd = replace(STEPS[0], values_mm={"x": value, "y": 106.15}, expected_mm={"x": expected})
    sheet = key_in_sheet(layout=MM, steps=(odd, *STEPS[1:]))
    assert [one.code for one in sheet.findings] == ["slip_likely"]


@pytest.mark.parametrize(("value", "expected"), [(5.3, 5.25), (0.0, 5.0), (-5.25, 52.5), (10, 5)])
def test_an_ordinary_difference_is_no_slip(value: float, expected: float) -> None:
    assert likely_slip(value, expected) is None


def test_a_y_far_from_the_same_bend_elsewhere_is_flagged() -> None:
    odd = step(4, 33.0, 116.2)
    sheet = key_in_sheet(layout=MM, steps=(*STEPS, odd))
    assert {one.code for one in sheet.findings} == {"far_from_neighbours"}
    assert "Step 4" in " ".join(str(one.what) for one in sheet.findings)
    ordinary = step(4, 33.0, 106.5)
    assert key_in_sheet(layout=MM, steps=(*STEPS, ordinary)).findings == ()


def test_an_x_ten_times_its_neighbours_is_flagged_without_being_told_what_to_expect() -> None:
    sheet = key_in_sheet(layout=MM, steps=(*STEPS, step(4, 402.0, 106.1)))
    assert [one.code for one in sheet.findings] == ["far_from_neighbours"]


def test_the_thickness_range_is_the_one_all_steps_share_and_stops_other_sheets() -> None:
    steps = (
        replace(STEPS[0], good_from_mm=1.94, good_to_mm=2.06),
        replace(STEPS[1], good_from_mm=1.90, good_to_mm=2.04),
        STEPS[2],
    )
    sheet = key_in_sheet(layout=MM, steps=steps)
    assert (sheet.good_from_mm, sheet.good_to_mm) == (1.94, 2.04)
    assert check_thickness_for_sheet(sheet, 2.04) == ()
    (stop,) = check_thickness_for_sheet(sheet, 2.05)
    assert stop.level == "stop"
    assert check_thickness_for_sheet(key_in_sheet(layout=MM, steps=STEPS), 9.0) == ()


def test_a_step_without_a_number_or_no_step_at_all_is_refused() -> None:
    with pytest.raises(ShopError) as trouble:
        key_in_sheet(layout=MM, steps=(replace(STEPS[0], values_mm={"x": 25.0}),))
    assert trouble.value.where == "steps.0.y"
    with pytest.raises(ShopError):
        key_in_sheet(layout=MM, steps=())


@pytest.mark.parametrize(
    ("fields", "resolution"),
    [((), {"x": 0.1}), (("x", "x"), {"x": 0.1}), (("x", "y"), {"x": 0.1}), (("q",), {"q": 0.1})],
)
def test_a_layout_no_control_has_is_refused(
    fields: tuple[str, ...], resolution: dict[str, float]
) -> None:
    with pytest.raises(ShopError):
        KeyLayout("mm", resolution, fields)  # type: ignore[arg-type]
