"""What the shop knows, told without flattery."""

from dataclasses import replace
from datetime import date
from random import Random

import pytest
from scipy import stats

from server.mechanics.first_part import (
    FirstPart,
    first_parts_by_month,
    first_parts_together,
    share_interval,
)


def part(month: int, read_deg: float, half_deg: float = 1.5) -> FirstPart:
    return FirstPart(date(2024, month, 7), 90.0, 90.0 - half_deg, 90.0 + half_deg, read_deg)


def test_the_rate_and_the_band_are_told_month_by_month() -> None:
    made = [part(3, 88.0, 3.0), part(3, 90.5, 3.0), part(1, 91.2, 4.0), part(5, 90.2, 1.0)]
    months = first_parts_by_month(made)
    assert [(one.year, one.month, one.parts_count) for one in months] == [
        (2024, 1, 1),
        (2024, 3, 2),
        (2024, 5, 1),
    ]
    assert [one.right_share for one in months] == [0.0, 0.5, 1.0]
    assert [one.mean_width_deg for one in months] == [8.0, 6.0, 2.0]
    assert months[1].mean_error_deg == pytest.approx(1.25)


def test_a_part_just_within_its_tolerance_is_right_and_just_beyond_is_not() -> None:
    assert part(1, 91.0).right
    assert not part(1, 91.01).right
    assert replace(part(1, 91.01), tolerance_deg=1.5).right


@pytest.mark.parametrize(("right", "parts"), [(0, 3), (3, 3), (8, 10), (47, 90)])
def test_few_parts_say_little_as_in_a_statistics_library(right: int, parts: int) -> None:
    told = stats.binomtest(right, parts).proportion_ci(0.95, method="wilson")
    assert share_interval(right_count=right, parts_count=parts) == pytest.approx(
        (told.low, told.high), abs=1e-6
    )


def test_readings_of_an_honest_band_are_held_in_95_of_100() -> None:
    """The true angle scatters by 0.8, the reading by 0.3 besides; the band is the true angle's."""
    chance = Random(1)
    made = [part(1, chance.gauss(chance.gauss(90.0, 0.8), 0.3), 1.96 * 0.8) for _ in range(4000)]
    together = first_parts_together(made)
    assert together is not None
    assert together.held_share == pytest.approx(0.95, abs=0.012)


def test_without_a_first_part_nothing_is_claimed() -> None:
    assert first_parts_together([]) is None
    assert first_parts_by_month([]) == ()
