"""Which V a sheet wants: the ranking and its reasons."""

from dataclasses import replace

import pytest

from server.mechanics.tooling import Die
from server.mechanics.v_opening import VWish, advised_v_opening, rank_dies
from tests.unit.mechanics.shop import BRAKE, PUNCH, STEEL

DIES = [
    Die(f"V{v}", float(v), 80.0, max(0.8, v / 12), rating_kn_per_m=1000.0)
    for v in (6, 8, 12, 16, 25, 40)
]
WISH = VWish(2.0, 1000.0, 90.0, STEEL, replace(PUNCH, angle_deg=80.0))


@pytest.mark.parametrize(
    ("thickness_mm", "v_mm"),
    [(1.0, 6.0), (2.9, 17.4), (3.0, 24.0), (10.0, 80.0), (10.1, 101.0)],
)
def test_the_usual_v_is_six_eight_or_ten_thicknesses(thickness_mm: float, v_mm: float) -> None:
    assert advised_v_opening(thickness_mm=thickness_mm) == pytest.approx(v_mm)


def names(wish: VWish) -> list[str]:
    return [ranked.die.name for ranked in rank_dies(wish=wish, dies=DIES)]


def test_the_usual_v_comes_first_when_nothing_else_is_asked() -> None:
    assert names(WISH)[0] == "V12"


def test_a_radius_asked_for_brings_the_v_that_gives_it() -> None:
    assert names(replace(WISH, inside_radius_mm=4.0))[0] == "V25"


def test_a_short_flange_rules_wide_dies_out_and_says_so() -> None:
    ranked = rank_dies(wish=replace(WISH, shortest_flange_mm=9.5, inside_radius_mm=4.0), dies=DIES)
    assert ranked[0].die.name == "V12"
    assert [entry.possible for entry in ranked] == [True, True, True, False, False, False]
    lost = next(entry for entry in ranked if entry.die.name == "V25")
    assert "flange" in str(lost.reason)


def test_a_weak_brake_rules_narrow_dies_out() -> None:
    weak = replace(BRAKE, max_force_kn=200.0)
    ranked = rank_dies(wish=replace(WISH, brake=weak), dies=DIES)
    assert [entry.die.name for entry in ranked if entry.possible] == ["V25", "V40"]
    assert all(str(entry.reason) for entry in ranked)


def test_a_die_in_which_the_bend_is_impossible_is_ranked_last_with_the_trouble() -> None:
    rubber = replace(STEEL, youngs_modulus_mpa=900.0)
    ranked = rank_dies(wish=replace(WISH, material=rubber), dies=DIES)
    assert [entry.possible for entry in ranked] == [False] * len(DIES)
    assert any(entry.bend is None and str(entry.reason) for entry in ranked)


def test_the_order_of_the_rack_does_not_matter() -> None:
    assert names(WISH) == [
        ranked.die.name for ranked in rank_dies(wish=WISH, dies=list(reversed(DIES)))
    ]
