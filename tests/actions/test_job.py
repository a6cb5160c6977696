"""Enquiry, order, moves and their undoing, repeats and stock: what people do in the office."""

from collections.abc import Iterator
from datetime import UTC, date, datetime
from typing import Any

import pytest

from server.actions import job as jobs
from server.actions import order as orders
from server.actions import stock
from server.actions.repeat import repeat_job, what_changed
from server.errors import ShopError
from server.storage.database import Session
from server.storage.queries.history import list_events
from server.storage.queries.job import get_job, list_jobs
from server.storage.queries.order import get_order, list_lines, list_operations
from server.storage.queries.setting import find_setting
from server.storage.queries.stock import list_job_moves, list_sheets, list_short_stock, reserved_by

TODAY = date(2026, 11, 25)
DUE = datetime(2026, 12, 4, 15, tzinfo=UTC)
BY = "test"


@pytest.fixture
def session(shop: Any) -> Iterator[Session]:
    with shop.writing() as opened:
        yield opened


def enquiry(session: Session, quantity: int = 20, **more: Any) -> str:
    order = orders.add_order(
        session,
        orders.OrderValues("NORTHGATE", "PO 4711", DUE, ""),
        [orders.LineValues("CH-2210", quantity, None, **more)],
        by=BY,
    )
    return next(line.number for line in list_lines(session, order.number))


def move(session: Session, number: str, *states: str, reason: str = "") -> None:
    for state in states:
        jobs.move_job(session, number, state, reason=reason, today=TODAY, by=BY)


def receive(session: Session, code: str = "L-1", sheets: int = 10, price: str = "1.20") -> None:
    from fractions import Fraction

    stock.receive(
        session,
        stock.DeliveryValues(code, "DX51D+Z", 1.5, 1250, 2500, sheets, Fraction(price), "H1"),
        by=BY,
    )


def test_an_enquiry_becomes_a_job_at_the_newest_revision_with_its_routing(session: Session) -> None:
    job = get_job(session, enquiry(session, finish="powder coat"))
    assert (job.revision_label, job.state) == ("A", "asked")
    numbers = [row.number for row in list_jobs(session, limit=1000)]
    assert job.number == max(numbers)  # counted on from the highest, all of one length
    assert job.due_at == DUE
    assert job.customer_code == "NORTHGATE"
    steps = list_operations(session, job.number)
    assert [(step.kind, step.words) for step in steps] == [
        ("cut", ""), ("bend", ""), ("finish", "powder coat"),
    ]  # fmt: skip
    order = get_order(session, job.order_number or "")
    assert (order.state, order.their_reference) == ("asked", "PO 4711")


def test_an_order_is_as_far_as_its_least_far_line(session: Session) -> None:
    first = enquiry(session, unit_price_minor=990)
    order_number = get_job(session, first).order_number or ""
    second = orders.add_line(
        session, order_number, orders.LineValues("BR-1040", 4, None, 120), by=BY
    ).number
    move(session, first, "priced", "won")
    assert get_order(session, order_number).state == "asked"
    move(session, second, "priced")
    move(session, second, "lost", reason="price")
    assert get_order(session, order_number).state == "won"
    assert get_order(session, order_number).ordered_at is not None


def test_a_move_that_is_not_allowed_says_why_and_changes_nothing(session: Session) -> None:
    number = enquiry(session)
    for state, code in (("priced", "no_price"), ("made", "no_such_move"), ("lost", "no_reason")):
        with pytest.raises(ShopError) as told:
            move(session, number, state)
        assert told.value.code == code
    with pytest.raises(ShopError, match="not a state"):
        move(session, number, "finished")
    assert get_job(session, number).state == "asked"


def test_undo_takes_moves_back_one_by_one_and_stops_where_somebody_else_changed(
    session: Session,
) -> None:
    number = enquiry(session, unit_price_minor=990)
    move(session, number, "priced", "won")
    move(session, number, "held", reason="drawing question")
    assert jobs.undo_move(session, number, by=BY).held_reason == ""
    assert jobs.undo_move(session, number, by=BY).state == "priced"
    assert jobs.undo_move(session, number, by=BY).state == "asked"
    with pytest.raises(ShopError) as told:
        jobs.undo_move(session, number, by=BY)
    assert told.value.code == "nothing_to_undo"
    move(session, number, "priced")
    get_job(session, number).state = "won"
    with pytest.raises(ShopError):
        jobs.undo_move(session, number, by=BY)


def test_a_made_job_consumes_what_it_reserved_and_undo_gives_it_back(session: Session) -> None:
    receive(session)
    number = enquiry(session, quantity=20, unit_price_minor=990)
    move(session, number, "priced", "won")
    with pytest.raises(ShopError) as told:
        move(session, number, "ready")
    assert told.value.code == "material_missing"
    assert stock.reserve_best(session, number, width_mm=1250, height_mm=2500, by=BY) == ()
    reserved = reserved_by(session, number)
    assert reserved.keys() == {"L-1"}
    move(session, number, "ready", "running")
    with pytest.raises(ShopError) as told:
        move(session, number, "made")
    assert told.value.code == "parts_missing"
    get_job(session, number).good_count = 20
    move(session, number, "made")
    level = list_sheets(session).levels()["L-1"]
    assert (level.on_hand_count, level.reserved_count) == (10 - reserved["L-1"], 0)
    assert {step.state for step in list_operations(session, number)} == {"done"}
    jobs.undo_move(session, number, by=BY)
    assert list_sheets(session).levels()["L-1"].reserved == {number: reserved["L-1"]}
    assert {step.state for step in list_operations(session, number)} == {"waiting"}


