"""Learning across jobs: what one set-up taught is keyed and foretold on the next."""

from typing import Any

from server.actions.run import start_job
from server.actions.trial import TrialValues, record_trial
from server.settings import ShopSettings
from server.storage.database import Session
from server.storage.queries.bend_sequence import list_keyed_steps
from server.storage.queries.learned_bend import list_learned
from server.storage.tables.job import Job, Run
from server.storage.tables.setup import SetupStep


def opened(session: Session, number: str) -> Run:
    return start_job(session, number, settings=ShopSettings(), by="Ann")


def keyed_of(session: Session, run: Run) -> SetupStep:
    entry = list_keyed_steps(session, run.bend_sequence_id, run.setup_id)[0]
    assert entry.keyed is not None
    return entry.keyed


def another_job(session: Session) -> str:
    session.add(
        Job(
            number="J-9001", part_number="BR-1040", revision_label="A", quantity_count=5,
            lot_code="L-301",  # the same sheet in hand: its thickness is as well known
        state="ready",
        )
    )  # fmt: skip
    session.flush()
    return "J-9001"


def width(keyed: SetupStep) -> float:
    assert keyed.predicted_high_deg is not None
    assert keyed.predicted_low_deg is not None
    return keyed.predicted_high_deg - keyed.predicted_low_deg


def test_a_trial_moves_the_next_jobs_y_and_narrows_its_band(shop: Any) -> None:
    with shop.writing() as session:
        first = opened(session, "J-1041")
        before = keyed_of(session, first)
        depth_mm, band_deg = before.depth_mm, width(before)
        made = record_trial(
            session, first.id or 0, TrialValues(1, "89.2", convention="bend"), by="Ann"
        )
        assert made.trial is not None
        first.state = "done"
        session.add(first)
        second = opened(session, another_job(session))
        after = keyed_of(session, second)
        assert second.setup_id != first.setup_id
        assert after.come_from == "learned"
        assert after.depth_mm > depth_mm
        assert width(after) < band_deg


def test_what_is_kept_of_a_trial_is_a_small_summary_by_lot(shop: Any) -> None:
    with shop.writing() as session:
        known = {one.key.material_code: one.trials_count for one in list_learned(session)}
        run = opened(session, "J-1041")
        record_trial(session, run.id or 0, TrialValues(1, "89.1", convention="bend"), by="Ann")
        now = {one.key.material_code: one.trials_count for one in list_learned(session)}
        assert now["S235JR"] == known.get("S235JR", 0) + 1
