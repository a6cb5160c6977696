"""The demo shop's past at the brake: runs that taught something, care, stoppages, the memory map.

What was measured is simulated: true mechanics with the scatter of real sheets, the same every time.
"""

from datetime import datetime, timedelta
from random import Random

from server.actions.care import begin_care
from server.actions.coupon import CouponValues, add_coupon
from server.actions.key_in import keep_programs
from server.actions.lot import LotValues, add_lot
from server.actions.run import start_part
from server.actions.setting_up import measure_sheet, touch_off
from server.actions.setup import TouchOffValues
from server.actions.stoppage import log_stoppage
from server.actions.trial import TrialValues, record_trial, take_over
from server.mechanics.control_reading import TouchOff
from server.mechanics.coupon import Strip
from server.mechanics.practice import (
    EDGE_COUNT,
    TOUCHED_AT_MM,
    PracticeBrake,
    PracticeStroke,
    practice_bend,
)
from server.mechanics.simulated_brake import (
    caliper_reading,
    simulated_lot,
    simulated_material,
    simulated_piece,
    simulated_setup,
)
from server.settings import ShopSettings
from server.storage.database import Session
from server.storage.queries.brake import list_brakes
from server.storage.queries.care import list_care_tasks
from server.storage.queries.lot import find_lot
from server.storage.queries.part import find_newest_revision
from server.storage.queries.setup import SetupPlace, get_setup_place
from server.storage.queries.trial import list_run_trials
from server.storage.seed import seed_rows
from server.storage.tables.care import CareEntry, HourReading
from server.storage.tables.column import utc_now
from server.storage.tables.job import Run
from server.storage.tables.setup import Setup

LEARNT_KINDS = ("air", "acute")
USUAL_TOLERANCE_RATIO = 0.06


def load_demo_brake(session: Session, *, settings: ShopSettings) -> None:
    """Half a year of past work at the demo shop's brake."""
    now = utc_now()
    brake = list_brakes(session)[0]
    for row in seed_rows("past_run"):
        _past_run(session, row, now=now, settings=settings)
    _past_care(session, brake.code, now)
    for row in seed_rows("past_stoppage"):
        entry = log_stoppage(
            session,
            brake_code=brake.code,
            looked_at=row["looked_at"].split(),
            cause=row["cause"],
            note=row["note"],
            by=row["by"],
        )
        entry.at = now - timedelta(days=int(row["days_ago"]))
    add_coupon(
        session,
        CouponValues(
            material_code="S235JR",
            lot_code="L-2416",
            die_code="D25",
            punch_code="P1-STRAIGHT",
            thickness_mm=3.0,
            inside_radius_mm=4.0,
            bend_angle_deg=90.0,
            strips=(Strip(100.0, 53.4, 52.45), Strip(100.0, 53.35, 52.4), Strip(99.9, 53.3, 52.4)),
        ),
        by="Ann",
    )
    session.flush()


def _past_run(
    session: Session, row: dict[str, str], *, now: datetime, settings: ShopSettings
) -> None:
    then = now - timedelta(days=int(row["days_ago"]))
    by, part = row["operator"], row["part_number"]
    lot_code = _lot(session, row["lot_code"], part, by)
    run = start_part(session, part, quantity=int(row["quantity"]), settings=settings, by=by)
    run_id = run.id or 0
    setup = get_setup_place(session, run.setup_id or 0).setup
    setup.lot_code = lot_code
    session.flush()
    place = get_setup_place(session, setup.id or 0)
    day = _day(place, lot_code, f"{lot_code} {row['days_ago']}")
    measure_sheet(session, run_id, day.edges_mm, settings=settings, by=by)
    tip_mm = day.touch_off.tip_above_die_top_mm
    touch_off(session, run_id, TouchOffValues("sheet", TOUCHED_AT_MM, tip_mm), by=by)
    positions = [step.position for step, _ in place.keyed if step.kind in LEARNT_KINDS]
    for position in positions:
        _bend(session, run, position, 1, day, by)
        if position == positions[0]:
            take_over(
                session,
                run_id,
                position,
                rule="learned",
                settings=settings,
                everywhere=True,
                by=by,
            )
    odd_deg = float(row["odd_deg"] or 0.0)
    _bend(session, run, positions[0], 2, day, by, odd_deg=odd_deg)
    keep_programs(session, run_id, [1 + positions[-1] + int(row["days_ago"]) % 23], by=by)
    _finish(session, run, place.setup, then, by)


