"""Rows as the formulas and the planner see them."""

from typing import Any

import pytest

from server.mechanics.brake_load import brake_line_load_limit
from server.storage.database import Database
from server.storage.queries.brake import (
    brake_of,
    get_brake,
    get_brake_with_holder,
    ram_scale_of,
    touch_off_of,
)
from server.storage.queries.lot import get_lot
from server.storage.queries.tool import (
    die_of,
    find_punch,
    get_holder,
    list_dies,
    list_dies_with_segments,
    list_punches_with_segments,
    piece_lengths,
    punch_of,
)


def test_every_demo_tool_becomes_one_the_formulas_take(shop: Database) -> None:
    from server.geometry.tool_outline import (
        checked_die_outline,
        checked_pressing_outline,
        checked_punch_outline,
    )
    from server.mechanics.tool_check import check_die, check_punch

    with shop.reading() as session:
        punches = [punch_of(*one) for one in list_punches_with_segments(session)]
        dies = [die_of(*one) for one in list_dies_with_segments(session)]
        bending = {row.code for row in list_dies(session, purpose="bend")}
    assert (len(punches), len(dies)) == (6, 12)
    for punch in punches:
        assert checked_punch_outline(punch.profile_mm)
        assert punch.segments_mm == tuple(sorted(punch.segments_mm, reverse=True))
        codes = {finding.code for finding in check_punch(punch)}
        assert codes == ({"no_rating"} if punch.rating_kn_per_m is None else set()), punch.name
    for die in dies:
        check = checked_die_outline if die.name in bending else checked_pressing_outline
        assert check(die.profile_mm)
        assert check_die(die) == (), die.name


def test_a_piece_owned_twice_is_there_twice(shop: Database) -> None:
    with shop.reading() as session:
        rows = {
            row.code: piece_lengths(parts) for row, parts in list_punches_with_segments(session)
        }
    assert rows["P3-ACUTE"] == (1300, 1300, 500, 200, 200, 100, 100, 50, 50)


def test_the_brake_comes_with_its_holder_in_one_query(shop: Database) -> None:
    from sqlalchemy import event

    counted: list[Any] = []
    event.listen(shop.reader, "before_cursor_execute", lambda *told: counted.append(told[2]))
    with shop.reading() as session:
        row, holder = get_brake_with_holder(session, "BRAKE-1")
    assert len([sql for sql in counted if sql.startswith("SELECT")]) == 1
    assert holder is not None
    assert brake_of(row, holder).holder_mm[0] == (-32.0, 0.0)
    assert brake_of(row).holder_mm == ()


def test_a_holder_weaker_than_the_brake_limits_the_line_load(shop: Database) -> None:
    """785 kN over 60 % of 2150 mm is 608.5 kN/m; the plate says 600."""
    with shop.reading() as session:
        row, holder = get_brake_with_holder(session, "BRAKE-1")
        assert holder is not None
        session.expunge_all()
    assert brake_line_load_limit(brake_of(row, holder)) == 600.0  # the holder bears 1200
    holder.rating_kn_per_m = 450.0
    assert brake_line_load_limit(brake_of(row, holder)) == 450.0
    row.max_line_load_kn_per_m = None
    assert brake_line_load_limit(brake_of(row, holder)) == 450.0
    holder.rating_kn_per_m = 900.0
    assert brake_line_load_limit(brake_of(row, holder)) == pytest.approx(785 / 1.29)


def test_the_last_touch_off_is_never_taken_for_checked(shop: Database) -> None:
    with shop.reading() as session:
        row = get_brake(session, "BRAKE-1")
        touch_off = touch_off_of(row)
        session.expunge_all()
    assert touch_off is not None
    assert touch_off.checked is False
    assert (touch_off.on, touch_off.reading_mm) == (row.touch_off_on, row.touch_off_reading_mm)
    row.touch_off_reading_mm = None
    assert touch_off_of(row) is None
    assert ram_scale_of(row) is None


def test_what_is_not_there_is_told_or_none(shop: Database) -> None:
    with shop.reading() as session:
        assert find_punch(session, None) is None
        assert find_punch(session, "NOBODY") is None
        for get in (get_brake, get_holder, get_lot):
            with pytest.raises(Exception, match="There is no") as told:
                get(session, "NOBODY")
            assert getattr(told.value, "code", "") == "not_found"
