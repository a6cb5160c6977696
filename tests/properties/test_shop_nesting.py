"""Whatever the blanks: none overlaps, none leaves the sheet, no count passes its bound."""

from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from server.errors import ShopError
from server.shop.mixed_nesting import nest_mixed
from server.shop.nesting import nest_equal
from server.shop.sheet_room import Blank, Grain, NestSettings, Place, Sheet

GRAINS: list[Grain] = ["any", "along_width", "along_height"]
sides = st.floats(40.0, 1600.0).map(lambda side: round(side, 2))
sheets = st.builds(Sheet, st.just(2000.0), st.just(1000.0), st.sampled_from(["width", "height"]))
rooms = st.builds(NestSettings, st.sampled_from([0.0, 3.1, 8.0]), st.sampled_from([0.0, 7.5]))
blanks = st.builds(Blank, sides, sides, st.sampled_from(GRAINS))


def assert_apart(places: list[Place], sheet: Sheet, settings_: NestSettings) -> None:
    for place in places:
        assert settings_.edge_mm - 1e-6 <= place.x_mm
        assert settings_.edge_mm - 1e-6 <= place.y_mm
        assert place.x_mm + place.width_mm <= sheet.width_mm - settings_.edge_mm + 1e-6
        assert place.y_mm + place.height_mm <= sheet.height_mm - settings_.edge_mm + 1e-6
    gap = settings_.spacing_mm - 1e-6
    for a, b in combinations(places, 2):
        assert (
            a.x_mm + a.width_mm + gap <= b.x_mm
            or b.x_mm + b.width_mm + gap <= a.x_mm
            or a.y_mm + a.height_mm + gap <= b.y_mm
            or b.y_mm + b.height_mm + gap <= a.y_mm
        )


def fits(blank: Blank, sheet: Sheet, room: NestSettings) -> bool:
    """Whether the blank alone lies inside the edge in a way its grain allows."""
    width, height = sheet.width_mm - 2 * room.edge_mm, sheet.height_mm - 2 * room.edge_mm
    as_given = blank.width_mm <= width and blank.height_mm <= height
    turned = blank.height_mm <= width and blank.width_mm <= height
    if blank.grain == "any":
        return as_given or turned
    return as_given if blank.grain == f"along_{sheet.grain_along}" else turned


def lies_along_its_grain(place: Place, blank: Blank, sheet: Sheet) -> bool:
    if blank.grain == "any":
        return True
    return place.turned == (blank.grain != f"along_{sheet.grain_along}")


@settings(max_examples=150, deadline=None, derandomize=True)
@given(blanks, sheets, rooms, st.integers(1, 500))
def test_equal_blanks(blank: Blank, sheet: Sheet, room: NestSettings, quantity: int) -> None:
    if not fits(blank, sheet, room):
        with pytest.raises(ShopError, match="does not fit the sheet"):
            nest_equal(blank=blank, sheet=sheet, quantity_count=quantity, settings=room)
        return
    nest = nest_equal(blank=blank, sheet=sheet, quantity_count=quantity, settings=room)
    places = list(nest.places())
    assert len(places) == nest.per_sheet_count <= nest.bound_per_sheet_count
    assert all(lies_along_its_grain(place, blank, sheet) for place in places)
    if len(places) <= 150:
        assert_apart(places, sheet, room)
    made = (nest.sheets_count - 1) * nest.per_sheet_count + nest.on_last_sheet_count
    assert made == quantity
    assert 0 < nest.used_ratio <= 1
    if nest.remnant is not None:
        rest = nest.remnant
        assert min(rest.width_mm, rest.height_mm) >= room.least_remnant_mm
        used = nest.on_last_sheet_count * blank.area_mm2
        assert rest.area_mm2 + used <= sheet.area_mm2 + 1e-6


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.lists(st.tuples(blanks, st.integers(1, 8)), min_size=1, max_size=4), sheets, rooms)
def test_mixed_blanks(wanted: list[tuple[Blank, int]], sheet: Sheet, room: NestSettings) -> None:
    if not all(fits(blank, sheet, room) for blank, _ in wanted):
        with pytest.raises(ShopError, match="does not fit the sheet"):
            nest_mixed(wanted=wanted, sheet=sheet, settings=room)
        return
    nest = nest_mixed(wanted=wanted, sheet=sheet, settings=room)
    counted = [0] * len(wanted)
    for places in nest.sheets:
        assert_apart(list(places), sheet, room)
        for place in places:
            counted[place.blank] += 1
            assert lies_along_its_grain(place, wanted[place.blank][0], sheet)
    assert counted == [quantity for _, quantity in wanted]
    assert nest.sheets_count >= nest.least_sheets_count
    if nest.remnant is not None:
        rest = nest.remnant
        corner = Place(0, rest.x_mm, rest.y_mm, rest.width_mm, rest.height_mm, turned=False)
        for place in nest.sheets[-1]:
            assert (
                corner.x_mm + corner.width_mm <= place.x_mm + 1e-6
                or place.x_mm + place.width_mm <= corner.x_mm + 1e-6
                or corner.y_mm + corner.height_mm <= place.y_mm + 1e-6
                or place.y_mm + place.height_mm <= corner.y_mm + 1e-6
            )
