"""Sheets added up from what happened to them: levels, reserving, prices, reordering, tracing."""

from datetime import datetime, timedelta
from fractions import Fraction

import pytest

from server.errors import ShopError
from server.shop.stock import (
    MoveKind,
    ReorderPoint,
    SheetLot,
    SheetsWanted,
    StockMove,
    check_reorder,
    fits,
    levels,
    price_history,
    remnant_lot,
    reserved_for,
)
from server.shop.trace import (
    traced_from_certificate,
    traced_from_heat,
    traced_from_job,
    traced_from_lot,
)

START = datetime.fromisoformat("2026-03-02T08:00")
BIG = SheetLot("L1", "S235", 2.0, 3000.0, 1500.0, "H-11", "cert-11.pdf")
OLD = SheetLot("L2", "S235", 2.0, 3000.0, 1500.0, "H-12")
REST = remnant_lot(BIG, code="L1-R1", width_mm=900.0, height_mm=1500.0)
LOTS = (BIG, OLD, REST)


def move(
    kind: MoveKind,
    lot: str,
    count: int,
    minute: int,
    job: str | None = None,
    price: float | None = None,
) -> StockMove:
    return StockMove(kind, lot, count, START + timedelta(minutes=minute), job, price)


RECORD = (
    move("received", "L1", 10, 0, price=1.00),
    move("received", "L2", 4, 1, price=1.30),
    move("reserved", "L1", 3, 2, "J-1"),
    move("consumed", "L1", 2, 3, "J-1"),
    move("remnant", "L1-R1", 1, 4),
    move("consumed", "L2", 1, 5, "J-2"),
)


def test_levels_are_the_sum_of_what_happened() -> None:
    stock = levels(LOTS, RECORD)
    assert (stock["L1"].on_hand_count, stock["L1"].reserved, stock["L1"].free_count) == (
        8, {"J-1": 1}, 7,
    )  # fmt: skip
    assert (stock["L2"].on_hand_count, stock["L1-R1"].free_count) == (3, 1)


def test_the_order_of_the_record_is_its_time_and_a_count_sets_what_is_there() -> None:
    counted = (*RECORD, move("counted", "L1", 6, 60), move("released", "L1", 1, 61, "J-1"))
    stock = levels(LOTS, reversed(counted))
    assert (stock["L1"].on_hand_count, stock["L1"].reserved) == (6, {})


@pytest.mark.parametrize(
    ("bad", "code"),
    [
        (move("consumed", "L2", 9, 60, "J-2"), "not_enough_sheets"),
        (move("released", "L1", 2, 60, "J-1"), "not_reserved"),
        (move("released", "L1", 1, 60, "J-9"), "not_reserved"),
        (move("received", "L9", 1, 60), "unknown_lot"),
    ],
)
def test_what_cannot_have_happened_is_refused(bad: StockMove, code: str) -> None:
    with pytest.raises(ShopError) as refused:
        levels(LOTS, (*RECORD, bad))
    assert refused.value.code == code


def test_a_move_needs_sheets_and_a_reservation_a_job() -> None:
    for kind, count, code in (("received", 0, "no_sheets"), ("reserved", 1, "no_job")):
        with pytest.raises(ShopError) as refused:
            move(kind, "L1", count, 0)  # type: ignore[arg-type]
        assert refused.value.code == code


def wanted(count: int, width: float = 2000.0, height: float = 1000.0) -> SheetsWanted:
    return SheetsWanted("J-5", "S235", 2.0, width, height, count)


def test_one_lot_is_kept_to_where_it_has_enough() -> None:
    stock = levels(LOTS, RECORD)
    moves, missing = reserved_for(wanted(3), stock, at=START)
    assert [(m.lot, m.sheets_count) for m in moves] == [("L2", 3)]  # the smaller lot that suffices
    assert missing == ()
    moves, missing = reserved_for(wanted(9), stock, at=START)
    assert [(m.lot, m.sheets_count) for m in moves] == [("L1", 7), ("L2", 2)]
    assert missing == ()


def test_a_remnant_that_is_large_enough_goes_first() -> None:
    moves, _ = reserved_for(wanted(2, 1400.0, 800.0), levels(LOTS, RECORD), at=START)
    assert [(m.lot, m.sheets_count) for m in moves] == [("L1-R1", 1), ("L2", 1)]


