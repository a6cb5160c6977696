"""Quotes against examples worked by hand; all prices and rates are invented.

The example part: 2 mm steel, blank 400 x 250, four bends.
    mass                0.400 x 0.250 x 0.002 x 7850           =  1.57 kg
    material, each      1.57 x 1.35 x 1.12                     =  2.37384
    cutting, each       (1300 / 60 + 4 x 0.6) s x 95 / 3600    =  0.635093
    bending, each       4 x 12 s x 70 / 3600                   =  0.933333
    set-up, once        (12 + 8 + 10) min x 70 / 60            = 35.00
    price               cost / (1 - 0.25)
"""

from dataclasses import replace
from fractions import Fraction

import pytest

from server.errors import Amount, ShopError
from server.mechanics.bend_allowance import bend_allowance, bend_deduction, outside_setback
from server.mechanics.handling import sheet_mass
from server.shop.cut_speed import CutSpeed, cut_speed, cut_time
from server.shop.quote import QuoteRequest, as_repeat, price_changes, quote
from server.shop.quote_cost import (
    Bought,
    OtherWork,
    PartWork,
    Rates,
    SheetPrice,
    WorkTimes,
)
from server.shop.sheet_room import Blank, NestSettings, Sheet
from server.shop.time_standard import TimeFigure
from server.units.length import MM_PER_INCH_EXACT

EXAMPLE = QuoteRequest(
    part=PartWork(
        thickness_mm=2.0,
        cut_length_mm=1300.0,
        pierces_count=4,
        bends_count=4,
        tool_changes_count=1,
        blank=Blank(400.0, 250.0),
    ),
    sheet_price=SheetPrice(
        price_per_kg=1.35, density_kg_m3=7850.0, sheet=Sheet(3000.0, 1500.0), scrap_allowance=0.12
    ),
    rates=Rates(cut_per_hour=95.0, brake_per_hour=70.0),
    times=WorkTimes(
        cut_speed_mm_per_s=60.0,
        pierce_s=0.6,
        setup_min=12.0,
        tool_change_min=8.0,
        first_article_min=10.0,
        bend_s=12.0,
    ),
    quantities=(1, 10, 50, 250),
    margin=0.25,
    nest=NestSettings(spacing_mm=5.0),
)


def test_the_example_comes_out_as_worked_by_hand() -> None:
    ten = quote(EXAMPLE).at(10)
    assert ten.cost_minor("material") == 2374
    assert ten.cost_minor("cutting") == 635
    assert ten.cost_minor("bending") == 933
    assert ten.cost_minor("setup") == 3500
    # 23.7384 + 6.350926 + 9.333333 + 35 = 74.422659; / 0.75 = 99.230212
    assert float(ten.cost) == pytest.approx(74.422659, abs=1e-6)
    assert (ten.total_minor, ten.unit_price_minor, ten.rounding_minor) == (9923, 992, 3)


def test_story_5_breaks_of_1_10_50_250_fall_and_the_repeat_is_cheaper() -> None:
    first, repeat = quote(EXAMPLE), quote(as_repeat(EXAMPLE, known_setup_min=9.0))
    assert [one.unit_price_minor for one in first.breaks] == [5192, 992, 619, 544]
    assert [one.sheets_count for one in first.breaks] == [1, 1, 2, 7]  # 41 blanks a sheet
    # repeat: set-up 9 instead of 12 min, half the first article: 8 min x 70 / 60 / 0.75 = 12.44
    for one, again in zip(first.breaks, repeat.breaks, strict=True):
        assert one.total_minor - again.total_minor == pytest.approx(1244, abs=1)


def test_programming_is_paid_once_and_not_by_the_repeat() -> None:
    request = replace(EXAMPLE, times=replace(EXAMPLE.times, programming_min=30.0))
    first, repeat = quote(request).at(10), quote(as_repeat(request)).at(10)
    assert first.price.get("programming").cost == 35
    assert repeat.price.find("programming") is None


