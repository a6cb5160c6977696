"""A set-up on another sheet than planned: X follows the thickness, what it forbids blocks the start."""

from typing import Any

import pytest

from server.actions.other_sheet import sheet_errand
from server.actions.run import start_job
from server.actions.setting_up import measure_sheet, setup_state
from server.planning.at_thickness import at_thickness
from server.settings import ShopSettings
from server.storage.database import Session
from server.storage.queries.bend_sequence import list_run_steps, list_setup_steps, list_steps
from server.storage.queries.setup import get_setup_place
from server.storage.tables.job import Run

SETTINGS = ShopSettings()


def measured(session: Session, run: Run, thickness_mm: float) -> None:
    measure_sheet(session, run.id or 0, [thickness_mm] * 4, settings=SETTINGS, by="Ann")


def opened(session: Session) -> Run:
    return start_job(session, "J-1041", settings=SETTINGS, by="Ann")


def test_x_follows_the_measured_thickness_and_says_why(shop: Any) -> None:
    with shop.writing() as session:
        run = opened(session)
        measured(session, run, 3.25)
        errand, _ = sheet_errand(
            session, run.bend_sequence_id, thickness_mm=3.25, lot_code=None, settings=SETTINGS
        )
        wanted = at_thickness(errand.task, errand.kept, errand.sheet)
        planned = [step.x_mm for step in list_steps(session, run.bend_sequence_id)]
        keyed = list_setup_steps(session, run.setup_id or 0)
        targets = [step.target.x_mm for step in wanted.steps if step.target is not None]
        assert [one.x_mm for one in keyed] == pytest.approx(targets)
        # a leg measured outside to the apex of a square corner: the gauge moves by the deduction's
        # share, which grows with the thickness
        assert all(one.x_mm < x_mm for one, x_mm in zip(keyed, planned, strict=True))
        assert [reason["number"] for reason in keyed[0].reasons] == ["Y", "X"]


def test_the_planned_thickness_leaves_x_as_it_was_planned(shop: Any) -> None:
    with shop.writing() as session:
        run = opened(session)
        place = get_setup_place(session, run.setup_id or 0)
        measured(session, run, 3.25)
        measured(session, run, place.sequence.thickness_mm)
        steps = list_run_steps(session, run.bend_sequence_id, run.setup_id, run.id or 0)
        assert all(
            entry.keyed is not None
            and entry.keyed.x_mm == entry.step.x_mm
            and entry.keyed.sheet_x_mm is None
            for entry in steps
        )


def test_a_sheet_that_takes_more_force_than_there_is_blocks_the_start(shop: Any) -> None:
    with shop.writing() as session:
        run = opened(session)
        before = {one.code for one in setup_state(session, run).stops}
        measured(session, run, 9.0)
        after = {one.code for one in setup_state(session, run).stops}
        assert after - before - {"sheet_too_uneven"}
