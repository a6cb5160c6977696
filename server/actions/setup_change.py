"""What is different from the set-up that stood on the brake before, told loudly."""

from server.actions.history import keep
from server.actions.setup import touch_off_on_step
from server.mechanics.stroke_setting import StrokeSetting
from server.planning.setup_change import KeyedStep, SetupChange, SetupFacts, setup_changes
from server.storage.database import Session
from server.storage.queries.job import get_run
from server.storage.queries.part import find_newest_revision
from server.storage.queries.setup import SetupPlace, find_setup_before, get_setup_place
from server.storage.tables.column import utc_now


def changes_since_last(
    session: Session, place: SetupPlace
) -> tuple[SetupPlace | None, tuple[SetupChange, ...]]:
    """The set-up before on the same brake, and what differs now; None where there was none."""
    before = find_setup_before(session, place.setup)
    if before is None or not place.steps:
        return None, ()
    last = get_setup_place(session, before.id or 0)
    if not last.steps:
        return last, ()
    same_work = last.sequence.id == place.sequence.id
    newest = find_newest_revision(session, place.sequence.part_number)
    return last, setup_changes(
        before=_facts(last, with_steps=same_work),
        now=_facts(place, with_steps=same_work),
        y_sense=1 if place.brake.y_sense > 0 else -1,
        newest_revision=newest.label if newest else None,
    )


def note_die_turned(session: Session, run_id: int, *, turned: bool, by: str) -> None:
    """Note how the die block stands: as drawn, or turned end for end.

    Raises: ShopError `not_found`.
    """
    place = get_setup_place(session, get_run(session, run_id).setup_id or 0)
    place.setup.die_turned, place.setup.changed_at = turned, utc_now()
    session.add(place.setup)
    after = {"die_turned": turned}
    keep(session, "noted the die block", noun="run", key=str(run_id), by=by, after=after)


def _facts(place: SetupPlace, *, with_steps: bool) -> SetupFacts:
    first = place.steps[0].step
    punch, die = place.punches[first.punch_code], place.dies[first.die_code]
    setup = place.setup
    learnt = [
        (step, keyed)
        for step, keyed in place.keyed
        if step.kind in ("air", "acute") and step.die_code == first.die_code
    ]
    return SetupFacts(
        revision_label=place.sequence.revision_label,
        material=place.metal,
        thickness_mm=setup.thickness_mm,
        punch=punch,
        die=die,
        touch_off=touch_off_on_step(setup, place.brake, punch.height_mm + die.height_mm),
        stroke=StrokeSetting(**setup.stroke_setting),
        steps=tuple(
            KeyedStep(step.position, step.bend_angle_deg, keyed.depth_mm, keyed.x_mm)
            for step, keyed in learnt
        )
        if with_steps
        else (),
        lot_code=setup.lot_code,
        thickness_measured=setup.thickness_measured,
        die_turned=setup.die_turned,
    )
