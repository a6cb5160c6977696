"""What is said about a brake's own record."""

from dataclasses import replace

from server.mechanics.brake_check import check_brake
from server.mechanics.control_reading import TouchOff
from server.mechanics.tooling import Axis, Brake, Finger

BRAKE = Brake(
    "B",
    785.0,
    2600.0,
    420.0,
    Axis(8.0, 600.0, 0.1),
    Axis(0.0, 250.0, 0.01),
    1,
    Finger(0.0, 28.0, 40.0),
    holder_mm=((-9.0, 0.0), (9.0, 0.0), (9.0, 40.0)),
)
TOUCH = TouchOff("die", 80.0, 2.0, 170.0)


def test_a_whole_record_has_nothing_said_about_it() -> None:
    assert check_brake(BRAKE, mute_opening_mm=6.0, touch_off=TOUCH) == ()
    assert check_brake(BRAKE, mute_opening_mm=6.0, touch_off=None) == ()


def test_what_is_missing_or_odd_is_told_and_never_advises_to_defeat_a_guard() -> None:
    odd = replace(BRAKE, speed_mm_per_s=20.0, holder_mm=())
    found = check_brake(odd, mute_opening_mm=14.0, touch_off=replace(TOUCH, reading_mm=400.0))
    assert {finding.code for finding in found} == {
        "mute_opening_wide",
        "bending_speed_high",
        "touch_off_outside_y",
        "no_holder",
    }
    (missing,) = check_brake(BRAKE, mute_opening_mm=None, touch_off=None)
    assert missing.code == "no_mute_opening"
    assert "manual" in str(missing.frees)
    assert "never bypass" in str(missing.frees)
