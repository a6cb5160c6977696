"""Gauging errors added up by hand, and contacts that protect what matters."""

import math

import pytest

from server.errors import ShopError
from server.planning.error_stack import GaugingErrors
from server.planning.gauge_stack import stacked, stacked_legs
from server.planning.order_check import ChosenStep, check_order
from server.planning.planner import plan
from server.planning.protecting import check_critical, plan_protecting
from server.planning.sequence import BendSequence
from tests.unit.planning.shop import profile_task

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


def test_the_width_over_both_flanges_is_the_web_whatever_way_it_is_asked_for() -> None:
    made = arranged(ChosenStep(0, "first"), ChosenStep(1, "second"))
    web = stacked(made.making, made.order, 1, ERRORS)
    over = stacked(made.making, made.order, (0, 2), ERRORS)
    assert over.worst_mm == pytest.approx(web.worst_mm)
    assert over.statistical_mm == pytest.approx(web.statistical_mm)


def test_legs_between_two_faces_count_by_what_stands_square_to_them() -> None:
    """A Z with a 30 degree step: faces 0 and 2 are apart by half of leg 1's length error."""
    step = profile_task([60.0, 80.0, 60.0], [30.0, -30.0])
    made = plan(step).sequence
    assert made is not None
    leg = stacked(made.making, made.order, 1, ERRORS)
    over = stacked(made.making, made.order, (0, 2), ERRORS)
    assert over.worst_mm == pytest.approx(leg.worst_mm * math.sin(math.radians(30.0)), rel=1e-6)


def test_errors_that_several_legs_share_are_added_before_their_sizes() -> None:
    """Crown of a hat from rim to rim: the two walls stand opposite, so a shared error cancels."""
    hat = profile_task([30.0, 40.0, 60.0, 40.0, 30.0], [-90.0, 90.0, 90.0, -90.0])
    made = plan(hat).sequence
    assert made is not None
    rims = stacked(made.making, made.order, (0, 4), ERRORS)
    first, last = (stacked(made.making, made.order, leg, ERRORS) for leg in (1, 3))
    by_hand = {
        name: first.from_errors.get(name, 0.0) - last.from_errors.get(name, 0.0)
        for name in {*first.from_errors, *last.from_errors}
    }
    assert rims.worst_mm == pytest.approx(sum(abs(size) for size in by_hand.values()))


def test_faces_that_are_not_parallel_are_refused() -> None:
    made = plan(profile_task([60.0, 80.0, 60.0], [30.0, 30.0])).sequence
    assert made is not None
    with pytest.raises(ShopError) as caught:
        stacked(made.making, made.order, (0, 2), ERRORS)
    assert caught.value.code == "not_parallel"


@pytest.mark.parametrize("leg", [3, -4])
def test_a_leg_that_is_not_there_is_refused(leg: int) -> None:
    made = arranged(ChosenStep(0, "first"), ChosenStep(1, "second"))
    with pytest.raises(ShopError) as caught:
        stacked(made.making, made.order, leg, ERRORS)
    assert caught.value.code == "no_such_leg"


def test_the_caution_says_how_small_the_largest_error_would_have_to_be() -> None:
    """web: blank 0.2 + gauge 0.1 + 0.1 = 0.4; for 0.3 the blank may have 0.1."""
    made = arranged(ChosenStep(0, "first"), ChosenStep(1, "second"))
    (caution,) = check_critical(made, {(0, 2): 0.3}, ERRORS)
    assert str(caution.what).startswith("Legs 0 to 2, face to face, may come out 0.4 mm off")
    assert "blank cut within 0.1 mm instead of 0.2 mm" in str(caution.frees)
    (hopeless,) = check_critical(made, {(0, 2): 0.1}, ERRORS)
    assert "No contact holds it" in str(hopeless.frees)


def test_contacts_protect_a_face_to_face_dimension() -> None:
    """Width over both flanges within 0.26: gauged on the standing flange, not on both edges."""
    made = plan_protecting(CHANNEL, {(0, 2): 0.26}, errors=ERRORS)
    assert made.sequence is not None
    assert check_critical(made.sequence, {(0, 2): 0.26}, ERRORS) == ()