def test_a_lost_job_frees_its_sheets(session: Session) -> None:
    receive(session)
    number = enquiry(session)
    stock.reserve(session, number, "L-1", 3, by=BY)
    move(session, number, "lost", reason="price")
    assert list_sheets(session).levels()["L-1"].free_count == 10
    assert [row.kind for row in list_job_moves(session, number)] == ["reserved", "released"]


def test_jobs_move_together_and_one_that_may_not_stays(session: Session) -> None:
    good, bad = enquiry(session, unit_price_minor=990), enquiry(session)
    outcome = jobs.move_jobs(session, [good, bad, good], "priced", today=TODAY, by=BY)
    assert outcome.done == (good,)
    assert outcome.refused[0][0] == bad
    jobs.undo_moves(session, outcome.done, by=BY)
    assert get_job(session, good).state == "asked"
    jobs.set_jobs_archived(session, [good, bad], archived=True, by=BY)
    assert get_job(session, bad).archived_at is not None


def test_an_order_with_one_bad_line_keeps_nothing(session: Session) -> None:
    """A form's answer is given inside the transaction: what was kept before would stay."""
    good, bad = orders.LineValues("CH-2210", 5, None), orders.LineValues("NO-SUCH", 5, None)
    before = len(list_jobs(session, limit=1000))
    with pytest.raises(ShopError):
        orders.add_order(
            session, orders.OrderValues("NORTHGATE", "half", None, ""), [good, bad], by=BY
        )
    session.flush()
    assert len(list_jobs(session, limit=1000)) == before
    assert find_setting(session, "next_number_O") is None


@pytest.mark.parametrize("quantity", [0, -5])
def test_a_quantity_of_nothing_is_refused(session: Session, quantity: int) -> None:
    with pytest.raises(ShopError) as told:
        enquiry(session, quantity=quantity)
    assert told.value.code == "no_quantity"


def test_routing_keeps_what_is_done(session: Session) -> None:
    number = enquiry(session)
    cut, _bend = list_operations(session, number)
    orders.set_operation_done(session, number, cut.id or 0, done=True, by=BY)
    steps = [orders.OperationValues("cut"), orders.OperationValues("weld", "corners")]
    orders.save_routing(session, number, steps, by=BY)
    assert [(row.kind, row.state) for row in list_operations(session, number)] == [
        ("cut", "done"), ("weld", "waiting"),
    ]  # fmt: skip


def test_another_estimate_alone_is_kept_and_told(session: Session) -> None:
    number = enquiry(session)
    steps = [orders.OperationValues("cut"), orders.OperationValues("weld", "corners", 600.0)]
    orders.save_routing(session, number, steps, by=BY)
    longer = [steps[0], orders.OperationValues("weld", "corners", 900.0)]
    orders.save_routing(session, number, longer, by=BY)
    assert [row.estimated_s for row in list_operations(session, number)][1] == 900.0
    told = list_events(session, noun="job", key=number)[0]
    assert told.after == {"routing": "cut, weld corners (15 min)"}


def test_a_step_saved_without_an_estimate_keeps_its_own(session: Session) -> None:
    number = enquiry(session)
    timed = [orders.OperationValues("weld", "corners", 600.0), orders.OperationValues("finish")]
    orders.save_routing(session, number, timed, by=BY)
    typed = [orders.OperationValues("finish"), orders.OperationValues("weld", "corners")]
    orders.save_routing(session, number, typed, by=BY)
    assert [row.estimated_s for row in list_operations(session, number)] == [None, 600.0]


def test_low_stock_is_told_with_how_many_to_order(session: Session) -> None:
    receive(session, sheets=2)
    values = stock.ReorderValues("DX51D+Z", 1.5, 1250, 2500, least_count=4, up_to_count=12)
    stock.save_reorder_point(session, values, by=BY)
    (finding,) = list_short_stock(session, material_code="DX51D+Z")
    assert finding.amount is not None
    assert finding.amount.value == 10
    assert list_short_stock(session, material_code="S235JR") == ()
    stock.count(session, "L-1", 12, by=BY)
    assert list_short_stock(session, material_code="DX51D+Z") == ()
    stock.undo_last(session, "L-1", by=BY)
    assert list_short_stock(session, material_code="DX51D+Z", thickness_mm=1.5) != ()


def test_more_than_there_is_cannot_be_taken(session: Session) -> None:
    receive(session, sheets=2)
    number = enquiry(session)
    with pytest.raises(ShopError) as told:
        stock.reserve(session, number, "L-1", 3, by=BY)
    assert told.value.code == "not_enough_sheets"
    with pytest.raises(ShopError):
        stock.consume(session, "L-1", 3, by=BY)
    assert list_sheets(session).levels()["L-1"].free_count == 2


def test_a_lot_is_of_one_heat(session: Session) -> None:
    receive(session)
    with pytest.raises(ShopError) as told:
        stock.receive(
            session,
            stock.DeliveryValues("L-1", "DX51D+Z", 1.5, 1250, 2500, 5, None, "H2"),
            by=BY,
        )
    assert told.value.code == "other_lot"


def test_a_repeat_keeps_the_price_only_where_nothing_it_rests_on_changed(session: Session) -> None:
    receive(session, price="1.20")
    number = enquiry(session, unit_price_minor=990)
    move(session, number, "priced", "won")
    stock.reserve(session, number, "L-1", 5, by=BY)
    move(session, number, "ready", "running")
    get_job(session, number).good_count = 20
    move(session, number, "made")
    assert what_changed(session, number).price_stands
    again = repeat_job(session, number, by=BY)
    assert (again.unit_price_minor, again.repeat_of, again.quantity_count) == (990, number, 20)
    receive(session, code="L-2", price="1.44")
    outlook = what_changed(session, number)
    assert [one.code for one in outlook.changes] == ["material_price_changed"]
    assert repeat_job(session, number, by=BY).unit_price_minor is None
