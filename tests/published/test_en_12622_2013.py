"""EN 12622:2009+A1:2013, hydraulic press brakes: slow closing speed and muting (from memory).

A US interpretation letter of 1991-11-07 names a quarter inch above the material for muting (read).
The machine's own manual comes first in every case.
"""

from server.mechanics.stroke_setting import MUTE_OPENING_MM, SLOW_CLOSING_MM_PER_S
from server.units.length import mm_from_inches
from tests.published.cases import Case, each


@each("SAF-01")
def test_slow_closing_is_at_most_ten_millimetres_a_second(case: Case) -> None:
    case.check(slow_closing_speed_max_mm_s=SLOW_CLOSING_MM_PER_S)


@each("SAF-02")
def test_muting_begins_at_six_millimetres_or_the_letters_quarter_inch(case: Case) -> None:
    quarter_in = case.expected["mute_opening_in"]
    case.check(mute_opening_max_mm=MUTE_OPENING_MM, mute_opening_in=0.25)
    case.check(mute_opening_max_mm=mm_from_inches(quarter_in), mute_opening_in=quarter_in)
    assert mm_from_inches(quarter_in) >= MUTE_OPENING_MM, "ours is the smaller, so the safer one"
