"""Trials: bends measured at the brake, what they ask for next, and taking that over."""

from dataclasses import dataclass

from server.actions.history import keep
from server.actions.learning import (
    Believed,
    believed,
    depth_keyed,
    foretold_of,
    is_learnt,
    learn_from,
    predict_steps,
    readout_of,
    sheet_of,
)
from server.actions.once import already_done
from server.actions.setup import key_steps
from server.errors import Amount, ShopError, say
from server.mechanics.correction import Try
from server.mechanics.enough_strips import trials_enough
from server.mechanics.measured_angle import AngleConvention, TypedAngle, typed_angle
from server.mechanics.setup_fit import MeasuredBend
from server.planning.drawn_part import drawn_part_of
from server.planning.setup_step import NextStep, next_step
from server.settings import ShopSettings
from server.storage.database import Session
from server.storage.queries.job import get_run
from server.storage.queries.setup import SetupPlace, get_setup_place
from server.storage.queries.trial import (
    find_trial_by_key,
    get_trial,
    list_setup_trials,
    trials_of_step,
)
from server.storage.tables.bend_sequence import Step
from server.storage.tables.column import utc_now
from server.storage.tables.job import Run
from server.storage.tables.part import Revision
from server.storage.tables.setup import SetupStep, Trial

RULES = ("learned", "simple", "hand")
SAME_MM = 1e-9


@dataclass(frozen=True, slots=True)
class TrialValues:
    """What was measured on one bend, as it was typed.

    `meant_deg` is the bend angle chosen where a typed one was asked about, `sure` that it is meant
    as it stands. `y_mm` is given where something else was keyed than told.
    """

    position: int
    angle_text: str
    convention: AngleConvention | None = None
    meant_deg: float | None = None
    sure: bool = False
    flange_mm: float | None = None
    other_flange_mm: float | None = None
    piece: int = 1
    y_mm: float | None = None


@dataclass(frozen=True, slots=True)
class TrialMade:
    """A trial that was kept; or the question its angle raises, and the steps it would fit."""

    trial: Trial | None
    asked: TypedAngle | None = None
    fits_steps: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class OtherStep:
    """A step that was not tried yet, and what the trials say of its Y."""

    position: int
    y_mm: float
    learned_y_mm: float


@dataclass(frozen=True, slots=True)
class TrialAnswer:
    """What a step's trials ask for: both rules side by side, and what else they tell."""

    step: Step
    keyed: SetupStep
    trials: tuple[Trial, ...]
    next: NextStep
    others: tuple[OtherStep, ...]
    more_count: int | None
    left_out: bool


def record_trial(
    session: Session, run_id: int, values: TrialValues, *, request_key: str = "", by: str
) -> TrialMade:
    """Keep a measured bend and learn from it; an angle nobody can mean is asked about first.

    Raises: ShopError `not_found`, `no_such_step`, `not_measured` for a bend whose shape the tools
        fix, `fits_nothing` for one no sheet can have, or what is wrong with the typed angle.
    """
    known = find_trial_by_key(session, request_key)
    if known is not None:
        return TrialMade(known)
    run = get_run(session, run_id)
    place = get_setup_place(session, run.setup_id or 0)
    step, keyed = _step(place, values.position)
    v_mm = place.dies[step.die_code].v_opening_mm
    one = believed(session, place, v_mm)
    typed = typed_angle(
        text=values.angle_text,
        wanted_deg=step.bend_angle_deg,
        convention=values.convention,
        band_deg=_band(keyed),
    )
    angle_deg = _meant(typed, values)
    if angle_deg is None:
        return TrialMade(None, typed, _fitting(place, typed, values))
    trial = _trial(run, place, step, keyed, values, angle_deg)
    before = MeasuredBend(
        sheet_of(place, step), trial.depth_mm, trial.bend_angle_deg, trial.piece, values.sure
    )
    trial.foretold = foretold_of(one.belief, before)
    trial.request_key = request_key or None
    trial.confirmed = values.sure
    trial.measured_by = by
    trial.first_piece = trial.piece == 1 and not any(
        earlier.position == step.position for earlier in one.trials
    )
    session.add(trial)
    session.flush()
    _learn(session, place, step, trial)
    _touch(session, run, by)
    keep(
        session,
        "measured",
        noun="run",
        key=str(run_id),
        by=by,
        after={"step": step.position, "bend_angle_deg": angle_deg, "flange_mm": values.flange_mm},
    )
    return TrialMade(trial)


