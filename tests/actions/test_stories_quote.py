"""Stories about prices a stranger can run, on the demo shop, through the actions people use.

Figures are invented and worked by hand where they stand; bands of the trade are common practice.
"""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from typing import Any

import pytest

from server.actions.order import LineValues, OrderValues, add_order
from server.actions.part import save_revision
from server.actions.quote import (
    QuoteValues,
    add_quote,
    add_quote_for_order,
    new_version,
    rates_now,
)
from server.actions.quote_outcome import send_quote, set_quote_lost, set_quote_won
from server.actions.quote_work import LineWish, WorkedLine, work_out_line
from server.actions.work_out import work_out
from server.errors import ShopError
from server.planning.blank import DrawnBend, DrawnProfile
from server.planning.drawn_part import DrawnPart
from server.shop.time_standard import time_gap
from server.storage.queries.job import get_job
from server.storage.queries.order import list_lines
from server.storage.queries.quote import get_quote_place
from server.storage.tables.measured_time import MeasuredTime
from server.storage.tables.planning import Planning

BREAKS = (1, 10, 50, 250)
NOW = datetime(2026, 11, 25, 9, tzinfo=UTC)


def priced(session: Any, wish: LineWish) -> WorkedLine:
    return work_out_line(session, wish, rates_now(session))


def test_story_5_the_unit_price_falls_with_the_quantity_and_a_repeat_is_cheaper(shop: Any) -> None:
    with shop.reading() as session:
        first = priced(session, LineWish("HR-3005", "A", BREAKS))
        again = priced(session, LineWish("HR-3005", "A", BREAKS, repeat=True))
    units = [one.unit_price_minor for one in first.prices.breaks]
    assert units == sorted(units, reverse=True)
    assert units[0] > 5 * units[2]  # set-up is shared by the pieces
    for one, repeated in zip(first.prices.breaks, again.prices.breaks, strict=True):
        assert repeated.total_minor <= one.total_minor
        gone = one.price.get("setup").cost - repeated.price.get("setup").cost
        # by hand: 15 min of programming and half the first article at 65.00 an hour fall away,
        # and the set-up is the one this sequence took before
        half_first_min = Fraction(first.times.first_article_min) / 2
        setup_min = Fraction(first.times.setup_min) - Fraction(again.times.setup_min)
        wanted = (15 + half_first_min + setup_min) / 60 * 65
        assert float(gone) == pytest.approx(float(wanted), abs=1e-6)


def test_story_5_another_v_changes_the_flat_and_the_price(shop: Any) -> None:
    """11 ga on V 1 in against V 1-1/4 in: 0.069 in of blank over four bends (D); here S235JR 3."""
    shape = DrawnProfile(200.0, (60.0, 80.0, 60.0), (DrawnBend(90.0), DrawnBend(90.0)))
    drawn = DrawnPart(shape, "VV-1", "Two ways", "S235JR", 3.0, die_code="D20")
    with shop.writing() as session:
        for die in ("D20", "D32"):
            worked = work_out(session, replace(drawn, die_code=die), flange_margin=0.1)
            save_revision(session, worked, note="", by="test")
    with shop.reading() as session:
        narrow = priced(session, LineWish("VV-1", "A", (50,)))
        wide = priced(session, LineWish("VV-1", "B", (50,)))
    assert narrow.revision.blank_length_mm > wide.revision.blank_length_mm
    material = [one.prices.breaks[0].price.get("material").cost for one in (narrow, wide)]
    ratio = wide.revision.area_mm2 / narrow.revision.area_mm2
    assert float(material[1] / material[0]) == pytest.approx(ratio, rel=1e-9)
    assert narrow.prices.breaks[0].total_minor > wide.prices.breaks[0].total_minor
    assert "superseded" in {found.code for found in narrow.findings}