def test_too_few_sheets_are_told_with_how_many() -> None:
    moves, (missing,) = reserved_for(wanted(15), levels(LOTS, RECORD), at=START)
    assert sum(m.sheets_count for m in moves) == 10
    assert missing.code == "not_enough_sheets"
    assert "5 of 15 sheets" in str(missing.what)
    levels(LOTS, (*RECORD, *(StockMove(m.kind, m.lot, m.sheets_count, START + timedelta(hours=5),
                                       m.job) for m in moves)))  # fmt: skip


def test_sheets_fit_either_way_round_but_not_of_another_material_or_thickness() -> None:
    assert fits(wanted(1, 1500.0, 3000.0), BIG)
    assert not fits(wanted(1, 1501.0, 1501.0), BIG)
    assert not fits(SheetsWanted("J", "S235", 2.5, 100.0, 100.0, 1), BIG)
    assert not fits(SheetsWanted("J", "DC01", 2.0, 100.0, 100.0, 1), BIG)


def test_a_remnant_keeps_its_papers_and_is_never_larger_than_its_sheet() -> None:
    assert (REST.heat_number, REST.certificate, REST.parent) == ("H-11", "cert-11.pdf", "L1")
    with pytest.raises(ShopError, match="does not come from a sheet"):
        remnant_lot(BIG, code="x", width_mm=3100.0, height_mm=100.0)


def test_last_and_average_price_by_hand() -> None:
    """10 sheets at 1.00, 4 taken, 6 more at 1.50: (6 x 1.00 + 6 x 1.50) / 12 = 1.25; then 4 at 2.00
    on the 12: (12 x 1.25 + 4 x 2.00) / 16 = 1.4375."""
    record = [
        move("received", "L1", 10, 0, price=1.0),
        move("consumed", "L1", 4, 1, "J-1"),
        move("received", "L2", 6, 2, price=1.5),
    ]
    history = price_history(LOTS, record, material="S235", thickness_mm=2.0)
    assert (history.last, history.average) == (Fraction(3, 2), Fraction(5, 4))
    record.append(move("received", "L1", 4, 3, price=2.0))
    history = price_history(LOTS, record, material="S235", thickness_mm=2.0)
    assert (history.last, history.average) == (Fraction(2), Fraction(23, 16))
    assert [price for _, price in history.received] == [1, Fraction(3, 2), 2]
    nothing = price_history(LOTS, record, material="DC01", thickness_mm=2.0)
    assert (nothing.last, nothing.average) == (None, None)


def test_below_the_reorder_point_the_order_fills_up_and_counts_what_is_coming() -> None:
    stock = levels(LOTS, RECORD)  # 7 + 3 whole sheets free; the remnant does not count
    point = ReorderPoint("S235", 2.0, 3000.0, 1500.0, least_count=12, up_to_count=30)
    (low,) = check_reorder([point], stock)
    assert low.code == "low_stock"
    assert low.amount is not None
    assert low.amount.value == 20
    assert check_reorder([point], stock, on_order={point: 2}) == ()
    enough = ReorderPoint("S235", 2.0, 3000.0, 1500.0, least_count=10, up_to_count=30)
    assert check_reorder([enough], stock) == ()


def test_story_15_lot_job_and_certificate_lead_to_each_other() -> None:
    record = (*RECORD, move("consumed", "L1-R1", 1, 30, "J-3"))
    from_heat = traced_from_heat("H-11", LOTS, record)
    assert from_heat.lots == ("L1", "L1-R1")
    assert from_heat.jobs == ("J-1", "J-3")
    assert from_heat.certificates == ("cert-11.pdf",)
    assert traced_from_certificate("cert-11.pdf", LOTS, record) == from_heat
    assert traced_from_lot("L1", LOTS, record) == from_heat
    from_job = traced_from_job("J-3", LOTS, record)
    assert (from_job.heat_numbers, from_job.certificates) == (("H-11",), ("cert-11.pdf",))
    assert traced_from_job("J-2", LOTS, record).without_certificate == ("L2",)
    assert traced_from_job("J-404", LOTS, record).jobs == ()
