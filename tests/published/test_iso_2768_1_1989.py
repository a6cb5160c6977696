"""ISO 2768-1:1989, general tolerances, tables 1 (lengths) and 3 (angles), from a printed copy."""

import pytest

from server.errors import ShopError
from server.mechanics.general_tolerance import angular_tolerance, linear_tolerance
from tests.published.cases import Case, each


@each("TOL-L-")
def test_deviation_of_a_length_over_its_whole_range(case: Case) -> None:
    inputs = case.inputs
    first = inputs["over_mm"] if inputs["over_mm"] == 0.5 else inputs["over_mm"] + 1e-6
    for length in (first, inputs["to_mm"]):
        case.check(pm_mm=linear_tolerance(length_mm=length, tolerance_class=inputs["cls"]))


@each("TOL-A-")
def test_deviation_of_an_angle_over_its_whole_range(case: Case) -> None:
    inputs = case.inputs
    last = 5000.0 if inputs["to_mm"] is None else inputs["to_mm"]
    for leg in (inputs["shorter_leg_over_mm"] + 1e-6, last):
        found_deg = angular_tolerance(shorter_leg_mm=leg, tolerance_class=inputs["cls"])
        case.check(pm_arcmin=found_deg * 60)


@pytest.mark.parametrize(
    ("length_mm", "tolerance_class"), [(0.49, "m"), (4001.0, "m"), (2001.0, "f"), (2.0, "v")]
)
def test_where_the_table_is_empty_the_drawing_has_to_say(
    length_mm: float, tolerance_class: str
) -> None:
    with pytest.raises(ShopError) as caught:
        linear_tolerance(length_mm=length_mm, tolerance_class=tolerance_class)  # type: ignore[arg-type]
    assert caught.value.code == "out_of_table"