def test_story_4_what_cannot_be_bent_is_not_offered(shop: Any) -> None:
    """The planner said no: the quote can be looked at, and is not sent."""
    shape = DrawnProfile(200.0, (60.0, 80.0), (DrawnBend(90.0),))
    with shop.writing() as session:
        drawn = DrawnPart(shape, "NO-1", "Not here", "S235JR", 3.0)
        save_revision(session, work_out(session, drawn, flange_margin=0.1), note="", by="test")
        session.add(Planning(kind="plan", state="blocked", part_number="NO-1", revision_label="A"))
        session.flush()
        quote = add_quote(
            session, QuoteValues("NORTHGATE"), [LineWish("NO-1", "A", (10,))], by="test"
        )
        with pytest.raises(ShopError, match="found no way to bend") as told:
            send_quote(session, quote.number, now=NOW, by="test")
    assert told.value.code == "blocked"
    assert "what would free it" in str(told.value.remedy)


def test_story_16_measured_times_show_their_money_and_move_the_next_quote(shop: Any) -> None:
    gap = time_gap(quoted_min=30, actual_min=52, rate_per_hour=65)
    assert str(gap.told) == "Took 52 min against 30 min quoted: 22 min more, 23.83 lost."
    wish = LineWish("ZC-1102", "A", (100,))
    with shop.writing() as session:
        before = priced(session, wish)
        run_id = session.connection().exec_driver_sql("SELECT min(id) FROM run").scalar()
        session.add_all(
            MeasuredTime(run_id=run_id, kind="bend", work_class="under 1 kg", seconds_s=seconds)
            for seconds in (40.0, 41.0, 43.0)
        )
        session.flush()
        unaccepted = priced(session, wish)
        session.connection().exec_driver_sql(
            "UPDATE measured_time SET accepted = 1 WHERE seconds_s BETWEEN 40 AND 43"
        )
        after = priced(session, wish)
    assert before.brake.handling.name == "under 1 kg"
    assert unaccepted.brake.bend == before.brake.bend
    assert after.brake.bend.value_s > before.brake.bend.value_s
    assert after.prices.breaks[0].total_minor > before.prices.breaks[0].total_minor


def test_an_enquiry_is_priced_sent_changed_and_won_with_its_own_job(shop: Any) -> None:
    with shop.writing() as session:
        asked = OrderValues("HARBOUR", "HJ 400", NOW + timedelta(days=20), "")
        order = add_order(session, asked, [LineValues("KP-1200", 24, None)], by="test")
        quote = add_quote_for_order(session, order.number, by="test")
        number, job = quote.number, list_lines(session, order.number)[0].number
        assert get_quote_place(session, number).lines[0].line.job_number == job
        send_quote(session, number, now=NOW, by="test")
        assert get_job(session, job).state == "priced"
        new_version(session, number, by="test")
        send_quote(session, number, now=NOW, by="test")
        place = get_quote_place(session, number)
        assert place.version.position == 2
        assert place.version.valid_until == (NOW + timedelta(days=30)).date()
        line = place.lines[0]
        set_quote_won(session, number, {line.line.id or 0: 24}, due_at=None, by="test")
        assert get_job(session, job).state == "won"
        assert get_job(session, job).unit_price_minor == line.breaks[0].unit_price_minor
        assert len(list_lines(session, order.number)) == 1


def test_a_lost_quote_takes_its_enquiry_along_with_the_reason(shop: Any) -> None:
    with shop.writing() as session:
        asked = OrderValues("HARBOUR", "", None, "")
        order = add_order(session, asked, [LineValues("KP-1200", 24, None)], by="test")
        quote = add_quote_for_order(session, order.number, by="test")
        send_quote(session, quote.number, now=NOW, by="test")
        set_quote_lost(session, quote.number, reason="price", by="test")
        job = list_lines(session, order.number)[0]
    assert (job.state, job.lost_reason) == ("lost", "price")


def test_low_stock_shows_on_the_quote(shop: Any) -> None:
    with shop.reading() as session:
        worked = priced(session, LineWish("HR-3005", "A", (100_000,)))
    codes = {found.code for found in worked.findings}
    assert "not_enough_sheets" in codes
