"""OSHA instruction CPL 02-01-025 (1997) and ANSI B11.19 / 29 CFR 1910.217: distances for hands.

That work may be guarded by distance was read, the figure of 4 in is remembered; so is the depth
penetration factor.
"""

import pytest

from server.mechanics.safe_distance import (
    HAND_SPEED_MM_PER_S,
    SAFE_DISTANCE_MM,
    check_hand_distance,
    depth_penetration,
    safeguarding_distance,
)
from server.units.length import inches_from_mm, mm_from_inches
from tests.published.cases import Case, each


@each("SAF-03")
def test_hands_stay_four_inches_from_the_point_of_operation(case: Case) -> None:
    case.check(
        safe_distance_min_in=inches_from_mm(SAFE_DISTANCE_MM),
        safe_distance_min_mm=SAFE_DISTANCE_MM,
    )
    assert check_hand_distance(hand_distance_mm=case.expected["safe_distance_min_mm"]) == ()
    (finding,) = check_hand_distance(hand_distance_mm=100.0)
    assert finding.level == "caution"


@each("SAF-05")
def test_distance_of_a_light_curtain(case: Case) -> None:
    inputs = case.inputs
    assert mm_from_inches(inputs["K_in_s"]) == HAND_SPEED_MM_PER_S
    penetration_mm = depth_penetration(object_sensitivity_mm=mm_from_inches(inputs["S_obj_in"]))
    distance_mm = safeguarding_distance(
        stopping_time_s=inputs["T_s"], penetration_mm=penetration_mm
    )
    case.check(Dpf_in=inches_from_mm(penetration_mm), Ds_in=inches_from_mm(distance_mm))


def test_mechanical_press_rule_of_the_code_of_federal_regulations() -> None:
    """29 CFR 1910.217(c)(3)(iii)(e): D = 63 in/s x T; a quarter of a second gives 15.75 in."""
    distance_mm = safeguarding_distance(stopping_time_s=0.25, penetration_mm=0.0)
    assert inches_from_mm(distance_mm) == pytest.approx(15.75)
