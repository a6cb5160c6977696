"""What trials teach: the belief on a set-up, what it foretells, and what the shop keeps of it."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

from server.actions.setup import key_steps, touch_off_on_step
from server.errors import ShopError
from server.mechanics.air_bend import Bending, bending
from server.mechanics.control_reading import depth_from_y
from server.mechanics.learned_family import (
    NO_EVIDENCE,
    BendKey,
    Evidence,
    Multipliers,
    evidence_surprise,
    multipliers_known,
)
from server.mechanics.scatter_seen import Surprise, scatter_seen, surprise_of
from server.mechanics.setup_belief import SetupBelief, believe_setup, judged, setup_evidence
from server.mechanics.setup_fit import MeasuredBend, SetupScatter
from server.mechanics.setup_scatter import setup_scatter
from server.mechanics.sheet_tolerance import TABLES
from server.planning.setup_step import Readout
from server.storage.database import Session
from server.storage.queries.learned_bend import (
    evidence_of,
    find_learned_row,
    find_setup_evidence,
    get_or_add_learned_row,
    learned_of,
    list_learned,
    plain_evidence,
)
from server.storage.queries.setup import SetupPlace, get_setup_place
from server.storage.queries.trial import list_foretold_trials, list_setup_trials
from server.storage.tables.bend_sequence import Step
from server.storage.tables.learned_bend import SetupEvidence
from server.storage.tables.setup import SetupStep, Trial

LEARNT_KINDS = frozenset({"air", "acute"})
HELD_BACK_FROM = 4.0
"""Standard deviations from which a whole set-up is not learned from until somebody confirms it."""


@dataclass(frozen=True, slots=True)
class Believed:
    """What is believed of one V on a set-up, from which trials, and what was known before."""

    key: BendKey
    known: Multipliers
    belief: SetupBelief
    trials: tuple[Trial, ...]
    measured: tuple[MeasuredBend, ...]


def is_learnt(step: Step) -> bool:
    """Whether a step's angle follows from its depth, so that a measured one teaches."""
    return step.kind in LEARNT_KINDS and step.depth_mm is not None


def sheet_of(place: SetupPlace, step: Step | Trial, thickness_mm: float | None = None) -> Bending:
    """The unlearned constants of a bend on a set-up, for its measured thickness and its tools."""
    return bending(
        thickness_mm=thickness_mm or place.setup.thickness_mm,
        material=place.metal,
        die=place.dies[step.die_code],
        punch=place.punches[step.punch_code],
    )


def readout_of(place: SetupPlace, step: Step) -> Readout:
    """How the control counts on a step's tools."""
    height_mm = place.punches[step.punch_code].height_mm + place.dies[step.die_code].height_mm
    return Readout(
        touch_off_on_step(place.setup, place.brake, height_mm),
        1 if place.brake.y_sense > 0 else -1,
        place.brake.y_resolution_mm,
        place.brake.x_resolution_mm,
    )


def depth_keyed(place: SetupPlace, step: Step, y_mm: float) -> float:
    """The punch tip travel a reading on the control means [mm]."""
    readout = readout_of(place, step)
    return depth_from_y(
        touch_off=readout.touch_off,
        y_sense=readout.y_sense,
        y_mm=y_mm,
        thickness_mm=place.setup.thickness_mm,
    )


def believed(session: Session, place: SetupPlace, v_opening_mm: float) -> Believed:
    """What is believed now of one V on a set-up: its lot's history and its own trials."""
    key = BendKey(
        place.metal.family,
        place.material.code,
        place.revision.thickness_mm,
        v_opening_mm,
    )
    trials = tuple(
        trial
        for trial in list_setup_trials(session, place.setup.id or 0)
        if abs(trial.v_opening_mm - v_opening_mm) < 1e-6
    )
    measured = tuple(_measured(place, trial) for trial in trials)
    known = multipliers_known(
        learned=list_learned(session, key.family),
        key=key,
        lot_code=_lot_code(place),
        without=_own_evidence(session, place, key),
    )
    belief = believe_setup(known=known, scatter=scatter_of(session, place), trials=measured)
    return Believed(key, known, belief, trials, measured)