def trial_answer(
    session: Session, run_id: int, position: int, *, settings: ShopSettings
) -> TrialAnswer | None:
    """What the trials of a step ask for now; None while it was not tried on this set-up."""
    run = get_run(session, run_id)
    place = get_setup_place(session, run.setup_id or 0)
    step, keyed = _step(place, position)
    trials = trials_of_step(list_setup_trials(session, place.setup.id or 0), position)
    if not trials:
        return None
    one = believed(session, place, place.dies[step.die_code].v_opening_mm)
    odd = {one.trials[index].id for index in one.belief.odd}
    fair = [trial for trial in trials if trial.id not in odd] or trials[-1:]
    sheet = sheet_of(place, step)
    last = trials[-1]
    return TrialAnswer(
        step,
        keyed,
        tuple(trials),
        next_step(
            sheet=sheet,
            wanted_deg=step.bend_angle_deg,
            belief=one.belief,
            tries=[Try(trial.depth_mm, trial.bend_angle_deg) for trial in fair],
            readout=readout_of(place, step),
            x_mm=last.x_mm if last.x_mm is not None else keyed.x_mm,
            flange_errors_mm=_flange_errors(last),
            first_share_ratio=settings.bend.first_correction_ratio,
            bend=step.bends[0] if step.bends else None,
        ),
        tuple(_other_steps(place, one, step)),
        trials_enough(
            belief=one.belief,
            sheet=sheet,
            depth_mm=last.depth_mm,
            tolerance_deg=step.angle_tolerance_deg,
        ),
        last.id in odd,
    )


def take_over(
    session: Session,
    run_id: int,
    position: int,
    *,
    rule: str,
    settings: ShopSettings,
    with_x: bool = False,
    everywhere: bool = False,
    y_mm: float | None = None,
    request_key: str = "",
    by: str,
) -> None:
    """Key the next part with one rule's Y, or with a Y of one's own; with X where wanted.

    Raises: ShopError `not_found`, `not_tried`, `blocked` for a correction larger than any should be.
    """
    if already_done(session, request_key, "take over"):
        return
    run = get_run(session, run_id)
    answer = trial_answer(session, run_id, position, settings=settings)
    place = get_setup_place(session, run.setup_id or 0)
    step, keyed = _step(place, position)
    if rule == "hand":
        depth_mm = depth_keyed(place, step, y_mm if y_mm is not None else keyed.y_mm)
    else:
        depth_mm = _answered_depth(answer, rule, place, step)
    if answer is not None and with_x:
        x_mm = answer.next.x_mm
        _correct(session, place, step, keyed, depth_mm, rule, x_mm=x_mm, by=by)
    else:
        _correct(session, place, step, keyed, depth_mm, rule, by=by)
    if everywhere and answer is not None:
        for other in answer.others:
            other_step, other_keyed = _step(place, other.position)
            other_mm = depth_keyed(place, other_step, other.learned_y_mm)
            _correct(session, place, other_step, other_keyed, other_mm, "learned", by=by)
    key_steps(session, place.setup)
    predict_steps(session, place.setup.id or 0)
    _touch(session, run, by)


def undo_trial(session: Session, trial_id: int, *, undone: bool = True, by: str) -> Trial:
    """Take a measurement back, or put it back; what was learned follows.

    Raises: ShopError `not_found`.
    """
    trial = get_trial(session, trial_id)
    if trial.undone == undone:
        return trial
    trial.undone = undone
    _judge_again(session, trial, "took back" if undone else "put back", by)
    return trial


def confirm_trial(session: Session, trial_id: int, *, by: str) -> Trial:
    """Say that an odd reading was measured again and is meant; it is learned from then.

    Raises: ShopError `not_found`.
    """
    trial = get_trial(session, trial_id)
    trial.confirmed = True
    _judge_again(session, trial, "confirmed", by)
    return trial


