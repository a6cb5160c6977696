"""The trade's stories of traces, re-cuts, repeats and remnants, from the office's side."""

from collections.abc import Iterator
from datetime import UTC, date, datetime
from fractions import Fraction
from typing import Any

import pytest

from server.actions import job as jobs
from server.actions import stock
from server.actions.cut import list_cuts, set_cut
from server.actions.order import LineValues, OrderValues, add_order
from server.actions.repeat import repeat_job, what_changed
from server.errors import ShopError
from server.mechanics.measured_thickness import mean_thickness
from server.shop.trace import traced_from_heat, traced_from_job, traced_from_lot
from server.storage.database import Session
from server.storage.queries.job import get_job
from server.storage.queries.lot import get_lot
from server.storage.queries.order import list_lines
from server.storage.queries.stock import list_sheets, reserved_by
from server.storage.queries.tool import get_punch
from server.storage.tables.job import Job

TODAY = date(2026, 11, 25)
DUE = datetime(2026, 12, 11, 15, tzinfo=UTC)
BY = "test"


@pytest.fixture
def session(shop: Any) -> Iterator[Session]:
    with shop.writing() as opened:
        yield opened


def won(session: Session, part: str = "BR-1040", quantity: int = 20) -> Job:
    order = add_order(
        session,
        OrderValues("NORTHGATE", "PO", DUE, ""),
        [LineValues(part, quantity, None, unit_price_minor=500)],
        by=BY,
    )
    job = list_lines(session, order.number)[0]
    for state in ("priced", "won"):
        jobs.move_job(session, job.number, state, today=TODAY, by=BY)
    return job


def made(session: Session, part: str = "BR-1040", quantity: int = 20) -> Job:
    job = won(session, part, quantity)
    stock.reserve_best(session, job.number, width_mm=1500, height_mm=3000, by=BY)
    for state in ("ready", "running"):
        jobs.move_job(session, job.number, state, today=TODAY, by=BY)
    job.good_count = quantity
    return jobs.move_job(session, job.number, "made", today=TODAY, by=BY)


def test_story_15_lot_job_and_heat_lead_to_each_other(session: Session) -> None:
    """A job made of a lot's remnant still leads to the mill's heat, and the heat to the job."""
    first = made(session)
    rest = stock.put_remnant_back(
        session, "L-301", width_mm=700, height_mm=1500, job_number=first.number, by=BY
    )
    stock.consume(session, rest.code, 1, job_number="J-1043", by=BY)
    sheets = list_sheets(session, with_archived=True)
    assert traced_from_job(first.number, sheets.lots, sheets.moves).heat_numbers == ("H 71-2204",)
    assert traced_from_job("J-1043", sheets.lots, sheets.moves).lots == (rest.code,)
    assert traced_from_job("J-1043", sheets.lots, sheets.moves).heat_numbers == ("H 71-2204",)
    for trace in (
        traced_from_heat("H 71-2204", sheets.lots, sheets.moves),
        traced_from_lot("L-301", sheets.lots, sheets.moves),
    ):
        assert trace.jobs == tuple(sorted((first.number, "J-1043")))
        assert trace.lots == ("L-301", rest.code)
        assert trace.without_certificate == ("L-301", rest.code)


def test_story_17_three_scrapped_are_a_re_cut_of_three(session: Session) -> None:
    job = won(session)
    number = job.number

    def cuts_of_it() -> list[tuple[str, int]]:
        lines = [line for line in list_cuts(session) if number in line.jobs]
        return [(line.kind, line.quantity_count) for line in lines]

    (first,) = cuts_of_it()
    assert first[0] == "first cut"
    assert set_cut(session, number, by=BY) == 20
    assert cuts_of_it() == []
    job.state, job.good_count, job.scrap_count = "running", 10, 3
    assert cuts_of_it() == [("re-cut", 3)]
    assert set_cut(session, number, by=BY) == 3
    assert cuts_of_it() == []
    job.scrap_count = 4
    assert cuts_of_it() == [("re-cut", 1)]
    with pytest.raises(ShopError) as told:
        set_cut(session, "J-1031", by=BY)
    assert told.value.code == "nothing_to_cut"