def scatter_of(session: Session, place: SetupPlace) -> SetupScatter:
    """What may be off on a set-up: the shop's own scatter as its foretold readings show it."""
    setup, lot = place.setup, place.lot
    usual = setup_scatter(
        usual=SetupScatter(),
        touch_off_on="die" if setup.touch_off_on == "die" else "sheet",
        touch_off_checked=setup.touch_off_checked,
        thickness_mm=place.revision.thickness_mm,
        thickness_measured=setup.thickness_measured,
        standard=next((name for name in TABLES if lot and name == lot.thickness_standard), None),
        sheet_width_mm=lot.sheet_width_mm if lot else None,
    )
    first, later = _surprises(list_foretold_trials(session), besides=setup.id)
    return scatter_seen(usual=usual, first_readings=first, later_readings=later)


def foretell_steps(session: Session, setup_id: int) -> None:
    """Key every step from what was learned, and foretell its angle, before it was ever tried.

    A step that was corrected or tried on this set-up keeps its Y; only its prediction is new.
    """
    place = get_setup_place(session, setup_id)
    for v_mm in sorted({place.dies[step.die_code].v_opening_mm for step, _ in place.keyed}):
        one = believed(session, place, v_mm)
        tried = {trial.position for trial in one.trials}
        for step, keyed in _steps_in(place, v_mm):
            if keyed.come_from in ("rule", "learned") and step.position not in tried:
                _key_as_learned(place, one, step, keyed)
    key_steps(session, place.setup)
    predict_steps(session, setup_id)


def predict_steps(session: Session, setup_id: int) -> None:
    """Foretell each step's angle for the Y that is keyed, with its 95 % band."""
    place = get_setup_place(session, setup_id)
    for v_mm in sorted({place.dies[step.die_code].v_opening_mm for step, _ in place.keyed}):
        one = believed(session, place, v_mm)
        for step, keyed in _steps_in(place, v_mm):
            sheet = sheet_of(place, step)
            depth_mm = depth_keyed(place, step, keyed.y_mm)
            keyed.predicted_deg = round(one.belief.angle_deg(sheet, depth_mm), 2)
            low_deg, high_deg = one.belief.interval_95_deg(sheet, depth_mm)
            keyed.predicted_low_deg, keyed.predicted_high_deg = (
                round(low_deg, 2),
                round(high_deg, 2),
            )
            session.add(keyed)
    session.flush()


def learn_from(session: Session, setup_id: int, v_opening_mm: float) -> Believed:
    """Judge a set-up's trials in one V, and keep what they say of radius and springback."""
    place = get_setup_place(session, setup_id)
    one = believed(session, place, v_opening_mm)
    fair = judged([replace(trial, odd=False) for trial in one.measured], one.belief)
    for trial, seen in zip(one.trials, fair, strict=True):
        trial.outlier = seen.odd
        session.add(trial)
    evidence = setup_evidence(scatter=one.belief.scatter, trials=fair)
    row = get_or_add_learned_row(session, one.key)
    kept = find_setup_evidence(session, setup_id, row.id or 0) or SetupEvidence(
        setup_id=setup_id, learned_bend_id=row.id or 0, lot_code=_lot_code(place)
    )
    before = NO_EVIDENCE if kept.held_back else evidence_of(kept.evidence)
    kept.surprise_ratio = round(evidence_surprise(known=one.known, evidence=evidence), 3)
    kept.held_back = kept.surprise_ratio > HELD_BACK_FROM and not kept.confirmed_by
    kept.evidence = plain_evidence(evidence)
    after = NO_EVIDENCE if kept.held_back else evidence
    learned = learned_of(row).with_setup(kept.lot_code, after=after, before=before)
    row.lots = learned.as_record()["lots"]
    session.add_all((row, kept))
    session.flush()
    return one


