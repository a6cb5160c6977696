"""What changed since the last run: nothing told for nothing changed, stops first."""

from dataclasses import replace

from server.shop.repeat import JobThen, ToolThen, changes_since

THEN = JobThen(
    revision="B",
    material="S235",
    price_per_kg=1.20,
    thickness_mm=2.0,
    sheets_free_count=10,
    tools={"P1": ToolThen(100.0), "V16": ToolThen(80.0)},
    bend_angles_deg={0: 90.0, 1: 90.0},
)


def codes(now: JobThen, sheets: int = 0) -> list[str]:
    return [finding.code for finding in changes_since(THEN, now, sheets_needed_count=sheets)]


def test_a_repeat_that_runs_as_it_did_tells_nothing() -> None:
    assert codes(THEN, sheets=10) == []


def test_each_change_is_told_with_its_amount() -> None:
    (price,) = changes_since(THEN, replace(THEN, price_per_kg=1.50))
    assert str(price.what) == "The material costs 25 % more than then."
    (lot,) = changes_since(THEN, replace(THEN, thickness_mm=2.06))
    assert lot.amount is not None
    assert round(lot.amount.value, 6) == 0.06
    ground = {"P1": ToolThen(99.49), "V16": ToolThen(80.0)}
    (tool,) = changes_since(THEN, replace(THEN, tools=ground))
    assert (tool.code, tool.tool) == ("tool_height_changed", "P1")
    (bend,) = changes_since(THEN, replace(THEN, bend_angles_deg={0: 90.0, 1: 88.6}))
    assert (bend.code, bend.bend, bend.level) == ("learned_since", 1, "note")
    assert codes(THEN, sheets=12) == ["not_enough_sheets"]


def test_stops_come_first() -> None:
    now = replace(THEN, revision="C", price_per_kg=2.0, tools={"P1": ToolThen(100.0)})
    assert codes(now) == ["revision_changed", "tool_gone", "material_price_changed"]
    gone = replace(THEN, tools={**THEN.tools, "V16": ToolThen(80.0, there=False)})
    assert codes(gone) == ["tool_gone"]
    assert codes(replace(THEN, material="DC01")) == ["material_changed"]


def test_small_changes_and_unknown_prices_are_not_news() -> None:
    assert codes(replace(THEN, price_per_kg=1.21)) == []
    assert codes(replace(THEN, price_per_kg=None)) == []
    assert codes(replace(THEN, thickness_mm=2.004)) == []
    assert codes(replace(THEN, bend_angles_deg={0: 90.05})) == []
