"""Measuring at the brake: strange angles are asked about, both rules answered, either taken over."""

import re
from typing import Any

import pytest

from server.actions.running import start_run
from server.storage.queries.bend_sequence import list_keyed_steps
from server.storage.queries.job import get_run
from server.storage.queries.trial import list_run_trials
from server.storage.tables.setup import SetupStep, Trial
from tests.conftest import Office


def begun(office: Office, shop: Any, code: str = "J-1041") -> int:
    address = office.post("/brake/open", {"code": code}).headers["location"]
    run_id = int(re.findall(r"\d+", address)[0])
    with shop.writing() as session:
        start_run(session, run_id, by="Ann")
    return run_id


def measure(office: Office, run_id: int, angle: str, **more: str) -> Any:
    typed = {"position": "1", "angle": angle, "convention": "bend", "piece": "1", **more}
    return office.post(f"/brake/run/{run_id}/trial", typed, headers={"hx-request": "true"})


def trials(shop: Any, run_id: int) -> list[Trial]:
    with shop.reading() as session:
        return list_run_trials(session, run_id)


def keyed(shop: Any, run_id: int) -> SetupStep:
    with shop.reading() as session:
        run = get_run(session, run_id)
        found = list_keyed_steps(session, run.bend_sequence_id, run.setup_id)[0].keyed
    assert found is not None
    return found


def test_both_rules_are_answered_and_either_is_keyed_with_x(office: Office, shop: Any) -> None:
    run_id = begun(office, shop)
    before = keyed(shop, run_id)
    answer = measure(office, run_id, "87", flange="80.4", other_flange="49.6")
    assert answer.status_code == 200
    assert "not bent far enough" in answer.text
    assert "0.40" in answer.text  # the flange is too long by as much
    simple = re.search(r"Simple.*?big\">([\d.]+)", answer.text, re.DOTALL)
    assert simple
    taken = {"position": "1", "rule": "simple", "with_x": "yes", "request_key": "k1"}
    for _ in range(2):  # a replay changes nothing
        assert office.post(f"/brake/run/{run_id}/take-over", taken).status_code == 204
    after = keyed(shop, run_id)
    assert f"{after.y_mm:.2f}" == simple[1]
    assert after.y_mm > before.y_mm  # deeper
    assert after.x_mm == pytest.approx(before.x_mm - 0.4, abs=0.051)
    assert after.come_from == "simple"


@pytest.mark.parametrize(
    ("angle", "says", "offers"),
    [("190", "No bend shows", ""), ("9", "far from", "90"), ("900", "No bend shows", "90")],
)
def test_an_angle_nobody_can_mean_is_asked_about_and_not_kept(
    office: Office, shop: Any, angle: str, says: str, offers: str
) -> None:
    run_id = begun(office, shop)
    answer = measure(office, run_id, angle, convention="")
    assert answer.status_code == 422
    assert says in answer.text or "wanted" in answer.text
    assert (f'data-meant="{offers}.0"' in answer.text) == bool(offers)
    assert trials(shop, run_id) == []
    if offers:
        assert measure(office, run_id, angle, convention="", meant="90.0").status_code == 200
        assert trials(shop, run_id)[0].bend_angle_deg == 90.0


def test_a_comma_and_the_other_convention_are_understood(office: Office, shop: Any) -> None:
    run_id = begun(office, shop)
    measure(office, run_id, "92,5", convention="included")
    assert trials(shop, run_id)[0].bend_angle_deg == 87.5


def test_a_trial_that_is_sent_twice_is_one_trial(office: Office, shop: Any) -> None:
    run_id = begun(office, shop)
    for _ in range(3):
        assert measure(office, run_id, "89", request_key="abc").status_code == 200
    assert len(trials(shop, run_id)) == 1


def test_a_trial_keeps_the_y_it_was_bent_at(office: Office, shop: Any) -> None:
    run_id = begun(office, shop)
    told_mm = keyed(shop, run_id).y_mm
    measure(office, run_id, "88", y=f"{told_mm - 0.2:.2f}")
    kept = trials(shop, run_id)[0]
    assert kept.y_mm == pytest.approx(told_mm - 0.2, abs=0.006)
    assert kept.depth_mm == pytest.approx(keyed(shop, run_id).depth_mm - 0.2, abs=0.012)


