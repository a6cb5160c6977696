"""What the shop knows: rates with their interval, bands beside readings, odd ones named."""

import re
from typing import Any

import pytest

from server.actions.learned_bend import shop_knows
from server.drawings.trial_plot import BandPoint, RatePoint, draw_bands, draw_rates, draw_spread
from server.storage.queries.learned_bend import list_learned_rows
from server.storage.queries.trial import get_trial, list_outlier_trials
from server.storage.tables.learned_bend import LearnedBend, SetupEvidence
from server.storage.tables.setup import Trial
from tests.conftest import Office


def test_the_page_tells_rate_interval_and_coverage_of_the_demo_shop(
    office: Office, shop: Any
) -> None:
    with shop.reading() as session:
        knows = shop_knows(session)
    assert knows.together is not None
    page = office.get("/office/learned").text
    assert f"{knows.together.right_count} of {knows.together.parts_count}" in page
    assert "95 of 100" in page
    assert page.count('class="plot"') == 2


def test_what_was_learned_narrows_the_band_of_a_new_lot(shop: Any) -> None:
    with shop.reading() as session:
        learned = shop_knows(session).learned
    assert learned
    for one in learned:
        assert one.rule_band_deg is not None
        assert one.learned_band_deg is not None
        assert one.learned_band_deg < one.rule_band_deg
        assert sum(lot.trials_count for lot in one.lots) == one.trials_count


def test_each_bend_has_a_page_with_its_lots_and_trials(office: Office, shop: Any) -> None:
    with shop.reading() as session:
        row = next(one for one in list_learned_rows(session) if one.material_code == "S235JR")
    page = office.get(f"/office/learned/{row.id}").text
    for words in ("S235JR", "L-2411", "L-2416", "a new lot", "this lot"):
        assert words in page
    assert office.get("/office/learned/9999").status_code == 404


def test_an_odd_reading_is_learned_from_once_somebody_means_it(office: Office, shop: Any) -> None:
    with shop.reading() as session:
        odd = list_outlier_trials(session)[0]
    assert "It was measured right" in office.get("/office/learned").text
    office.post("/office/learned/trial", {"trial": str(odd.id)})
    with shop.reading() as session:
        assert get_trial(session, odd.id or 0).confirmed
        assert not get_trial(session, odd.id or 0).outlier


def test_a_shop_that_knows_nothing_is_told_how_to_begin(office: Office, shop: Any) -> None:
    with shop.writing() as session:
        for table in (SetupEvidence, LearnedBend, Trial):
            for row in session.exec(select_all(table)):
                session.delete(row)
            session.flush()
    page = office.get("/office/learned").text
    assert "Nothing is known yet" in page


def select_all(table: Any) -> Any:
    from sqlmodel import select

    return select(table)


def test_a_rate_is_drawn_where_it_is_with_its_interval() -> None:
    drawn = draw_rates([RatePoint("May 26", 0.5, 0.2, 0.8, 10)], title="t")
    middle = float(re.findall(r'<circle cx="[\d.]+" cy="(-?[\d.]+)"', drawn)[0])
    assert -middle == pytest.approx(125.0)  # half of 250 high
    assert "M320 -50L320 -200" in drawn


def test_bands_and_readings_keep_their_places_and_odd_ones_are_crosses() -> None:
    points = [BandPoint("a", -2.0, 2.0, 0.0), BandPoint("b", -1.0, 1.0, 3.0, odd=True)]
    drawn = draw_bands(points, tolerance=1.0, unit="°", title="t")
    assert drawn.count("<circle") == 1
    (at,) = re.findall(r'<circle cx="[\d.]+" cy="(-?[\d.]+)"', drawn)
    assert -float(at) == pytest.approx(125.0)
    assert drawn.count('stroke="#93101f"') == 2


def test_strips_stand_around_their_mean() -> None:
    drawn = draw_spread([5.8, 6.0], middle=5.9, half=0.2, told=lambda mm: f"{mm:.2f}", title="t")
    left, right = (float(x) for x in re.findall(r'<circle cx="([\d.]+)"', drawn))
    assert (left + right) / 2 == pytest.approx(320.0)
    assert "5.70" in drawn
