"""Gauging errors added up by hand, and contacts that protect what matters."""

import math

import pytest

from server.errors import ShopError
from server.geometry.generator import box
from server.planning.gauge_stack import (
    GaugingErrors,
    check_critical,
    plan_protecting,
    stacked_legs,
)
from server.planning.order_check import ChosenStep, check_order
from server.planning.planner import plan
from server.planning.sequence import BendSequence
from tests.unit.planning.shop import FOLD, part_task, profile_task

ERRORS = GaugingErrors(gauge_mm=0.1, blank_mm=0.2, flange_contact_mm=0.15)
CHANNEL = profile_task([40.0, 120.0, 40.0], [90.0, 90.0])


def arranged(*chosen: ChosenStep) -> BendSequence:
    checked = check_order(CHANNEL, list(chosen))
    assert checked.sequence is not None
    return checked.sequence


def test_both_flanges_gauged_on_their_own_edges_put_all_errors_into_the_web() -> None:
    """web = blank - flange - flange: blank and two gauge errors; each flange its own gauge error."""
    made = arranged(ChosenStep(0, "first"), ChosenStep(1, "second"))
    first, web, last = stacked_legs(made.making, made.order, ERRORS)
    assert first.worst_mm == pytest.approx(0.1)
    assert last.worst_mm == pytest.approx(0.1)
    assert web.worst_mm == pytest.approx(0.2 + 0.1 + 0.1)
    assert web.statistical_mm == pytest.approx(math.sqrt(0.04 + 0.01 + 0.01))


def test_a_web_gauged_on_the_standing_flange_is_right_and_the_last_leg_takes_the_rest() -> None:
    """web: gauge and flange contact; the last leg: blank and everything before it."""
    made = arranged(ChosenStep(0, "first"), ChosenStep(1, "first"))
    assert made.steps[1].contact.kind == "flange"
    _, web, last = stacked_legs(made.making, made.order, ERRORS)
    assert web.worst_mm == pytest.approx(0.1 + 0.15)
    assert last.worst_mm == pytest.approx(0.2 + 0.1 + 0.1 + 0.15)


def test_errors_shared_by_both_ends_of_a_leg_cancel() -> None:
    """Both bends gauged on the same far edge: the blank's error is not in the web."""
    made = arranged(ChosenStep(0, "second"), ChosenStep(1, "second"))
    _, web, _ = stacked_legs(made.making, made.order, ERRORS)
    assert web.worst_mm == pytest.approx(0.1 + 0.1)
    assert "blank" not in web.from_errors


def test_critical_legs_get_contacts_that_hold_their_tolerance() -> None:
    made = plan_protecting(CHANNEL, {0: 0.15, 2: 0.15}, errors=ERRORS)
    assert made.sequence is not None
    assert check_critical(made.sequence, {0: 0.15, 2: 0.15}, ERRORS) == ()
    free = plan(CHANNEL)
    assert free.sequence is not None
    assert made.sequence.cost.seconds >= free.sequence.cost.seconds - 1e-9


def test_a_tolerance_that_no_contact_holds_is_told() -> None:
    made = plan_protecting(CHANNEL, {1: 0.05}, errors=ERRORS)
    assert made.sequence is not None
    (caution,) = check_critical(made.sequence, {1: 0.05}, ERRORS)
    assert caution.code == "critical_leg_at_risk"
    assert caution.amount is not None
    assert caution.amount.value > 0.0


def test_flat_parts_are_refused() -> None:
    part = box(width_mm=200, depth_mm=150, height_mm=40, thickness_mm=2.0, fold=FOLD)
    made = plan(part_task(part))
    assert made.sequence is not None
    with pytest.raises(ShopError):
        stacked_legs(made.sequence.making, made.sequence.order, ERRORS)
