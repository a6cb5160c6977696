"""The set-up's order, story 19, and edges measured on the sheet."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from server.errors import ShopError
from server.findings import has_stop
from server.planning.setup_list import (
    NOT_PROOF,
    PRE_USE_CHECKS,
    SetupJob,
    Tick,
    check_edges,
    check_setup_list,
    setup_list,
    ticked,
)

NOW = datetime(2024, 5, 6, 7, 8, tzinfo=UTC)
JOB = SetupJob("BRACKET-7", "B", "P1", "V16", 16.0, 2.0, 6.0, 22.0, mute_opening_mm=6.0)
ITEMS = setup_list(JOB)
CODES = [item.code for item in ITEMS]
ALL = {code: Tick("Ines", NOW) for code in CODES}


def test_the_order_is_the_trades() -> None:
    order = (
        "read_revision",
        "measure_thickness",
        "block_ram",
        "fetch_tools",
        "place_segments",
        "seat_and_clamp",
        "touch_off",
        "key_in",
        "stroke_heights",
        "guards",
        "air_cycle",
        "first_blank",
        "correct",
        "sign",
    )
    places = [CODES.index(code) for code in order]
    assert places == sorted(places)
    assert len(set(CODES)) == len(CODES)


def test_story_19_an_unticked_pre_use_check_shows_and_blocks() -> None:
    ticks = {code: tick for code, tick in ALL.items() if code != "light_curtain"}
    found = check_setup_list(items=ITEMS, ticks=ticks)
    assert has_stop(found)
    assert "light curtain" in str(found[0].what)
    assert any(str(one.what) == NOT_PROOF for one in found)


def test_story_19_even_a_full_list_is_not_called_proof_of_safety() -> None:
    found = check_setup_list(items=ITEMS, ticks=ALL)
    assert not has_stop(found)
    assert [str(one.what) for one in found] == [NOT_PROOF]
    assert "not proof of safety" in NOT_PROOF


def test_every_pre_use_check_names_a_source_and_puts_the_manual_first() -> None:
    assert {"guards", "emergency_stops", "interlocks", "light_curtain", "seating", "clamps"} <= {
        item.code for item in PRE_USE_CHECKS
    }
    sources = " ".join(item.source for item in ITEMS)
    for name in ("16092-3", "12622", "1910.212", "1910.147", "12100"):
        assert name in sources
    for item in PRE_USE_CHECKS:
        if item.code != "bed_clear":
            assert "manual" in item.source, item.code


def test_no_item_ever_tells_to_defeat_a_guard() -> None:
    words = " ".join(str(item.what).lower() for item in ITEMS)
    for never in ("bypass", "override", "disable", "defeat", "bridge", "tape", "without guard"):
        assert never not in words


def test_hands_go_between_the_tools_only_after_the_ram_is_blocked() -> None:
    ticks = {"read_revision": Tick("Ines", NOW), "measure_thickness": Tick("Ines", NOW)}
    (stop,) = check_setup_list(items=ITEMS, ticks=ticks, hands_in=True)
    assert stop.level == "stop"
    with pytest.raises(ShopError) as trouble:
        ticked(items=ITEMS, ticks=ticks, code="place_segments", by="Ines", at=NOW)
    assert trouble.value.code == "not_in_order"
    ticks = ticked(items=ITEMS, ticks=ticks, code="block_ram", by="Ines", at=NOW)
    assert check_setup_list(items=ITEMS, ticks=ticks, hands_in=True) == ()
    ticks = ticked(items=ITEMS, ticks=ticks, code="place_segments", by="Ines", at=NOW)
    assert ticks["place_segments"] == Tick("Ines", NOW)


def test_a_double_tap_keeps_the_first_name_and_time() -> None:
    later = datetime(2024, 5, 6, 9, 0, tzinfo=UTC)
    ticks = ticked(items=ITEMS, ticks={}, code="read_revision", by="Ines", at=NOW)
    again = ticked(items=ITEMS, ticks=ticks, code="read_revision", by="Tom", at=later)
    assert again["read_revision"] == Tick("Ines", NOW)


@pytest.mark.parametrize(
    ("code", "by", "expected"),
    [("nonsense", "Ines", "no_such_item"), ("read_revision", "  ", "name_missing")],
)
def test_a_tick_of_nobody_or_of_nothing_is_refused(code: str, by: str, expected: str) -> None:
    with pytest.raises(ShopError) as trouble:
        ticked(items=ITEMS, ticks={}, code=code, by=by, at=NOW)
    assert trouble.value.code == expected


@pytest.mark.parametrize(
    ("change", "code", "there"),
    [
        ({"several_vs": True}, "mark_v", True),
        ({}, "mark_v", False),
        ({"heaviest_tool_kg": 23.1}, "lift_tools", True),
        ({"heaviest_tool_kg": 22.9}, "lift_tools", False),
        ({"sheet_kg": 40.0}, "lift_sheet", True),
        ({"mute_opening_mm": None}, "mute_point", False),
    ],
)
def test_the_list_is_made_for_the_job(change: dict[str, object], code: str, there: bool) -> None:
    items = setup_list(replace(JOB, **change))  # type: ignore[arg-type]
    assert (code in [item.code for item in items]) is there


@pytest.mark.parametrize(
    ("readings", "codes"),
    [
        ((2.0, 2.0, 2.0, 2.0), set()),
        ((2.0, 2.01, 1.99, 2.0), {"thickness_uneven"}),
        ((1.95, 2.05, 2.0, 2.0), {"thickness_uneven"}),
        ((1.9, 2.1, 2.0, 2.0), {"thickness_uneven", "sheet_too_uneven"}),
        ((2.0,), {"few_edges"}),
        ((2.0, 2.0), {"few_edges"}),
        ((2.5, 2.5, 2.5, 2.5), {"thickness_outside_tolerance"}),
    ],
)
def test_the_edges_of_the_sheet_warn_when_they_differ(
    readings: tuple[float, ...], codes: set[str]
) -> None:
    found = check_edges(nominal_mm=2.0, readings_mm=readings, tolerance_deg=1.0)
    assert {one.code for one in found} == codes


def test_no_reading_at_all_is_refused() -> None:
    with pytest.raises(ShopError):
        check_edges(nominal_mm=2.0, readings_mm=(), tolerance_deg=1.0)
