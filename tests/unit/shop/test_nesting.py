"""Blanks per sheet against exact small cases, and what a nest says of sheets and remnants."""

import math
from functools import cache
from itertools import combinations

import pytest

from server.errors import ShopError
from server.shop.blank_layout import TurnedLayouts, barnes_bound
from server.shop.mixed_nesting import nest_mixed
from server.shop.nesting import EqualNest, nest_equal
from server.shop.sheet_room import Blank, NestSettings, Place, Sheet


def most_by_trying_everything(width: int, height: int, a: int, b: int) -> int:
    """The exact optimum: every cell is either a piece's lower left corner or wasted."""
    full = width * height

    def mask(x: int, y: int, w: int, h: int) -> int:
        return sum(1 << (yy * width + xx) for xx in range(x, x + w) for yy in range(y, y + h))

    shapes = {(a, b), (b, a)}
    pieces = {
        (x, y): [mask(x, y, w, h) for w, h in shapes if x + w <= width and y + h <= height]
        for x in range(width)
        for y in range(height)
    }

    @cache
    def most(cell: int, taken: int) -> int:
        while cell < full and taken >> cell & 1:
            cell += 1
        if cell >= full:
            return 0
        best = most(cell + 1, taken | 1 << cell)
        for piece in pieces[cell % width, cell // width]:
            if not taken & piece:
                best = max(best, 1 + most(cell + 1, taken | piece))
        return best

    return most(0, 0)


SMALL = [
    (w, h, a, b)
    for w in range(3, 8)
    for h in range(3, w + 1)
    for a in range(2, 5)
    for b in range(1, a)
    if a <= w and w * h <= 42
]


@pytest.mark.parametrize(("width", "height", "a", "b"), SMALL)
def test_small_sheets_get_the_exact_optimum(width: int, height: int, a: int, b: int) -> None:
    found = TurnedLayouts(width=width, height=height, piece_width=a, piece_height=b)
    exactly = most_by_trying_everything(width, height, a, b)
    assert found.best.count == exactly
    assert found.bound >= exactly


def test_the_pinwheel_beats_every_guillotine_layout() -> None:
    # Eight 3 x 1 around the centre cell of 5 x 5; cuts right through the sheet give 7 at most.
    assert most_by_trying_everything(5, 5, 3, 1) == 8
    found = TurnedLayouts(width=5, height=5, piece_width=3, piece_height=1)
    cut_through = found.strip_layout(5, along_width=True)
    assert (found.best.count, cut_through.count) == (8, 7)
    assert found.best.proven_best


def overlap(first: Place, second: Place, spacing: float) -> bool:
    return (
        first.x_mm < second.x_mm + second.width_mm + spacing - 1e-9
        and second.x_mm < first.x_mm + first.width_mm + spacing - 1e-9
        and first.y_mm < second.y_mm + second.height_mm + spacing - 1e-9
        and second.y_mm < first.y_mm + first.height_mm + spacing - 1e-9
    )


def assert_fits(places: list[Place], sheet: Sheet, settings: NestSettings) -> None:
    for place in places:
        assert place.x_mm >= settings.edge_mm - 1e-9
        assert place.y_mm >= settings.edge_mm - 1e-9
        assert place.x_mm + place.width_mm <= sheet.width_mm - settings.edge_mm + 1e-9
        assert place.y_mm + place.height_mm <= sheet.height_mm - settings.edge_mm + 1e-9
    assert not any(overlap(a, b, settings.spacing_mm) for a, b in combinations(places, 2))


def test_spacing_and_edge_are_kept() -> None:
    settings = NestSettings(spacing_mm=5.0, edge_mm=10.0)
    sheet = Sheet(3000.0, 1500.0)
    nest = nest_equal(blank=Blank(401.3, 247.9), sheet=sheet, quantity_count=1, settings=settings)
    places = list(nest.places())
    assert len(places) == nest.per_sheet_count
    assert_fits(places, sheet, settings)


def test_spacing_is_counted_between_blanks_but_not_after_the_last() -> None:
    # 3 x 330 + 2 x 5 = 1000: three fit; with 5.01 between they do not.
    blank = Blank(330.0, 900.0)
    for spacing, count in ((5.0, 3), (5.01, 2)):
        nest = nest_equal(
            blank=blank,
            sheet=Sheet(1000.0, 900.0),
            quantity_count=1,
            settings=NestSettings(spacing_mm=spacing),
        )
        assert nest.per_sheet_count == count


def test_the_grain_keeps_a_blank_from_turning() -> None:
    sheet = Sheet(1000.0, 500.0)
    counts = {
        grain: nest_equal(blank=Blank(490.0, 240.0, grain), sheet=sheet, quantity_count=1)
        for grain in ("any", "along_width", "along_height")
    }
    assert counts["along_width"].per_sheet_count == 4  # 2 across, 2 up
    assert counts["along_height"].per_sheet_count == 4  # 4 across, 1 up
    assert all(place.turned for place in counts["along_height"].places())
    assert not any(place.turned for place in counts["along_width"].places())
    assert counts["any"].per_sheet_count == 4
    other = Sheet(1000.0, 500.0, grain_along="height")
    with pytest.raises(ShopError) as refused:
        nest_equal(blank=Blank(600.0, 240.0, "along_width"), sheet=other, quantity_count=1)
    assert refused.value.code == "blank_exceeds_sheet"


def _nest(quantity: int, least_remnant: float = 200.0) -> EqualNest:
    return nest_equal(
        blank=Blank(400.0, 250.0, "along_width"),
        sheet=Sheet(3000.0, 1500.0),
        quantity_count=quantity,
        settings=NestSettings(least_remnant_mm=least_remnant),
    )


def test_sheets_remnant_and_use_of_a_quantity() -> None:
    nest = _nest(50)  # 7 columns x 6 rows = 42 a sheet
    assert (nest.per_sheet_count, nest.sheets_count, nest.on_last_sheet_count) == (42, 2, 8)
    assert nest.used_ratio == pytest.approx(50 * 400 * 250 / (2 * 3000 * 1500))
    # 8 blanks: 2 columns of 6 leave 2200 x 1500; 2 rows of 7 leave 3000 x 1000.
    assert nest.remnant is not None
    assert (nest.remnant.width_mm, nest.remnant.height_mm) == (2200.0, 1500.0)


def test_a_remnant_too_small_to_keep_is_none() -> None:
    assert _nest(42).remnant is not None  # 200 x 1500 is just worth keeping
    assert _nest(42, least_remnant=200.1).remnant is None


def test_a_blank_that_fits_no_way_is_refused() -> None:
    with pytest.raises(ShopError, match="does not fit the sheet"):
        nest_equal(blank=Blank(1600.0, 1501.0), sheet=Sheet(3000.0, 1500.0), quantity_count=1)
    with pytest.raises(ShopError, match="cannot be made"):
        _nest(0)


def test_tiny_blanks_are_counted_quickly_and_never_above_the_bound() -> None:
    nest = nest_equal(blank=Blank(20.3, 15.7), sheet=Sheet(3000.0, 1500.0), quantity_count=1)
    assert nest.per_sheet_count <= nest.bound_per_sheet_count
    assert nest.per_sheet_count >= 0.99 * nest.bound_per_sheet_count


def test_barnes_counts_the_waste_of_rods() -> None:
    assert barnes_bound(width=5, height=5, long_side=3, short_side=1) == 8  # 25 // 3, waste 1
    # 6 x 6 with 4 x 1: rods of 4 waste 2 x 2 = 4 cells, so 8 and not 9.
    assert barnes_bound(width=6, height=6, long_side=4, short_side=1) == 8
    assert most_by_trying_everything(6, 6, 4, 1) == 8


def test_two_parts_share_a_sheet_within_room_and_bound() -> None:
    settings = NestSettings(spacing_mm=4.0, edge_mm=8.0)
    sheet = Sheet(2500.0, 1250.0)
    wanted = [(Blank(600.0, 400.0, "along_width"), 6), (Blank(210.0, 180.0), 20)]
    nest = nest_mixed(wanted=wanted, sheet=sheet, settings=settings)
    assert nest.sheets_count == nest.least_sheets_count == 1
    places = list(nest.sheets[0])
    assert_fits(places, sheet, settings)
    assert sorted(place.blank for place in places) == [0] * 6 + [1] * 20
    assert not any(place.turned for place in places if place.blank == 0)


def test_mixed_parts_fill_a_sheet_that_they_fill_exactly() -> None:
    # 2 of 500 x 500 and 4 of 250 x 500 fill 1000 x 1000.
    nest = nest_mixed(
        wanted=[(Blank(500.0, 500.0), 2), (Blank(250.0, 500.0), 4)], sheet=Sheet(1000.0, 1000.0)
    )
    assert nest.sheets_count == 1
    assert math.isclose(nest.used_ratio, 1.0)
    assert nest.remnant is None


def test_the_remnant_of_mixed_parts_is_empty_sheet() -> None:
    nest = nest_mixed(
        wanted=[(Blank(500.0, 300.0), 3), (Blank(200.0, 100.0), 7)], sheet=Sheet(3000.0, 1500.0)
    )
    rest = nest.remnant
    assert rest is not None
    as_place = Place(9, rest.x_mm, rest.y_mm, rest.width_mm, rest.height_mm, turned=False)
    assert not any(overlap(as_place, place, 0.0) for place in nest.sheets[-1])


def test_mixed_nesting_refuses_nothing_and_too_much() -> None:
    for wanted, code in (
        ([], "nothing_to_nest"),
        ([(Blank(10.0, 10.0), 10_000)], "too_many_to_nest"),
        ([(Blank(9999.0, 10.0), 1)], "blank_exceeds_sheet"),
    ):
        with pytest.raises(ShopError) as refused:
            nest_mixed(wanted=wanted, sheet=Sheet(3000.0, 1500.0))
        assert refused.value.code == code