def confirm_setup(session: Session, setup_id: int, learned_bend_id: int, *, by: str) -> None:
    """Learn from a set-up that was held back, because somebody looked at it and means it.

    Raises: ShopError `not_found`.
    """
    kept = find_setup_evidence(session, setup_id, learned_bend_id)
    if kept is None:
        raise ShopError("not_found", "There is no such set-up.", remedy="Reload the page.")
    if not kept.held_back:
        return
    place = get_setup_place(session, setup_id)
    trials = list_setup_trials(session, setup_id)
    kept.confirmed_by = by
    session.add(kept)
    session.flush()
    for v_mm in sorted({trial.v_opening_mm for trial in trials}):
        learn_from(session, place.setup.id or 0, v_mm)


def foretold_of(belief: SetupBelief, trial: MeasuredBend) -> dict[str, Any]:
    """What was expected of a reading before it was made, as plain values."""
    surprise = surprise_of(belief, trial)
    low_deg, high_deg = belief.interval_95_deg(trial.sheet, trial.depth_mm, trial.piece)
    return {
        "expected_deg": trial.bend_angle_deg - surprise.missed_deg,
        "low_deg": low_deg,
        "high_deg": high_deg,
        **asdict(surprise),
    }


def _key_as_learned(place: SetupPlace, one: Believed, step: Step, keyed: SetupStep) -> None:
    base_mm = keyed.depth_mm - keyed.y_correction_mm
    depth_mm = one.belief.depth_mm(sheet_of(place, step), step.bend_angle_deg)
    keyed.y_correction_mm = depth_mm - base_mm
    keyed.come_from = "rule" if one.known.known_from == "rule" and not one.trials else "learned"


def _steps_in(place: SetupPlace, v_mm: float) -> list[tuple[Step, SetupStep]]:
    return [
        (step, keyed)
        for step, keyed in place.keyed
        if is_learnt(step) and abs(place.dies[step.die_code].v_opening_mm - v_mm) < 1e-6
    ]


def _measured(place: SetupPlace, trial: Trial) -> MeasuredBend:
    return MeasuredBend(
        sheet_of(place, trial, trial.thickness_mm),
        trial.depth_mm,
        trial.bend_angle_deg,
        trial.piece,
        confirmed=trial.confirmed,
    )


def _own_evidence(session: Session, place: SetupPlace, key: BendKey) -> Evidence:
    row = find_learned_row(session, key)
    kept = find_setup_evidence(session, place.setup.id or 0, row.id or 0) if row else None
    return NO_EVIDENCE if kept is None or kept.held_back else evidence_of(kept.evidence)


def _lot_code(place: SetupPlace) -> str:
    """Sheets of unknown origin are not taken for one lot."""
    return place.setup.lot_code or f"set-up {place.setup.id}"


def _surprises(
    trials: Sequence[Trial], *, besides: int | None
) -> tuple[list[Surprise], list[Surprise]]:
    """First readings of set-ups, and first readings of their later pieces."""
    first, later = [], []
    seen: set[tuple[int | None, int | None]] = set()
    setups: set[int | None] = set()
    for trial in trials:
        if trial.setup_id == besides or trial.foretold is None:
            continue
        surprise = Surprise(
            trial.foretold["missed_deg"],
            trial.foretold["sd_deg"],
            trial.foretold["touch_off_sd_deg"],
            trial.foretold["piece_sd_deg"],
            trial.foretold["touch_off_sd_mm"],
        )
        if trial.setup_id not in setups:
            first.append(surprise)
        elif (trial.setup_id, trial.piece) not in seen:
            later.append(surprise)
        setups.add(trial.setup_id)
        seen.add((trial.setup_id, trial.piece))
    return first, later