def test_story_5_another_v_changes_flat_and_price_together() -> None:
    """11 ga, four bends, V 1 in against V 1-1/4 in with r = 0.16 V and K = 0.42: 0.069 in."""
    inch = float(MM_PER_INCH_EXACT)

    def request(v_in: float) -> QuoteRequest:
        t, r = 0.1196 * inch, 0.16 * v_in * inch
        deduction = bend_deduction(
            outside_setback_mm=outside_setback(
                bend_angle_deg=90.0, inside_radius_mm=r, thickness_mm=t
            ),
            bend_allowance_mm=bend_allowance(
                bend_angle_deg=90.0, inside_radius_mm=r, thickness_mm=t, k_factor=0.42
            ),
        )
        blank = Blank(12.0 * inch - 4 * deduction, 250.0)
        return replace(EXAMPLE, part=replace(EXAMPLE.part, thickness_mm=t, blank=blank))

    narrow, wide = request(1.0), request(1.25)
    assert narrow.part.blank is not None
    assert wide.part.blank is not None
    shorter_mm = narrow.part.blank.width_mm - wide.part.blank.width_mm
    assert shorter_mm / inch == pytest.approx(0.069, abs=0.0005)
    changes = price_changes(quote(narrow), quote(wide))
    assert {"total", "cost", "material", "margin"} <= {change.name for change in changes}
    assert "cutting" not in {change.name for change in changes}
    at_ten = {c.name: c for c in changes if c.quantity_count == 10}
    saved_kg = 10 * sheet_mass(
        area_mm2=shorter_mm * 250.0, thickness_mm=0.1196 * inch, density_kg_m3=7850.0
    )
    saved = at_ten["material"].before - at_ten["material"].after
    assert float(saved) == pytest.approx(saved_kg * 1.35 * 1.12)


def test_margin_is_a_share_of_the_price_not_of_the_cost() -> None:
    one = quote(replace(EXAMPLE, margin=0.5)).at(10)
    assert one.price.get("margin").cost == one.cost
    assert float(one.margin_share) == pytest.approx(0.5, abs=1e-4)
    assert quote(replace(EXAMPLE, margin=0.0)).at(10).total_minor == 7442


def test_the_minimum_charge_holds_for_the_total_and_is_shown() -> None:
    request = replace(EXAMPLE, minimum_charge_minor=6000)
    small, large = quote(request).at(1), quote(request).at(10)
    assert (small.total_minor, small.minimum_applied) == (6000, True)
    assert small.price.get("minimum_charge").cost == 60 - small.cost / Fraction(3, 4)
    assert (large.total_minor, large.minimum_applied) == (9923, False)
    assert large.price.find("minimum_charge") is None


def test_total_first_rounds_the_total_and_shows_what_unit_price_times_quantity_misses() -> None:
    for one in quote(EXAMPLE).breaks:
        exact_price = one.cost / Fraction(3, 4)
        assert abs(one.total_minor - exact_price * 100) <= Fraction(1, 2)
        assert one.unit_price_minor * one.quantity_count + one.rounding_minor == one.total_minor
        assert abs(one.rounding_minor) <= one.quantity_count / 2


def test_unit_first_makes_unit_price_times_quantity_the_total_to_the_cent() -> None:
    request = replace(EXAMPLE, price_rule="unit first", quantities=(1, 3, 7, 250))
    for one in quote(request).breaks:
        assert one.total_minor == one.unit_price_minor * one.quantity_count
        assert one.rounding_minor == 0
    least = quote(replace(request, minimum_charge_minor=10_000)).at(3)
    assert (least.unit_price_minor, least.total_minor) == (3334, 10_002)  # not below the minimum


def test_every_figure_opens_to_parts_that_add_up_to_it() -> None:
    request = replace(
        EXAMPLE,
        overhead_ratio=0.15,
        minimum_charge_minor=20_000,
        other_work=(OtherWork("deburring", 50.0, 1.5, 5.0),),
        bought=(Bought("inserts", 0.32, 4.0),),
    )
    for one in quote(request).breaks:
        assert one.price.cost * 100 == one.total_minor
        for line in one.price.walk():
            if line.parts:
                assert sum(part.cost for part in line.parts) == line.cost
            reason = line.reason()
            assert reason.result == Amount(line.cost_minor(), "minor")
            assert line.name.startswith("rounding") or reason.given


def test_other_work_bought_parts_and_overhead_by_hand() -> None:
    request = replace(
        EXAMPLE,
        overhead_ratio=0.10,
        other_work=(OtherWork("deburring", 48.0, 1.5, 5.0),),
        bought=(Bought("inserts", 0.32, 4.0),),
    )
    ten = quote(request).at(10)
    assert ten.cost_minor("work:deburring") == 1600  # (5 + 10 x 1.5) min x 48 / 60
    assert ten.cost_minor("bought:inserts") == 720  # 4 + 10 x 0.32
    # overhead on own work only: 0.1 x (6.350926 + 35 + 9.333333 + 16)
    assert float(ten.price.get("overhead").cost) == pytest.approx(6.6684259, abs=1e-6)


def test_the_true_outline_is_paid_and_the_rectangle_nested() -> None:
    part = replace(EXAMPLE.part, outline_area_mm2=80_000.0)  # a fifth is cut away
    one = quote(replace(EXAMPLE, part=part)).at(10)
    whole = quote(EXAMPLE).at(10)
    assert one.price.get("material").cost == whole.price.get("material").cost * Fraction(4, 5)
    assert one.sheets_count == whole.sheets_count