def _lot(session: Session, code: str, part: str, by: str) -> str:
    """The lot, noted when its first run came."""
    revision = find_newest_revision(session, part)
    if revision is not None and find_lot(session, code) is None:
        values = LotValues(
            material_code=revision.material_code,
            thickness_mm=revision.thickness_mm,
            edges_mm=(),
            thickness_standard="",
            sheet_width_mm=None,
            heat_number=f"H{code[2:]}7",
            yield_strength_mpa=None,
            tensile_strength_mpa=None,
            note="demo",
        )
        add_lot(session, code, values, by=by)
        session.flush()
    return code


def _day(place: SetupPlace, lot_code: str, seed: str) -> PracticeBrake:
    """What hides behind a past run: one metal for a code, one delivery for a lot."""
    nominal_mm = place.revision.thickness_mm
    metal = simulated_material(chance=_chance(place.material.code), book=place.metal)
    lot = simulated_lot(
        chance=_chance(lot_code),
        metal=metal,
        thickness_mm=nominal_mm,
        tolerance_mm=USUAL_TOLERANCE_RATIO * nominal_mm,
    )
    chance = _chance(seed)
    sheet = simulated_piece(chance=chance, lot=lot)
    setup = simulated_setup(chance=chance, touch_off_on="sheet", touched_sheet=sheet)
    edges = tuple(
        caliper_reading(chance=chance, length_mm=sheet.thickness_mm, sd_mm=0.01)
        for _ in range(EDGE_COUNT)
    )
    touched = TouchOff("sheet", TOUCHED_AT_MM, round(sum(edges) / EDGE_COUNT, 3))
    return PracticeBrake(seed, lot, setup, touched, edges, 1 if place.brake.y_sense > 0 else -1)


def _bend(
    session: Session,
    run: Run,
    position: int,
    piece: int,
    day: PracticeBrake,
    by: str,
    *,
    odd_deg: float = 0.0,
) -> None:
    """One bend of one piece, as it was keyed then, read off a protractor."""
    place = get_setup_place(session, run.setup_id or 0)
    step, keyed = next(pair for pair in place.keyed if pair[0].position == position)
    made = practice_bend(
        brake=day,
        stroke=PracticeStroke(
            piece, position, keyed.y_mm, keyed.x_mm, place.sequence.flat_length_mm or 200.0
        ),
        die=place.dies[step.die_code],
        punch=place.punches[step.punch_code],
    )
    text = f"{made.bend_angle_deg + odd_deg:.1f}"
    values = TrialValues(position, text, convention="bend", piece=piece)
    if record_trial(session, run.id or 0, values, by=by).trial is None:  # asked about: it is meant
        meant = TrialValues(
            position, text, convention="bend", meant_deg=float(text), sure=not odd_deg, piece=piece
        )
        record_trial(session, run.id or 0, meant, by=by)


def _finish(session: Session, run: Run, setup: Setup, then: datetime, by: str) -> None:
    run.state, run.good_count = "done", run.quantity_count
    run.started_at, run.ended_at = then, then + timedelta(hours=3)
    setup.signed_by, setup.signed_at = by, then
    for trial in list_run_trials(session, run.id or 0):
        trial.measured_at = then + timedelta(minutes=5)
        session.add(trial)
    session.add_all((run, setup))
    session.flush()


def _past_care(session: Session, brake_code: str, now: datetime) -> None:
    begin_care(session, brake_code)
    tasks = {task.name: task.id for task in list_care_tasks(session, brake_code)}
    for row in sorted(seed_rows("past_care"), key=lambda one: -int(one["days_ago"])):
        at, meter_h = now - timedelta(days=int(row["days_ago"])), float(row["meter_h"])
        session.add(HourReading(brake_code=brake_code, at=at, meter_h=meter_h, by=row["by"]))
        session.add(
            CareEntry(
                care_task_id=tasks[row["name"]] or 0,
                at=at,
                meter_h=meter_h,
                by=row["by"],
                note=row["note"],
            )
        )


def _chance(seed: str) -> Random:
    return Random(seed)  # noqa: S311  # a game of chance that has to repeat, no secret
