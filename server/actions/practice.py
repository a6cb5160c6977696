"""Practising: a simulated brake behind the pages, on a copy of the shop that is thrown away."""

from server.errors import ShopError
from server.mechanics.measured_thickness import allowed_deviation
from server.mechanics.practice import (
    PracticeBend,
    PracticeBrake,
    PracticeStroke,
    practice_bend,
    practice_brake,
)
from server.storage.database import Session
from server.storage.practice import practice_facts
from server.storage.queries.job import get_run
from server.storage.queries.setup import SetupPlace, get_setup_place

USUAL_BLANK_MM = 200.0


def practice_day(session: Session, run_id: int) -> PracticeBrake:
    """What hides behind a practised run, and what can be read of it before the first bend.

    Raises: ShopError `not_found`, `not_practice` in the real shop.
    """
    return _day(session, get_setup_place(session, get_run(session, run_id).setup_id or 0), run_id)


def bend_in_practice(
    session: Session, run_id: int, position: int, *, piece: int = 1
) -> PracticeBend:
    """Bend one step of one practised part as it is keyed now. Reads only.

    Raises: ShopError `not_found`, `not_practice`, `no_such_step`, `not_touched`, `too_deep`.
    """
    place = get_setup_place(session, get_run(session, run_id).setup_id or 0)
    day = _day(session, place, run_id)
    found = next((pair for pair in place.keyed if pair[0].position == position), None)
    if found is None:
        raise ShopError(
            "no_such_step",
            "This step has no Y to bend by.",
            remedy="Choose a step that is bent in air.",
        )
    step, keyed = found
    if day.y_sense * (keyed.y_mm - day.touch_off.reading_mm) <= 0.0:
        raise ShopError(
            "not_touched",
            "The punch did not reach the sheet.",
            remedy="Touch off first, on the set-up page: the simulated control has a reading of "
            "its own.",
        )
    return practice_bend(
        brake=day,
        stroke=PracticeStroke(
            piece,
            position,
            keyed.y_mm,
            keyed.x_mm,
            place.sequence.flat_length_mm or USUAL_BLANK_MM,
        ),
        die=place.dies[step.die_code],
        punch=place.punches[step.punch_code],
    )


def _day(session: Session, place: SetupPlace, run_id: int) -> PracticeBrake:
    facts = practice_facts(session)
    if facts is None:
        raise ShopError(
            "not_practice",
            "This is the real shop: nothing is simulated here.",
            remedy="Begin a practice from the brake side's first page.",
        )
    nominal_mm = place.revision.thickness_mm
    tolerance_mm, _ = allowed_deviation(thickness_mm=nominal_mm, standard=None, sheet_width_mm=None)
    return practice_brake(
        seed=f"{facts['seed']} run {run_id}",
        book=place.metal,
        thickness_mm=nominal_mm,
        tolerance_mm=tolerance_mm / 2,
        touch_off_on="die" if place.setup.touch_off_on == "die" else "sheet",
        y_sense=1 if place.brake.y_sense > 0 else -1,
    )
