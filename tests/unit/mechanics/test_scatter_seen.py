"""A shop's own scatter, found again from readings that were foretold."""

from random import Random

import pytest

from server.mechanics.scatter_seen import Surprise, scatter_seen
from server.mechanics.setup_fit import SetupScatter
from server.mechanics.setup_scatter import setup_scatter

USUAL = SetupScatter(touch_off_sd_mm=0.10, piece_thickness_sd_mm=0.01)


def surprises(*, seed: int, count: int, touch_off: float, piece: float) -> list[Surprise]:
    """Readings foretold with touch-off 1.2 deg, piece 0.25 deg and rest 0.4 deg, made otherwise."""
    chance = Random(seed)
    told = (1.2**2 + 0.25**2 + 0.4**2) ** 0.5
    return [
        Surprise(
            chance.gauss(0, 1.2 * touch_off) + chance.gauss(0, 0.25 * piece) + chance.gauss(0, 0.4),
            told,
            1.2,
            0.25,
            0.10,
        )
        for _ in range(count)
    ]


@pytest.mark.parametrize("times", [0.3, 0.6, 1.0, 2.0, 3.0])
def test_a_shop_that_touches_off_better_or_worse_is_found_out(times: float) -> None:
    firsts = surprises(seed=5, count=80, touch_off=times, piece=1.0)
    seen = scatter_seen(usual=USUAL, first_readings=firsts)
    assert seen.touch_off_sd_mm == pytest.approx(0.10 * times, rel=0.25, abs=0.01)
    assert seen.piece_thickness_sd_mm == USUAL.piece_thickness_sd_mm


@pytest.mark.parametrize("times", [1.0, 3.0])
def test_pieces_that_differ_more_than_believed_are_found_out(times: float) -> None:
    laters = [
        Surprise(one.missed_deg, (0.25**2 + 0.4**2) ** 0.5, 0.0, 0.25, 0.1)
        for one in surprises(seed=6, count=150, touch_off=0.0, piece=times)
    ]
    seen = scatter_seen(usual=USUAL, first_readings=[], later_readings=laters)
    assert seen.piece_thickness_sd_mm == pytest.approx(0.01 * times, rel=0.35)
    assert seen.touch_off_sd_mm == USUAL.touch_off_sd_mm


def test_one_or_two_readings_hardly_move_the_settings() -> None:
    few = surprises(seed=8, count=1, touch_off=1.0, piece=1.0)
    assert 0.05 < scatter_seen(usual=USUAL, first_readings=few).touch_off_sd_mm < 0.2
    assert scatter_seen(usual=USUAL, first_readings=[]) == USUAL


def test_one_typing_error_does_not_widen_every_band() -> None:
    firsts = surprises(seed=9, count=40, touch_off=1.0, piece=1.0)
    wild = [*firsts, Surprise(81.0, 1.4, 1.2, 0.25, 0.1)]
    calm = scatter_seen(usual=USUAL, first_readings=firsts).touch_off_sd_mm
    assert scatter_seen(usual=USUAL, first_readings=wild).touch_off_sd_mm < 1.3 * calm


def scatter(**changes: object) -> SetupScatter:
    told: dict[str, object] = {
        "usual": USUAL,
        "touch_off_on": "sheet",
        "touch_off_checked": True,
        "thickness_mm": 2.0,
        "thickness_measured": True,
        "standard": "EN 10131",
        "sheet_width_mm": 1250.0,
    }
    return setup_scatter(**(told | changes))  # type: ignore[arg-type]


def test_a_sheet_nobody_measured_may_be_anywhere_in_its_standards_tolerance() -> None:
    """EN 10131:2006, 2.00 mm, 1250 wide: plus or minus 0.11."""
    assert scatter().thickness_sd_mm < 0.012
    assert scatter(thickness_measured=False).thickness_sd_mm == pytest.approx(0.11 / 2.5)
    unknown = scatter(thickness_measured=False, standard=None)
    assert unknown.thickness_sd_mm > 2 * scatter(thickness_measured=False).thickness_sd_mm


def test_a_touch_off_nobody_looked_at_is_believed_less() -> None:
    assert scatter().touch_off_sd_mm == 0.10
    assert scatter(touch_off_checked=False).touch_off_sd_mm == 0.30