def test_whole_sheets_less_the_remnant_s_credit_by_hand() -> None:
    price = replace(EXAMPLE.sheet_price, charge="by sheet", remnant_credit_ratio=0.6)
    request = replace(
        EXAMPLE,
        sheet_price=price,
        quantities=(50,),
        nest=NestSettings(),
        part=replace(EXAMPLE.part, blank=Blank(400.0, 250.0, "along_width")),
    )
    one = quote(request).at(50)
    # 42 a sheet: 2 sheets of 70.65 kg at 1.35 = 190.755; rest 2200 x 1500 = 51.81 kg x 1.35 x 0.6
    assert one.cost_minor("sheets_bought") == 19076  # 190.755 is a tie: 190.76 is even
    assert one.cost_minor("remnant_credit") == -4197
    assert float(one.price.get("material").cost) == pytest.approx(190.755 - 41.9661)


def test_without_the_blank_s_sides_blanks_per_sheet_are_estimated_by_area() -> None:
    part = replace(EXAMPLE.part, blank=None, outline_area_mm2=100_000.0)
    priced = quote(replace(EXAMPLE, part=part))
    assert priced.blanks_per_sheet_count == 40  # 4.5 m2 / (0.1 m2 x 1.12) = 40.2
    assert priced.at(50).sheets_count == 2
    assert priced.at(10).nest is None


def test_the_spread_of_bend_times_gives_a_range_of_cost() -> None:
    figure = TimeFigure(16.0, 14.0, 19.0, 23, "measured in this shop")
    one = quote(replace(EXAMPLE, times=replace(EXAMPLE.times, bend_s=16.0, bend=figure))).at(10)
    per_second = Fraction(10 * 4 * 70, 3600)
    assert one.cost - one.cost_low == 2 * per_second
    assert one.cost_high - one.cost == 3 * per_second
    sure = [given for given in one.price.get("bends").given if given.name == "how sure"]
    assert "14 s to 19 s, from 23 measured" in str(sure[0].value)


def test_exact_mass_agrees_with_the_mechanics() -> None:
    one = quote(replace(EXAMPLE, quantities=(1,))).at(1)
    mass = sheet_mass(area_mm2=100_000.0, thickness_mm=2.0, density_kg_m3=7850.0)
    assert float(one.price.get("material").cost) == pytest.approx(mass * 1.35 * 1.12, rel=1e-12)


def test_yen_are_quoted_without_decimals() -> None:
    rates = Rates(cut_per_hour=9500, brake_per_hour=7000)
    sheet_price = replace(EXAMPLE.sheet_price, price_per_kg=135)
    one = quote(replace(EXAMPLE, rates=rates, sheet_price=sheet_price, minor_digits_count=0)).at(10)
    assert (one.total_minor, one.unit_price_minor) == (9923, 992)


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"quantities": ()}, "no_price_breaks"),
        ({"quantities": (0,)}, "no_quantity"),
        ({"quantities": (-3,)}, "no_quantity"),
        ({"margin": 1.0}, "margin_eats_price"),
        ({"margin": 25.0}, "margin_eats_price"),
        ({"margin": -0.1}, "margin_eats_price"),
        ({"margin": float("nan")}, "margin_eats_price"),
        ({"overhead_ratio": -1.0}, "out_of_range"),
        ({"minimum_charge_minor": -1}, "out_of_range"),
    ],
)
def test_what_makes_no_price_is_refused(changed: dict[str, object], code: str) -> None:
    with pytest.raises(ShopError) as refused:
        quote(replace(EXAMPLE, **changed))  # type: ignore[arg-type]
    assert refused.value.code == code
    assert refused.value.where


def test_a_part_needs_a_blank_or_an_outline() -> None:
    with pytest.raises(ShopError, match="Neither"):
        replace(EXAMPLE.part, blank=None)
    with pytest.raises(ShopError, match="no price for 11"):
        quote(EXAMPLE).at(11)


def test_cutting_speed_comes_from_the_table_and_never_from_beyond_it() -> None:
    table = [
        CutSpeed("laser", "steel", 1.0, 160.0, 0.2),
        CutSpeed("laser", "steel", 4.0, 40.0, 0.8),
        CutSpeed("laser", "stainless", 2.0, 70.0, 0.5),
    ]
    exactly = cut_speed(table=table, cutter="laser", family="steel", thickness_mm=4.0)
    assert exactly is table[1]
    between = cut_speed(table=table, cutter="laser", family="steel", thickness_mm=2.0)
    assert between.cut_speed_mm_per_s == pytest.approx(80.0)  # halves per doubling
    assert cut_time(cut_length_mm=800.0, pierces_count=2, speed=between).total_s == pytest.approx(
        800 / 80 + 2 * 0.5
    )
    for family, thickness in (("steel", 4.1), ("steel", 0.9), ("brass", 2.0)):
        with pytest.raises(ShopError, match="no cutting speed"):
            cut_speed(table=table, cutter="laser", family=family, thickness_mm=thickness)