def _learn(session: Session, place: SetupPlace, step: Step, trial: Trial) -> None:
    """Learn from a new trial; one that would make every bend impossible is not kept at all."""
    try:
        learned = learn_from(session, place.setup.id or 0, trial.v_opening_mm)
        learned.belief.depth_mm(sheet_of(place, step), step.bend_angle_deg)
        predict_steps(session, place.setup.id or 0)
    except ShopError as trouble:
        raise ShopError(
            "fits_nothing",
            say(
                "A bend of {angle} at this Y fits no sheet between these tools.",
                angle=Amount(trial.bend_angle_deg, "deg"),
            ),
            remedy="Look at the step, the V, the sheet's thickness and the touch-off; touch off "
            "again. Nothing was kept.",
        ) from trouble


def _judge_again(session: Session, trial: Trial, did: str, by: str) -> None:
    session.add(trial)
    session.flush()
    if trial.setup_id is not None:
        learn_from(session, trial.setup_id, trial.v_opening_mm)
        predict_steps(session, trial.setup_id)
    if trial.run_id is not None:
        _touch(session, get_run(session, trial.run_id), by)
    keep(
        session,
        did,
        noun="trial",
        key=str(trial.id),
        by=by,
        after={"step": trial.position, "bend_angle_deg": trial.bend_angle_deg},
    )


def _correct(
    session: Session,
    place: SetupPlace,
    step: Step,
    keyed: SetupStep,
    depth_mm: float,
    rule: str,
    *,
    x_mm: float | None = None,
    by: str,
) -> None:
    before = {"y_mm": keyed.y_mm, "x_mm": keyed.x_mm, "come_from": keyed.come_from}
    base_mm = keyed.depth_mm - keyed.y_correction_mm
    keyed.y_correction_mm = depth_mm - base_mm
    keyed.depth_mm = depth_mm
    keyed.come_from = rule
    if x_mm is not None:
        keyed.x_correction_mm += x_mm - keyed.x_mm
        keyed.x_mm = x_mm
    session.add(keyed)
    session.flush()
    key_steps(session, place.setup)
    keep(
        session,
        "corrected",
        noun="setup_step",
        key=f"{place.setup.id}-{step.position}",
        by=by,
        before=before,
        after={"y_mm": keyed.y_mm, "x_mm": keyed.x_mm, "come_from": keyed.come_from},
    )


def _answered_depth(answer: TrialAnswer | None, rule: str, place: SetupPlace, step: Step) -> float:
    if answer is None:
        raise ShopError(
            "not_tried",
            "This step was not measured on this set-up.",
            remedy="Bend a part and measure it first.",
        )
    stop = next((one for one in answer.next.findings if one.level == "stop"), None)
    if stop is not None:
        raise ShopError("blocked", stop.what, remedy=stop.frees or "")
    chosen = answer.next.simple if rule == "simple" else answer.next.learned
    return depth_keyed(place, step, chosen.y_mm)


def _step(place: SetupPlace, position: int) -> tuple[Step, SetupStep]:
    for entry in place.steps:
        if entry.step.position == position and entry.keyed is not None:
            if not is_learnt(entry.step):
                raise ShopError(
                    "not_measured",
                    "The tools fix this bend's shape; its angle teaches nothing of Y.",
                    remedy="Measure the steps that are bent in air.",
                )
            return entry.step, entry.keyed
    raise ShopError(
        "no_such_step",
        say("There is no step {number}.", number=str(position)),
        remedy="Reload the page.",
    )


def _meant(typed: TypedAngle, values: TrialValues) -> float | None:
    """The bend angle that is meant, None where it has to be asked."""
    if values.meant_deg is not None:
        if any(abs(one.bend_angle_deg - values.meant_deg) < 0.005 for one in typed.likely):
            return values.meant_deg
        if typed.as_typed and abs(typed.as_typed.bend_angle_deg - values.meant_deg) < 0.005:
            return values.meant_deg
    if typed.meaning is not None:
        return typed.meaning.bend_angle_deg
    if values.sure and typed.as_typed is not None:
        return typed.as_typed.bend_angle_deg
    return None


