"""ASTM B258, standard nominal diameters of American Wire Gage sizes; used for aluminium sheet.

Steps of the 39th root of 92 between 0.0050 in (36) and 0.4600 in (0000); the rounded table and the
two ends of the definition from memory.
"""

import pytest

from server.units.sheet_gauge import gauge_thickness_in
from tests.published.cases import Case, ask, each


@each("GA-BS-")
def test_thickness_of_aluminium_sheet(case: Case) -> None:
    gauge = case.inputs["gauge"]
    case.check(t_in=gauge_thickness_in(family="aluminium", gauge=gauge))
    case.check(t_in=ask("gauge", {"family": "aluminium", "gauge": gauge})["thickness_in"])


@pytest.mark.parametrize(
    ("gauge", "inches"), [(1, 0.2893), (10, 0.1019), (20, 0.0320), (30, 0.0100), (36, 0.0050)]
)
def test_more_rows_of_the_rounded_table(gauge: int, inches: float) -> None:
    assert gauge_thickness_in(family="aluminium", gauge=gauge) == inches
