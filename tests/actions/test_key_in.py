"""Keying in: the sheet, its place in the memory, and reading it back."""

from typing import Any

import pytest

from server.actions.key_in import (
    check_read_back,
    clear_program,
    keep_programs,
    kept_read_back,
    key_in,
    override_read_back,
)
from server.actions.run import start_job
from server.actions.setting_up import setup_state
from server.errors import ShopError
from server.settings import ShopSettings
from server.storage.database import Session
from server.storage.queries.job import get_run
from server.storage.queries.program import list_archived_programs, list_programs


def opened(session: Session, job: str = "J-1044") -> int:
    return start_job(session, job, settings=ShopSettings(), by="Ann").id or 0


def test_an_occupied_number_names_what_is_lost_and_archives_it(shop: Any) -> None:
    with shop.writing() as session:
        first, second = opened(session, "J-1041"), opened(session, "J-1044")
        for row in list_programs(session, "BRAKE-1"):
            clear_program(session, "BRAKE-1", row.program, by="Ann")
        keep_programs(session, first, [7], by="Ann")
        told = key_in(session, second, chosen=[7])
        assert told.placement is not None
        assert "BR-1040" in str(told.placement.findings[0].what)
        keep_programs(session, second, [7], by="Bo")
        assert [row.part_number for row in list_programs(session, "BRAKE-1")] == ["CH-2210"]
        lost = list_archived_programs(session, "BRAKE-1")[0]
        assert (lost.part_number, lost.program) == ("BR-1040", 7)
        assert lost.digits


def test_a_wrong_digit_is_marked_locks_the_start_and_an_override_is_logged(shop: Any) -> None:
    with shop.writing() as session:
        run_id = opened(session)
        (program,) = key_in(session, run_id).programs
        typed = dict(program.digits)
        place = next(iter(typed))
        typed[place] = typed[place].replace(".", "") if "." in typed[place] else "1" + typed[place]
        (check,) = check_read_back(session, run_id, typed=typed, by="Ann")
        assert check.locked
        assert [cell.step for cell in check.wrong] == [place[0]]
        run = get_run(session, run_id)
        assert "read_back_differs" in {one.code for one in setup_state(session, run).stops}
        with pytest.raises(ShopError, match="reason"):
            override_read_back(session, run_id, reason=" ", by="Ann")
        override_read_back(session, run_id, reason="display is cracked", by="Ann")
        assert "read_back_differs" not in {one.code for one in setup_state(session, run).stops}


def test_ticking_every_number_is_a_read_back_and_ticks_the_list(shop: Any) -> None:
    with shop.writing() as session:
        run_id = opened(session)
        (program,) = key_in(session, run_id).programs
        (check,) = check_read_back(
            session, run_id, typed={}, ticked=frozenset(program.digits), by="Ann"
        )
        assert not check.locked
        assert not kept_read_back(session, run_id)[0].locked
        assert "key_in" in setup_state(session, get_run(session, run_id)).ticks
