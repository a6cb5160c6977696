"""What to key for a step: before the first part, and after a try; stories 1 and 2 as readings."""

import numpy as np
import pytest

from server.errors import ShopError
from server.mechanics.air_bend import angles_for_depth
from server.mechanics.control_reading import TouchOff
from server.mechanics.correction import Try
from server.mechanics.learned_family import BendKey, LearnedBend, Multipliers, multipliers_known
from server.mechanics.setup_belief import SetupBelief, believe_setup, setup_evidence
from server.mechanics.setup_fit import MeasuredBend, SetupScatter
from server.planning.setup_step import Readout, first_depth, next_step
from tests.unit.planning.eleven_gauge import ELEVEN_GAUGE_MM, STEEL, V1, sheet_of

KEY = BendKey("steel", STEEL.code, ELEVEN_GAUGE_MM, V1.v_opening_mm)
READOUT = Readout(TouchOff("sheet", 100.0, ELEVEN_GAUGE_MM), 1, 0.01, 0.05)
SHEET = sheet_of()
RULE = multipliers_known(learned=[], key=KEY, lot_code="L1")


def belief_after(*tries: Try, known: Multipliers = RULE) -> SetupBelief:
    trials = [MeasuredBend(SHEET, one.depth_mm, one.bend_angle_deg) for one in tries]
    return believe_setup(known=known, trials=trials)


def test_a_shop_that_knows_nothing_keys_what_the_rules_say() -> None:
    told = first_depth(
        sheet=SHEET, wanted_deg=90.0, belief=belief_after(), known=RULE, readout=READOUT
    )
    assert told.learned.y_mm == told.by_rule_y_mm
    assert told.learned.expected_deg == pytest.approx(90.0, abs=0.1)
    assert told.learned.low_deg < 88.0 < 92.0 < told.learned.high_deg
    assert "Nothing was measured" in str(told.known)


def test_a_shop_that_measured_keys_something_better_and_says_from_what() -> None:
    depth_mm = belief_after().depth_mm(SHEET, 90.0)
    evidence = setup_evidence(
        scatter=SetupScatter(), trials=[MeasuredBend(SHEET, depth_mm, 93.0)] * 2
    )
    learned = [LearnedBend(KEY).with_setup(lot, after=evidence) for lot in "AB"]
    merged = LearnedBend(KEY, {**learned[0].lots, **learned[1].lots})
    known = multipliers_known(learned=[merged], key=KEY, lot_code="new")
    told = first_depth(
        sheet=SHEET,
        wanted_deg=90.0,
        belief=belief_after(known=known),
        known=known,
        readout=READOUT,
    )
    assert told.learned.y_mm < told.by_rule_y_mm
    assert "4 trials on 2 set-ups" in str(told.known)


@pytest.mark.parametrize("sense", [1, -1])
def test_the_reading_is_rounded_shallower_and_the_angle_told_is_that_of_the_reading(
    sense: int,
) -> None:
    readout = Readout(READOUT.touch_off, 1 if sense > 0 else -1, 0.1, 0.05)
    belief = belief_after()
    told = first_depth(sheet=SHEET, wanted_deg=90.0, belief=belief, known=RULE, readout=readout)
    assert sense * (told.learned.y_exact_mm - told.learned.y_mm) >= 0.0
    assert told.learned.expected_deg <= 90.0
    assert told.learned.expected_deg == pytest.approx(
        belief.angle_deg(SHEET, sense * (told.learned.y_mm - 100.0))
    )


def test_story_2_after_a_93_both_rules_go_deeper_and_stand_side_by_side() -> None:
    first_mm = belief_after().depth_mm(SHEET, 90.0)
    tried = Try(first_mm, 180.0 - 93.0)
    told = next_step(
        sheet=SHEET,
        wanted_deg=90.0,
        belief=belief_after(tried),
        tries=[tried],
        readout=READOUT,
        x_mm=25.05,
    )
    assert told.simple_rule.rule == "first step"
    assert told.simple_rule.change_mm > 0
    assert told.learned_change_mm > 0
    assert told.learned.y_mm > READOUT.y_mm(first_mm, ELEVEN_GAUGE_MM)[1]
    assert told.findings == ()
    assert told.x_mm == 25.05


def test_story_2_after_an_88_5_the_next_part_is_shallower() -> None:
    first_mm = belief_after().depth_mm(SHEET, 90.0)
    tried = Try(first_mm, 180.0 - 88.5)
    told = next_step(
        sheet=SHEET,
        wanted_deg=90.0,
        belief=belief_after(tried),
        tries=[tried],
        readout=READOUT,
        x_mm=25.05,
    )
    assert told.simple_rule.change_mm < 0
    assert told.learned_change_mm < 0


def test_story_2_then_it_is_learned_from_the_tries() -> None:
    """A brake 0.15 mm off: after three tries both rules bend 90 within a third of a degree."""
    off_mm = -0.15

    def bent_deg(depth_mm: float) -> float:
        return angles_for_depth(SHEET, depth_mm + off_mm)[1]

    for rule in ("learned", "simple"):
        depth_mm = belief_after().depth_mm(SHEET, 90.0)
        tries: list[Try] = []
        for _ in range(3):
            tries.append(Try(depth_mm, bent_deg(depth_mm)))
            told = next_step(
                sheet=SHEET,
                wanted_deg=90.0,
                belief=belief_after(*tries),
                tries=tries,
                readout=READOUT,
                x_mm=25.05,
            )
            depth_mm = told.learned.depth_mm if rule == "learned" else told.simple.depth_mm
        assert bent_deg(depth_mm) == pytest.approx(90.0, abs=0.35)


def test_a_flange_measured_long_moves_x_back_and_the_blank_by_the_sum() -> None:
    tried = Try(7.0, 89.0)
    told = next_step(
        sheet=SHEET,
        wanted_deg=90.0,
        belief=belief_after(tried),
        tries=[tried],
        readout=READOUT,
        x_mm=25.05,
        flange_errors_mm=(0.32, 0.1),
    )
    assert told.flange is not None
    assert told.x_mm == pytest.approx(24.75)  # 24.73 to the nearest 0.05
    assert told.flange.blank_change_mm == pytest.approx(-0.42)


def test_a_correction_nobody_should_make_is_questioned() -> None:
    first_mm = belief_after().depth_mm(SHEET, 90.0)
    tried = Try(first_mm, 50.0)
    told = next_step(
        sheet=SHEET,
        wanted_deg=90.0,
        belief=belief_after(tried),
        tries=[tried],
        readout=READOUT,
        x_mm=25.05,
        bend=1,
    )
    assert [one.level for one in told.findings] == ["stop"]


def test_without_a_try_there_is_no_next() -> None:
    with pytest.raises(ShopError):
        next_step(
            sheet=SHEET,
            wanted_deg=90.0,
            belief=belief_after(),
            tries=[],
            readout=READOUT,
            x_mm=25.05,
        )


def test_the_band_narrows_with_history_and_trials() -> None:
    sure = Multipliers((0.0, 0.0), np.diag([0.02**2, 0.05**2]), "lot", 20, 8)
    first_mm = belief_after().depth_mm(SHEET, 90.0)
    widths = []
    for belief in (
        belief_after(),
        belief_after(known=sure),
        belief_after(Try(first_mm, 90.2), known=sure),
    ):
        told = first_depth(sheet=SHEET, wanted_deg=90.0, belief=belief, known=sure, readout=READOUT)
        widths.append(told.learned.high_deg - told.learned.low_deg)
    assert widths == sorted(widths, reverse=True)
