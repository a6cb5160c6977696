"""Estimating times that learn, and story 16: actual 52 against 30 min."""

import random
from functools import partial

import pytest

from server.errors import ShopError
from server.shop.brake_time import brake_time, handling_class, starting_bands
from server.shop.time_standard import (
    Kind,
    MeasuredTime,
    TimeBand,
    check_standard_change,
    learned_time,
    quantile,
    robust_mean,
    time_gap,
    time_standards,
)


def test_story_16_the_money_of_52_against_30_minutes_is_shown() -> None:
    gap = time_gap(quoted_min=30, actual_min=52, rate_per_hour=75)
    # 22 min x 75 / 60 = 27.50
    assert (gap.gap_min, gap.money_minor) == (22.0, 2750)
    assert "27.50 lost" in str(gap.told)
    assert "gained" in str(time_gap(quoted_min=30, actual_min=20, rate_per_hour=75).told)


def test_story_16_an_accepted_time_updates_the_standard_and_a_refused_one_does_not() -> None:
    bands: dict[tuple[Kind, str], TimeBand] = {("setup", "die"): TimeBand(25 * 60, 35 * 60)}
    before = time_standards([], bands)["setup", "die"]
    assert before.value_s == 30 * 60
    actual = MeasuredTime("setup", "die", 52 * 60)
    refused = MeasuredTime("setup", "die", 52 * 60, accepted=False)
    assert time_standards([refused], bands)["setup", "die"] == before
    after = time_standards([actual], bands)["setup", "die"]
    # one measured time against a band that counts for three: (3 x 30 + 52) / 4 = 35.5 min
    assert after.value_s == pytest.approx(35.5 * 60)
    (note,) = check_standard_change(name="die change", before=before, after=after)
    assert note.level == "note"
    assert "1800 s to 2130 s" in str(note.what)


def test_many_measured_times_outweigh_the_band() -> None:
    rng = random.Random(3)
    values = [rng.gauss(16.5, 1.5) for _ in range(200)]
    figure = learned_time(band=TimeBand(10, 20, 12), values_s=values)
    assert figure.value_s == pytest.approx(16.5, abs=0.4)
    assert figure.low_s == pytest.approx(16.5 - 1.28 * 1.5, abs=0.5)
    assert figure.high_s == pytest.approx(16.5 + 1.28 * 1.5, abs=0.5)
    assert "from 200 measured" in str(figure.told)


def test_a_forgotten_stop_watch_does_not_move_the_standard_much() -> None:
    steady = [14.0, 15.0, 15.5, 16.0, 16.5, 17.0, 18.0, 19.0]
    clean = learned_time(band=TimeBand(10, 20), values_s=steady)
    dirty = learned_time(band=TimeBand(10, 20), values_s=[*steady, 1800.0])
    assert abs(dirty.value_s - clean.value_s) < 1.0


def test_few_measured_times_widen_the_band_and_never_narrow_it() -> None:
    figure = learned_time(band=TimeBand(10, 20), values_s=[23.0, 12.0])
    assert (figure.low_s, figure.high_s) == (10, 23.0)
    assert "nothing measured yet" in str(learned_time(band=TimeBand(10, 20), values_s=[]).told)


def test_equal_times_have_no_spread_and_nothing_measured_is_refused() -> None:
    assert robust_mean([12.0] * 6) == (12.0, 0.0)
    with pytest.raises(ShopError, match="No time was measured"):
        robust_mean([])


def test_quantiles_are_linear_between_the_ordered_values() -> None:
    assert [quantile([4.0, 1.0, 3.0, 2.0], share) for share in (0.0, 0.5, 1.0)] == [1.0, 2.5, 4.0]


def test_a_class_without_a_band_takes_its_own_times() -> None:
    figures = time_standards([MeasuredTime("load", "odd", 30.0)], {})
    assert figures["load", "odd"].value_s == 30.0


@pytest.mark.parametrize(
    ("mass", "side", "name"),
    [
        (0.5, 300, "under 1 kg"),
        (1.0, 300, "1 to 10 kg"),
        (12.0, 800, "10 to 25 kg"),
        (25.0, 800, "two people"),
        (0.5, 1500, "1 to 10 kg"),
        (12.0, 1600, "two people"),
        (2.0, 2500, "two people"),
        (400.0, 1000, "two people"),
    ],
)
def test_handling_classes_go_by_mass_and_size(mass: float, side: float, name: str) -> None:
    assert handling_class(mass_kg=mass, longest_side_mm=side).name == name


def test_what_is_best_known_is_used_in_order_of_trust() -> None:
    measured = [MeasuredTime("bend", "1 to 10 kg", 30.0)] * 10
    standards = time_standards(measured, starting_bands())
    own = learned_time(band=TimeBand(10, 20), values_s=[11.0, 11.5, 12.0])
    usual = partial(brake_time, mass_kg=5.5, longest_side_mm=400.0, setup="die")
    assert usual().bend.value_s == 15.0
    assert usual(planned_bend_s=18.0).bend.value_s == 18.0
    assert 26.0 < usual(standards=standards, planned_bend_s=18.0).bend.value_s < 30.0
    assert usual(standards=standards, own_bend=own, planned_bend_s=18.0).bend is own


def test_two_people_count_twice_and_say_so() -> None:
    time = brake_time(mass_kg=30.0, longest_side_mm=900.0, setup="same tools")
    assert time.per_part_s(2) == 2 * (time.load.value_s + 2 * time.bend.value_s)
    assert [finding.code for finding in time.findings] == ["two_people"]
    assert brake_time(mass_kg=3.0, longest_side_mm=900.0, setup="same tools").findings == ()
