"""15 U.S.C. 206, standard gauge for sheet and plate iron and steel, used for stainless sheet.

The act gives ounces a square foot and exact fractions of an inch; gauges past 21 from memory.
"""

from server.units.sheet_gauge import OZ_PER_FT2, gauge_thickness_in
from tests.published.cases import Case, ask, each


@each("GA-USS-")
def test_thickness_and_weight_of_the_acts_table(case: Case) -> None:
    gauge = case.inputs["gauge"]
    weight_oz = OZ_PER_FT2[gauge]
    case.check(t_in=gauge_thickness_in(family="stainless", gauge=gauge), oz_ft2=weight_oz)
    asked = ask("gauge", {"family": "stainless", "gauge": gauge})
    case.check(t_in=asked["thickness_in"], oz_ft2=weight_oz)
