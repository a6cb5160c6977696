"""Setting a brake up: what blocks the start, what a tick keeps, what a measurement moves."""

from typing import Any

import pytest

from server.actions.run import start_job
from server.actions.setting_up import (
    keep_ram_scale,
    measure_sheet,
    renewed,
    setup_state,
    start_setup,
    tick_item,
    touch_off,
)
from server.actions.setup import TouchOffValues
from server.errors import ShopError
from server.planning.setup_list import PRE_USE_CHECKS
from server.settings import ShopSettings
from server.storage.database import Session
from server.storage.queries.bend_sequence import get_setup, list_keyed_steps
from server.storage.queries.job import get_run
from server.storage.tables.job import Run
from server.storage.tables.setup import Trial


def opened(session: Session, job: str = "J-1041") -> Run:
    return start_job(session, job, settings=ShopSettings(), by="Ann")


def tick_everything(session: Session, run: Run, *, besides: str = "") -> None:
    for item in setup_state(session, run).items:
        if item.code != besides:
            tick_item(session, run.id or 0, item.code, by="Ann")


def test_nothing_starts_before_the_pre_use_checks_are_signed_and_the_answer_says_which(
    shop: Any,
) -> None:
    with shop.writing() as session:
        run = opened(session)
        tick_everything(session, run, besides="light_curtain")
        with pytest.raises(ShopError, match="light curtain") as told:
            start_setup(session, run.id or 0, by="Ann")
        assert told.value.code == "blocked"
        tick_item(session, run.id or 0, "light_curtain", by="Ann")
        started = start_setup(session, run.id or 0, by="Ann")
        assert started.state == "first_article"
        setup = get_setup(session, run.setup_id or 0)
        assert setup.signed_by == "Ann"
        assert {item.code for item in PRE_USE_CHECKS} <= set(setup.checks)


def test_a_tick_keeps_its_first_name_and_can_be_taken_away(shop: Any) -> None:
    with shop.writing() as session:
        run = opened(session)
        tick_item(session, run.id or 0, "read_revision", by="Ann")
        tick_item(session, run.id or 0, "read_revision", by="Bo")
        assert setup_state(session, run).ticks["read_revision"].by == "Ann"
        tick_item(session, run.id or 0, "read_revision", on=False, by="Bo")
        assert "read_revision" not in setup_state(session, run).ticks


def test_hands_go_between_the_tools_only_after_the_ram_is_blocked(shop: Any) -> None:
    with shop.writing() as session:
        run = opened(session)
        with pytest.raises(ShopError, match="First") as told:
            tick_item(session, run.id or 0, "fetch_tools", by="Ann")
        assert told.value.code == "not_in_order"


def test_a_thicker_sheet_moves_the_stroke_heights_by_as_much(shop: Any) -> None:
    with shop.writing() as session:
        run = opened(session)
        before = dict(get_setup(session, run.setup_id or 0).stroke_setting)
        setup = measure_sheet(
            session, run.id or 0, [3.1, 3.12, 3.08, 3.1], settings=ShopSettings(), by="Ann"
        )
        moved = setup.stroke_setting["speed_change_mm"] - before["speed_change_mm"]
        assert moved == pytest.approx(0.1)
        assert setup.thickness_measured
        assert "measure_thickness" in setup.checks


def test_edges_too_far_apart_for_the_angle_block_the_start(shop: Any) -> None:
    with shop.writing() as session:
        run = opened(session)
        measure_sheet(session, run.id or 0, [2.6, 3.3, 3.0, 3.0], settings=ShopSettings(), by="A")
        assert "sheet_too_uneven" in {one.code for one in setup_state(session, run).stops}


def test_a_touch_off_after_trials_begins_a_set_up_of_its_own(shop: Any) -> None:
    with shop.writing() as session:
        run = opened(session)
        first = run.setup_id
        keyed = next(e for e in list_keyed_steps(session, run.bend_sequence_id, first) if e.keyed)
        session.add(
            Trial(
                setup_id=first, run_id=run.id, position=keyed.step.position, part_number="BR-1040",
                material_code="S235JR", punch_code=keyed.step.punch_code,
                die_code=keyed.step.die_code, v_opening_mm=25.0, thickness_mm=3.0,
                wanted_bend_angle_deg=90.0, depth_mm=8.0, bend_angle_deg=89.0,
            )
        )  # fmt: skip
        session.flush()
        touch_off(session, run.id or 0, TouchOffValues("sheet", 91.0, 3.0), by="Ann")
        again = get_run(session, run.id or 0)
        assert again.setup_id != first
        assert get_setup(session, first or 0).touch_off_reading_mm != 91.0
        assert get_setup(session, again.setup_id or 0).touch_off_checked
        assert renewed(session, again).id == again.setup_id


def test_two_readings_of_the_scale_have_to_differ(shop: Any) -> None:
    with shop.writing() as session:
        run = opened(session)
        keep_ram_scale(session, run.id or 0, ((10.0, 210.0), (60.0, 260.0)), by="Ann")
        place = setup_state(session, run).place
        tools_mm = place.setup.tool_height_mm
        assert place.brake.ram_scale == [[10.0 + tools_mm, 210.0], [60.0 + tools_mm, 260.0]]
        with pytest.raises(ShopError, match="same point"):
            keep_ram_scale(session, run.id or 0, ((10.0, 210.0), (10.0, 260.0)), by="Ann")
