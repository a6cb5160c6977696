"""One set-up's belief: what narrows it, what it forgets, what it will not learn from."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import least_squares

from server.errors import ShopError
from server.mechanics.air_bend import Bending, bending, depth_for_angle
from server.mechanics.bend_response import bend_response, stacked
from server.mechanics.learned_family import (
    BendKey,
    LearnedBend,
    Multipliers,
    Spreads,
    multipliers_known,
)
from server.mechanics.material import Material
from server.mechanics.setup_belief import SetupBelief, believe_setup, judged, setup_evidence
from server.mechanics.setup_fit import MeasuredBend, SetupScatter
from server.mechanics.tooling import Die, Punch

KEY = BendKey("steel", "S235JR", 2.0, 16.0)
STEEL = Material(youngs_modulus_mpa=210_000.0, yield_strength_mpa=290.0, tensile_strength_mpa=420.0)
RULE = multipliers_known(learned=[], key=KEY, lot_code="")
SURE = Multipliers((0.08, -0.1), np.diag([0.02**2, 0.04**2]), "lot", 40, 12)
PIECES = SetupScatter(piece_thickness_sd_mm=0.015)


def sheet_of(thickness_mm: float = 2.0) -> Bending:
    return bending(
        thickness_mm=thickness_mm,
        material=STEEL,
        die=Die("V16", 16.0, 84.0, 1.5),
        punch=Punch("P", 1.0, 84.0),
    )


SHEET = sheet_of()


def truly_deg(depth_mm: float, offset_mm: float, radius: float, spring: float) -> float:
    """The angle a brake with this offset, radius and springback bends."""
    answer = bend_response(
        sheets=stacked([SHEET]),
        depth_mm=np.array([depth_mm + offset_mm]),
        log_radius_factor=radius,
        log_springback_factor=spring,
    )
    return float(answer.bend_angle_deg[0])


def width_deg(belief: SetupBelief, wanted_deg: float = 90.0) -> float:
    low, high = belief.interval_95_deg(SHEET, belief.depth_mm(SHEET, wanted_deg))
    return high - low


def test_before_any_trial_history_says_the_depth_and_how_sure_it_is() -> None:
    by_rule, by_history = believe_setup(known=RULE), believe_setup(known=SURE)
    assert by_rule.depth_mm(SHEET, 90.0) == pytest.approx(depth_for_angle(SHEET, 90.0))
    assert by_history.depth_mm(SHEET, 90.0) < by_rule.depth_mm(SHEET, 90.0)
    assert width_deg(by_history) < width_deg(by_rule)
    assert by_history.angle_deg(SHEET, by_history.depth_mm(SHEET, 90.0)) == pytest.approx(90.0)


def test_a_band_is_never_narrower_than_touch_off_allows_before_the_first_trial() -> None:
    exact = Multipliers((0.0, 0.0), np.diag([1e-9, 1e-9]))
    belief = believe_setup(known=exact, scatter=SetupScatter(touch_off_sd_mm=0.1))
    slope = bend_response(sheets=stacked([SHEET]), depth_mm=np.array([belief.depth_mm(SHEET, 90)]))
    assert width_deg(belief) >= 2 * 1.96 * 0.1 * slope.per_travel[0]


def test_a_thickness_not_measured_widens_the_band_more_on_a_die_than_on_the_sheet() -> None:
    def width(**changes: object) -> float:
        return width_deg(believe_setup(known=SURE, scatter=SetupScatter(**changes)))  # type: ignore[arg-type]

    measured = width(touch_off_on="die")
    guessed = width(touch_off_on="die", thickness_sd_mm=0.045)
    guessed_but_touched = width(touch_off_on="sheet", thickness_sd_mm=0.045)
    assert guessed > 1.1 * measured
    assert guessed_but_touched < guessed


def test_one_trial_moves_the_next_depth_and_a_second_one_moves_it_less() -> None:
    first_mm = believe_setup(known=RULE).depth_mm(SHEET, 90.0)
    true_deg = truly_deg(first_mm, -0.1, 0.1, 0.2)
    one = [MeasuredBend(SHEET, first_mm, true_deg)]
    next_mm = believe_setup(known=RULE, trials=one).depth_mm(SHEET, 90.0)
    two = [*one, MeasuredBend(SHEET, next_mm, truly_deg(next_mm, -0.1, 0.1, 0.2))]
    last_mm = believe_setup(known=RULE, trials=two).depth_mm(SHEET, 90.0)
    assert abs(next_mm - first_mm) > 3 * abs(last_mm - next_mm)
    assert truly_deg(last_mm, -0.1, 0.1, 0.2) == pytest.approx(90.0, abs=0.3)


def test_other_angles_of_the_set_up_learn_from_a_trial_too() -> None:
    first_mm = believe_setup(known=RULE).depth_mm(SHEET, 90.0)
    trials = [MeasuredBend(SHEET, first_mm, truly_deg(first_mm, -0.1, -0.1, 0.2))]
    before, after = believe_setup(known=RULE), believe_setup(known=RULE, trials=trials)

    def error_deg(belief: SetupBelief) -> float:
        return abs(truly_deg(belief.depth_mm(SHEET, 45.0), -0.1, -0.1, 0.2) - 45.0)

    assert error_deg(after) < 0.5 * error_deg(before)


def test_the_piece_in_hand_is_foretold_better_than_the_next_one() -> None:
    depth_mm = believe_setup(known=SURE).depth_mm(SHEET, 90.0)
    trials = [MeasuredBend(SHEET, depth_mm, 91.2, piece=0)]
    belief = believe_setup(known=SURE, scatter=PIECES, trials=trials)
    assert belief.angle_sd_deg(SHEET, depth_mm, 0) < belief.angle_sd_deg(SHEET, depth_mm)
    assert belief.angle_sd_deg(SHEET, depth_mm, 1) == belief.angle_sd_deg(SHEET, depth_mm)
    assert belief.angle_deg(SHEET, depth_mm, 0) > belief.angle_deg(SHEET, depth_mm)
    again_mm = belief.depth_mm(SHEET, 90.0, 0)
    assert again_mm < belief.depth_mm(SHEET, 90.0)
    assert belief.angle_deg(SHEET, again_mm, 0) == pytest.approx(90.0, abs=1e-3)


def test_a_typing_error_is_kept_shown_and_changes_nothing_until_confirmed() -> None:
    depth_mm = believe_setup(known=SURE).depth_mm(SHEET, 90.0)
    good = [MeasuredBend(SHEET, depth_mm, 89.6), MeasuredBend(SHEET, depth_mm + 0.03, 90.1)]
    typo = MeasuredBend(SHEET, depth_mm + 0.03, 98.1)
    alone = believe_setup(known=SURE, trials=good)
    with_it = believe_setup(known=SURE, trials=[*good, typo])
    assert with_it.odd == (2,)
    assert with_it.state == alone.state
    assert alone.surprise_sd(typo) > 4.0
    confirmed = believe_setup(known=SURE, trials=[*good, replace(typo, confirmed=True)])
    assert confirmed.odd == ()  # nor does a confirmed reading make the good ones odd
    assert confirmed.depth_mm(SHEET, 90.0) < alone.depth_mm(SHEET, 90.0)


def test_a_touch_off_far_out_is_asked_about_once_not_at_every_part() -> None:
    depth_mm = believe_setup(known=SURE).depth_mm(SHEET, 90.0)
    far = MeasuredBend(SHEET, depth_mm, truly_deg(depth_mm, 0.9, 0.08, -0.1))
    assert believe_setup(known=SURE, trials=[far]).odd == (0,)
    meant = replace(far, confirmed=True)
    next_mm = believe_setup(known=SURE, trials=[meant]).depth_mm(SHEET, 90.0)
    then = MeasuredBend(SHEET, next_mm, truly_deg(next_mm, 0.9, 0.08, -0.1))
    assert believe_setup(known=SURE, trials=[meant, then]).odd == ()


def test_a_first_reading_far_off_is_asked_about_even_with_nothing_to_compare() -> None:
    depth_mm = believe_setup(known=SURE).depth_mm(SHEET, 90.0)
    for typed_deg in (9.0, 0.9, 19.0, 180.0, 103.0):
        assert believe_setup(known=SURE, trials=[MeasuredBend(SHEET, depth_mm, typed_deg)]).odd == (
            0,
        )


def test_a_travel_no_bend_has_is_never_learned_from_even_confirmed() -> None:
    thick = bending(
        thickness_mm=12.0, material=STEEL, die=Die("V16", 16.0, 84.0, 1.5), punch=Punch("P", 1, 84)
    )
    trials = [MeasuredBend(thick, 40.0, 90.0, confirmed=True)]
    assert believe_setup(known=RULE, trials=trials).odd == (0,)
    assert setup_evidence(scatter=SetupScatter(), trials=trials).trials_count == 0


def test_judged_trials_carry_the_mark_into_what_is_kept() -> None:
    depth_mm = believe_setup(known=SURE).depth_mm(SHEET, 90.0)
    trials = [MeasuredBend(SHEET, depth_mm, 89.6), MeasuredBend(SHEET, depth_mm, 9.0)]
    kept = judged(trials, believe_setup(known=SURE, trials=trials))
    assert [trial.odd for trial in kept] == [False, True]
    only_good = setup_evidence(scatter=SetupScatter(), trials=trials[:1])
    assert setup_evidence(scatter=SetupScatter(), trials=kept) == only_good


def test_evidence_kept_in_small_gives_what_all_trials_give_at_once() -> None:
    """Three set-ups of one lot: the stored sums against one nonlinear least squares over all."""
    scatter = SetupScatter(piece_springback_sd_ratio=0.0)
    world = (0.12, -0.25)
    setups = []
    for offset_mm, angles in ((0.08, (90, 45)), (-0.15, (90, 90, 60)), (0.02, (30, 90))):
        trials = []
        for number, wanted in enumerate(angles):
            depth_mm = depth_for_angle(SHEET, wanted)
            read_deg = truly_deg(depth_mm, offset_mm, *world) + 0.2 * math.sin(7 * number + wanted)
            trials.append(MeasuredBend(SHEET, depth_mm, read_deg))
        setups.append(trials)
    learned = LearnedBend(KEY)
    for trials in setups:
        learned = learned.with_setup("A", after=setup_evidence(scatter=scatter, trials=trials))
    known = multipliers_known(learned=[learned], key=KEY, lot_code="A")

    spread = np.sqrt(np.diag(Spreads().whole))

    def residuals(state: np.ndarray) -> np.ndarray:
        parts = [state[:2] / spread]
        for index, trials in enumerate(setups):
            offset_mm, thick_mm = state[2 + 2 * index : 4 + 2 * index]
            parts.append(np.array([offset_mm / 0.10, thick_mm / 0.01]))
            answer = bend_response(
                sheets=stacked([SHEET] * len(trials)),
                depth_mm=np.array([trial.depth_mm for trial in trials]) + offset_mm,
                log_radius_factor=state[0],
                log_springback_factor=state[1],
                thickness_off_mm=thick_mm,
            )
            read = np.array([trial.bend_angle_deg for trial in trials])
            parts.append((read - answer.bend_angle_deg) / 0.3)
        return np.concatenate(parts)

    joint = least_squares(residuals, np.zeros(8))
    covariance = np.linalg.inv(joint.jac.T @ joint.jac)[:2, :2]
    by_sums = believe_setup(known=known)
    by_all = believe_setup(known=Multipliers((joint.x[0], joint.x[1]), covariance))
    for wanted_deg in (30.0, 60.0, 90.0):
        depth_mm = by_all.depth_mm(SHEET, wanted_deg)
        assert by_sums.angle_deg(SHEET, depth_mm) == pytest.approx(wanted_deg, abs=0.05)
        assert by_sums.angle_sd_deg(SHEET, depth_mm) == pytest.approx(
            by_all.angle_sd_deg(SHEET, depth_mm), rel=0.03
        )


def test_the_next_set_up_keeps_radius_and_springback_and_forgets_the_offset() -> None:
    trials = [
        MeasuredBend(SHEET, depth_mm, truly_deg(depth_mm, 0.15, 0.1, -0.2))
        for depth_mm in (3.0, 5.0, 6.0, 6.3)
    ]
    evidence = setup_evidence(scatter=SetupScatter(), trials=trials)
    learned = [LearnedBend(KEY).with_setup("A", after=evidence)]
    same_lot = multipliers_known(learned=learned, key=KEY, lot_code="A")
    next_lot = multipliers_known(learned=learned, key=KEY, lot_code="B")
    assert believe_setup(known=same_lot).state[:2] == (0.0, 0.0)
    widths = [
        width_deg(believe_setup(known=RULE, trials=trials)),
        width_deg(believe_setup(known=same_lot)),
        width_deg(believe_setup(known=next_lot)),
        width_deg(believe_setup(known=RULE)),
    ]
    assert widths == sorted(widths)


@pytest.mark.parametrize(
    "changes",
    [
        {"touch_off_sd_mm": 0.0},
        {"touch_off_sd_mm": float("nan")},
        {"protractor_sd_deg": 0.0},
        {"thickness_sd_mm": -1.0},
        {"piece_thickness_sd_mm": -0.1},
        {"piece_springback_sd_ratio": 2.0},
    ],
)
def test_a_scatter_no_set_up_has_is_refused(changes: dict[str, float]) -> None:
    with pytest.raises(ShopError) as trouble:
        SetupScatter(**changes)  # type: ignore[arg-type]
    assert trouble.value.where == next(iter(changes))


@pytest.mark.parametrize(("depth_mm", "angle_deg"), [(6.0, 190.0), (6.0, -1.0), (-1.0, 90.0)])
def test_a_trial_no_protractor_or_control_shows_is_refused_by_its_index(
    depth_mm: float, angle_deg: float
) -> None:
    with pytest.raises(ShopError) as trouble:
        believe_setup(known=RULE, trials=[MeasuredBend(SHEET, depth_mm, angle_deg)])
    assert trouble.value.where is not None
    assert trouble.value.where.startswith("trials.0.")
