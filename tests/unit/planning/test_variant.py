"""What another station costs depends on the tools asked about, not on those asked about before."""

from server.mechanics.tooling import Punch
from server.planning.planner import single_die_variants
from server.planning.variant import prepare_stations
from tests.bench.plan_cases import drawn_part


def test_stations_of_one_punch_cost_the_same_whatever_was_prepared_before() -> None:
    (variant, *_), _ = single_die_variants(drawn_part(2, 12))
    count = len(variant.making.strokes)
    usual_s = variant.costs.handling.other_station_s

    def station_s(punch: Punch) -> float:
        prepare_stations(variant, ((punch,),) * count)
        return variant.costs.handling.other_station_s

    first, second = variant.punches[0]
    alone = [station_s(punch) for punch in (first, second)]
    assert [station_s(punch) for punch in (second, first)] == alone[::-1]
    change_s = variant.costs.handling.change_tools_s
    assert sorted(alone) == [usual_s, change_s]  # one punch's sections do for all its stations
