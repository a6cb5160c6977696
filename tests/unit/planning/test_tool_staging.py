"""Tools along the bed: lengths, segments, gaps, stations."""

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from server.planning.tool_staging import (
    Assembly,
    Station,
    Stock,
    all_at_once,
    along_the_bed,
    run_needs,
    run_start,
    serves,
    station_for,
)

OWNED = (10.0, 15.0, 20.0, 20.0, 40.0, 50.0, 100.0, 200.0)


@given(
    st.lists(st.integers(1, 60).map(lambda n: n * 2.5), min_size=1, max_size=7),
    st.integers(0, 60).map(lambda n: n * 2.5),
    st.integers(0, 20).map(lambda n: n * 2.5),
)
@settings(derandomize=True, deadline=None, max_examples=200)
def test_assemblies_agree_with_trying_every_subset(
    segments: list[float], least: float, more: float
) -> None:
    """Fewest segments, then nearest to the nominal length."""
    nominal = least + more / 2
    stock = Stock(tuple(segments), 1000.0)
    fitting = [
        (len(some), abs(sum(some) - nominal))
        for count in range(len(segments) + 1)
        for some in itertools.combinations(segments, count)
        if least - 1e-6 <= sum(some) <= least + more + 1e-6
    ]
    found = stock.best(least, least + more, nominal)
    if not fitting:
        assert found is None
        return
    assert found is not None
    assert sum(found.segments_mm) == pytest.approx(found.length_mm)
    best = min(fitting)
    assert len(found.segments_mm) == best[0]
    assert abs(found.length_mm - nominal) == pytest.approx(best[1], abs=1e-6)


def test_a_tool_without_segments_has_any_length_up_to_the_bed() -> None:
    stock = Stock((), 2600.0)
    assert stock.best(94.0, math.inf, 100.0) == Assembly(100.0, (100.0,))
    assert stock.best(94.0, 98.0, 100.0) == Assembly(98.0, (98.0,))
    assert stock.best(2700.0, math.inf, 2706.0) is None


def test_each_segment_is_used_once() -> None:
    left = Stock(OWNED, 2600.0).without(Assembly(120.0, (100.0, 20.0)))
    assert left.segments_mm == (200.0, 50.0, 40.0, 20.0, 15.0, 10.0)
    assert Stock((50.0,), 2600.0).without(Assembly(50.0, (50.0,))).best(1.0, 99.0, 50.0) is None


def test_a_bend_alone_may_lack_three_millimetres_at_each_end() -> None:
    needs = run_needs([(0.0, 100.0)], [])
    assert needs is not None
    assert (needs[0].least_mm, needs[0].most_mm) == (94.0, math.inf)


def test_tools_keep_one_millimetre_from_walls_at_both_ends() -> None:
    needs = run_needs([(0.0, 100.0)], [(-4.0, -1.5), (101.0, 103.0)])
    assert needs is not None
    assert needs[0].room_mm == (-0.5, 100.0)
    assert needs[0].most_mm == 100.5


def test_a_wall_inside_the_bend_cannot_be_staged_around() -> None:
    assert run_needs([(0.0, 100.0)], [(50.0, 52.0)]) is None
    assert run_needs([(0.0, 100.0)], [(-1.0, 2.5)]) is None
    assert run_needs([(0.0, 100.0)], [(-1.0, 1.9)]) is not None


def test_a_wall_between_two_bends_leaves_a_gap_on_purpose() -> None:
    needs = run_needs([(0.0, 50.0), (100.0, 150.0)], [(70.0, 80.0)])
    assert needs is not None
    assert [need.room_mm for need in needs] == [(-math.inf, 69.0), (81.0, math.inf)]
    one = run_needs([(0.0, 50.0), (100.0, 150.0)], [])
    assert one is not None
    assert len(one) == 1
    assert one[0].least_mm == 144.0


def test_a_bend_shorter_than_six_millimetres_is_covered_in_its_middle() -> None:
    needs = run_needs([(10.0, 14.0)], [])
    assert needs is not None
    assert needs[0].core_mm == (12.0, 12.0)


def test_runs_are_centred_as_far_as_walls_allow() -> None:
    (free,) = run_needs([(0.0, 100.0)], []) or ()
    assert run_start(free, 120.0) == -10.0
    (walled,) = run_needs([(0.0, 100.0)], [(-6.0, -2.0)]) or ()
    assert run_start(walled, 120.0) == -1.0


def test_a_station_is_made_of_owned_segments_for_punch_and_die() -> None:
    needs = run_needs([(0.0, 150.0)], [(-4.0, -2.0), (152.0, 154.0)])
    assert needs is not None
    station = station_for(needs, needs, Stock(OWNED, 2600.0), Stock((), 2600.0))
    assert station is not None
    assert station.punch_runs[0].segments_mm == (100.0, 50.0)
    assert station.die_runs[0].length_mm == 150.0
    assert serves(station, needs, needs)


def test_no_segments_of_that_length_means_no_station() -> None:
    needs = run_needs([(0.0, 33.0)], [(-3.0, -1.0), (34.0, 36.0)])
    assert needs is not None
    assert station_for(needs, needs, Stock((100.0,), 2600.0), Stock((), 2600.0)) is None


def station(length_mm: float) -> Station:
    run = Assembly(length_mm, (length_mm,))
    return Station((run,), (run,))


def test_stations_stand_together_when_bed_and_segments_allow() -> None:
    endless = Stock((), 400.0)
    assert all_at_once([station(150.0), station(200.0)], endless, endless, 400.0)
    assert not all_at_once([station(150.0), station(201.0)], endless, endless, 400.0)
    few = Stock((150.0,), 400.0)
    assert not all_at_once([station(150.0), station(150.0)], few, endless, 400.0)


def test_the_highest_force_stands_in_the_middle_and_stations_fifty_apart() -> None:
    stations = [station(100.0), station(200.0), station(50.0)]
    places = along_the_bed(stations, [10.0, 90.0, 20.0])
    ordered = sorted(zip(places, stations, strict=True), key=lambda one: one[0])
    assert ordered[1][1].length_mm == 200.0
    for (left, a), (right, b) in itertools.pairwise(ordered):
        assert right - left - (a.length_mm + b.length_mm) / 2 == pytest.approx(50.0)
