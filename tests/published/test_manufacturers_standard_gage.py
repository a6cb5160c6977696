"""Manufacturers' Standard Gage for uncoated steel sheet, and the galvanized sheet gage.

41.82 lb/ft2 for each inch of thickness and the 10 gauge example were read; four-decimal values are
from memory. The mill's tolerance ranges are as in the older ASTM A568.
"""

from server.mechanics.sheet_tolerance import gauge_thickness_range
from server.units.length import inches_from_mm
from server.units.sheet_gauge import gauge_thickness_in, gauge_weight_lb_per_ft2
from tests.published.cases import Case, ask, each


@each("GA-MSG-")
def test_thickness_and_weight_of_uncoated_steel(case: Case) -> None:
    gauge = case.inputs["gauge"]
    asked = ask("gauge", {"family": "steel", "gauge": gauge})
    case.check(t_in=asked["thickness_in"], lb_ft2=gauge_weight_lb_per_ft2(gauge))


@each("GA-GALV-")
def test_thickness_of_galvanized_sheet(case: Case) -> None:
    gauge = case.inputs["gauge"]
    case.check(t_in=gauge_thickness_in(family="galvanized", gauge=gauge))
    case.check(t_in=ask("gauge", {"family": "galvanized", "gauge": gauge})["thickness_in"])


@each("GA-W-1")
def test_weight_of_ten_gauge(case: Case) -> None:
    case.check(lb_ft2=gauge_weight_lb_per_ft2(case.inputs["gauge"]))


@each("GA-TOL-")
def test_range_a_mill_may_deliver(case: Case) -> None:
    gauge = case.inputs["gauge"]
    hot = gauge_thickness_range(gauge_count=gauge, product="hot rolled")
    cold = gauge_thickness_range(gauge_count=gauge, product="cold rolled")
    case.check(
        HR_min_in=inches_from_mm(hot[0]),
        HR_max_in=inches_from_mm(hot[1]),
        CR_min_in=inches_from_mm(cold[0]),
        CR_max_in=inches_from_mm(cold[1]),
    )
    nominal_in = gauge_thickness_in(family="steel", gauge=gauge)
    assert inches_from_mm(hot[0]) < nominal_in < inches_from_mm(hot[1])