def _fitting(place: SetupPlace, typed: TypedAngle, values: TrialValues) -> tuple[int, ...]:
    """Other steps a typed angle would fit: somebody may stand at the wrong one."""
    found = []
    for step, keyed in place.keyed:
        if step.position == values.position or not is_learnt(step):
            continue
        other = typed_angle(
            text=values.angle_text,
            wanted_deg=step.bend_angle_deg,
            convention=values.convention,
            band_deg=_band(keyed),
        )
        if other.meaning is not None and typed.meaning is None:
            found.append(step.position)
    return tuple(found)


def _band(keyed: SetupStep) -> tuple[float, float] | None:
    if keyed.predicted_low_deg is None or keyed.predicted_high_deg is None:
        return None
    return max(0.0, keyed.predicted_low_deg), keyed.predicted_high_deg


def _trial(
    run: Run,
    place: SetupPlace,
    step: Step,
    keyed: SetupStep,
    values: TrialValues,
    angle_deg: float,
) -> Trial:
    y_mm = values.y_mm if values.y_mm is not None else keyed.y_mm
    return Trial(
        setup_id=place.setup.id,
        run_id=run.id,
        position=step.position,
        part_number=run.part_number,
        revision_label=run.revision_label,
        material_code=place.material.code,
        lot_code=place.setup.lot_code,
        punch_code=step.punch_code,
        die_code=step.die_code,
        v_opening_mm=place.dies[step.die_code].v_opening_mm,
        thickness_mm=place.setup.thickness_mm,
        nominal_thickness_mm=place.revision.thickness_mm,
        wanted_bend_angle_deg=step.bend_angle_deg,
        angle_tolerance_deg=step.angle_tolerance_deg,
        depth_mm=max(0.0, depth_keyed(place, step, y_mm)),
        y_mm=y_mm,
        x_mm=keyed.x_mm,
        bend_angle_deg=round(angle_deg, 4),
        flange_mm=values.flange_mm,
        wanted_flange_mm=step.check_mm,
        flange_tolerance_mm=step.check_tolerance_mm,
        other_flange_mm=values.other_flange_mm,
        wanted_other_flange_mm=other_flange(place.revision, step),
        piece=values.piece,
        typed=values.angle_text[:40],
    )


def other_flange(revision: Revision, step: Step) -> float | None:
    """The outside length of the leg at the front, where it is an end leg and drawn so."""
    if revision.kind != "profile" or not step.bends:
        return None
    profile = drawn_part_of(revision.drawn).profile
    if profile.legs_are != "outside":
        return None
    bend, last = int(step.bends[0]), len(profile.legs_mm) - 1
    front = bend + 1 if step.gauge_face <= bend else bend
    return profile.legs_mm[front] if front in (0, last) else None


def _flange_errors(trial: Trial) -> tuple[float, float] | None:
    """(gauged, other) flange, measured less wanted; one that was not measured asks for nothing."""
    if trial.flange_mm is None or trial.wanted_flange_mm is None:
        return None
    gauged_mm = trial.flange_mm - trial.wanted_flange_mm
    if trial.other_flange_mm is None or trial.wanted_other_flange_mm is None:
        return gauged_mm, -gauged_mm
    return gauged_mm, trial.other_flange_mm - trial.wanted_other_flange_mm


def _other_steps(place: SetupPlace, one: Believed, tried: Step) -> list[OtherStep]:
    """Steps in the same V that nobody tried yet, where the trials would change Y."""
    seen = {trial.position for trial in one.trials}
    found = []
    for step, keyed in place.keyed:
        same_v = abs(place.dies[step.die_code].v_opening_mm - one.key.v_opening_mm) < SAME_MM
        if step.position in seen or step.position == tried.position or not same_v:
            continue
        if not is_learnt(step):
            continue
        readout = readout_of(place, step)
        depth_mm = one.belief.depth_mm(sheet_of(place, step), step.bend_angle_deg)
        y_mm = readout.y_mm(depth_mm, place.setup.thickness_mm)[1]
        if abs(y_mm - keyed.y_mm) > place.brake.y_resolution_mm / 2:
            found.append(OtherStep(step.position, keyed.y_mm, y_mm))
    return found


def _touch(session: Session, run: Run, by: str) -> None:
    """A changed run gets a new version, so that every page that shows it looks again."""
    run.operator = by
    run.changed_at = utc_now()
    session.add(run)
    session.flush()