def test_a_y_of_ones_own_is_keyed(office: Office, shop: Any) -> None:
    run_id = begun(office, shop)
    own = f"{keyed(shop, run_id).y_mm + 0.11:.2f}"
    office.post(f"/brake/run/{run_id}/take-over", {"position": "1", "rule": "hand", "y": own})
    assert f"{keyed(shop, run_id).y_mm:.2f}" == own
    assert keyed(shop, run_id).come_from == "hand"


def test_a_trial_is_taken_back_and_put_back(office: Office, shop: Any) -> None:
    run_id = begun(office, shop)
    measure(office, run_id, "88")
    trial_id = trials(shop, run_id)[0].id
    gone = office.post(f"/brake/run/{run_id}/trial/{trial_id}/undo")
    assert gone.status_code == 204  # nothing is left to answer to
    assert trials(shop, run_id)[0].undone
    assert office.post(f"/brake/run/{run_id}/trial/{trial_id}/restore").status_code == 200
    assert not trials(shop, run_id)[0].undone


def test_a_trial_that_does_not_fit_is_kept_and_named_odd(office: Office, shop: Any) -> None:
    run_id = begun(office, shop)
    for angle in ("89.8", "90.1", "89.9"):
        measure(office, run_id, angle)
    answer = measure(office, run_id, "79")
    assert "does not fit the others" in answer.text
    assert trials(shop, run_id)[-1].outlier
    confirmed = office.post(f"/brake/run/{run_id}/trial/{trials(shop, run_id)[-1].id}/confirm")
    assert "does not fit the others" not in confirmed.text


@pytest.mark.parametrize(
    "typed",
    [
        {"angle": ""},
        {"angle": "abc"},
        {"position": "9"},
        {"position": "x"},
        {"flange": "abc"},
        {"convention": "moon"},
        {"meant": "1e9"},
    ],
)
def test_what_cannot_be_a_trial_is_refused_and_not_kept(
    office: Office, shop: Any, typed: dict[str, str]
) -> None:
    run_id = begun(office, shop)
    assert measure(office, run_id, **{"angle": "89", **typed}).status_code == 422
    assert trials(shop, run_id) == []


def test_a_correction_beyond_reason_is_blocked(office: Office, shop: Any) -> None:
    run_id = begun(office, shop)
    answer = measure(office, run_id, "55", sure="yes")
    assert "Blocked" in answer.text
    assert "data-take" not in answer.text
    taken = office.post(f"/brake/run/{run_id}/take-over", {"position": "1", "rule": "learned"})
    assert taken.status_code == 409


def test_earlier_set_ups_of_the_same_bend_are_listed(office: Office, shop: Any) -> None:
    first = begun(office, shop)
    measure(office, first, "88.3")
    office.post(f"/brake/run/{first}/finish")
    second = begun(office, shop)
    assert second != first
    assert office.get(f"/brake/run/{second}/trial/1").status_code == 204
    answer = measure(office, second, "89.6")
    assert "Earlier set-ups of this bend" in answer.text
    assert "88.3°" in answer.text


def test_a_bend_no_sheet_can_have_is_explained_and_not_kept(office: Office, shop: Any) -> None:
    run_id = begun(office, shop)
    answer = measure(office, run_id, "40", sure="yes")
    assert answer.status_code == 422
    assert "fits no sheet between these tools" in answer.text
    assert trials(shop, run_id) == []


def test_a_trial_on_the_wrong_step_is_led_to_the_step_it_fits(office: Office, shop: Any) -> None:
    run_id = begun(office, shop, "DP-4400")  # a bend of 135 degrees, then one of 90
    answer = measure(office, run_id, "90.5")
    assert answer.status_code == 422
    assert 'data-other-step="2"' in answer.text
    assert trials(shop, run_id) == []
    assert measure(office, run_id, "90.5", position="2").status_code == 200