def test_equal_blanks_of_two_jobs_are_cut_together_and_re_cuts_come_first(
    session: Session,
) -> None:
    one, two = won(session, quantity=5), won(session, quantity=7)
    line = next(line for line in list_cuts(session) if one.number in line.jobs)
    assert two.number in line.jobs
    assert line.quantity_count >= 12
    one.state, one.scrap_count = "running", 2
    assert list_cuts(session)[0].kind == "re-cut"


def test_story_1_a_repeat_with_a_thicker_lot_a_reground_punch_and_dearer_sheet_says_so(
    session: Session,
) -> None:
    """Thickness, tool height and price are compared with what the job rested on when it was made."""
    job = made(session)
    kept = dict(job.made_with or {})
    kept |= {"thickness_mm": 3.0}
    job.made_with = kept
    assert kept["tools"]
    punch = next(code for code in kept["tools"] if code.startswith("P"))
    row = get_punch(session, punch)
    row.height_mm -= 0.508  # 0.020 in
    lot = get_lot(session, "L-301")
    lot.measured_thickness_mm = mean_thickness(readings_mm=[3.08, 3.10, 3.12, 3.10])
    stock.receive(
        session,
        stock.DeliveryValues("L-399", "S235JR", 3.0, 1500, 3000, 2, Fraction("1.30")),
        by=BY,
    )
    outlook = what_changed(session, job.number, lot_code="L-301")
    found = {one.code: one for one in outlook.changes}
    assert {"thickness_changed", "tool_height_changed", "material_price_changed"} <= set(found)
    thicker, shorter = found["thickness_changed"].amount, found["tool_height_changed"].amount
    assert thicker is not None
    assert thicker.value == pytest.approx(0.10)
    assert shorter is not None
    assert shorter.value == pytest.approx(-0.508)
    assert not outlook.price_stands


def test_a_repeat_of_a_job_whose_tool_is_gone_is_stopped_before_it_is_promised(
    session: Session,
) -> None:
    job = made(session)
    punch = next(code for code in (job.made_with or {})["tools"] if code.startswith("P"))
    get_punch(session, punch).archived_at = DUE
    outlook = what_changed(session, job.number)
    assert outlook.changes[0].code == "tool_gone"
    assert outlook.changes[0].level == "stop"
    assert repeat_job(session, job.number, by=BY).unit_price_minor is None


def test_story_14_a_new_revision_blocks_the_floor_until_somebody_asked_the_customer(
    session: Session,
) -> None:
    job = won(session, quantity=2)
    stock.reserve_best(session, job.number, width_mm=1500, height_mm=3000, by=BY)
    from server.storage.queries.part import get_revision

    revision = get_revision(session, "BR-1040", "A")
    revision.superseded_at = DUE
    session.add(revision)
    with pytest.raises(ShopError) as told:
        jobs.move_job(session, job.number, "ready", today=TODAY, by=BY)
    assert told.value.code == "revision_superseded"
    jobs.agree_old_revision(session, job.number, by=BY)
    assert jobs.move_job(session, job.number, "ready", today=TODAY, by=BY).state == "ready"


def test_a_remnant_is_used_before_a_whole_sheet(session: Session) -> None:
    rest = stock.put_remnant_back(session, "L-301", width_mm=1500, height_mm=2990, by=BY)
    job = won(session, quantity=1)
    stock.reserve_best(session, job.number, width_mm=700, height_mm=1400, by=BY)
    assert reserved_by(session, job.number) == {rest.code: 1}
    lost = jobs.move_job(session, job.number, "lost", reason="gone abroad", today=TODAY, by=BY)
    assert reserved_by(session, lost.number) == {}
    assert get_job(session, lost.number).lost_reason == "gone abroad"
