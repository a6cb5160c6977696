"""ISO 2768-2:1989, table 2, squareness (from memory). Withdrawn 2021, replaced by ISO 22081."""

import pytest

from server.errors import ShopError
from server.mechanics.general_tolerance import squareness_tolerance
from tests.published.cases import Case, each


@each("TOL-P-")
def test_squareness_over_the_whole_range_of_the_shorter_side(case: Case) -> None:
    inputs = case.inputs
    for side in (inputs["shorter_side_over_mm"] + 1e-6, inputs["to_mm"]):
        case.check(mm=squareness_tolerance(shorter_side_mm=side, tolerance_class=inputs["cls"]))


def test_the_table_ends_at_three_metres() -> None:
    with pytest.raises(ShopError) as caught:
        squareness_tolerance(shorter_side_mm=3000.1, tolerance_class="K")
    assert caught.value.code == "out_of_table"
