"""What a person fixes in the words of the page, and what the planner makes of it."""

from dataclasses import replace

import pytest

from server.errors import ShopError
from server.planning.order_wish import OrderWish
from server.planning.plan_task import ShapeBend, checked_wishes
from server.planning.planner import plan
from tests.unit.planning.shop import profile_task

HAT = profile_task([30.0, 40.0, 60.0, 40.0, 30.0], [-90.0, 90.0, 90.0, -90.0])
BENDS = tuple(ShapeBend(angle) for angle in (-90.0, 90.0, 90.0, -90.0))


def made(wish: OrderWish) -> list[int]:
    sequence = plan(replace(HAT, wishes=wish.wishes(BENDS))).sequence
    assert sequence is not None
    return [step.bends[0] for step in sequence.steps]


def test_nothing_fixed_leaves_the_planner_free() -> None:
    assert OrderWish().empty
    assert OrderWish().wishes(BENDS).before == ()


def test_one_bend_is_first_and_another_last() -> None:
    order = made(OrderWish(first_bend=3, last_bend=1))
    assert (order[0], order[-1]) == (3, 1)


def test_the_half_that_goes_behind_the_die_is_kept() -> None:
    assert OrderWish(gauge_from={2: "second"}).wishes(BENDS).gauge_from == {2: "second"}


def test_one_side_first_puts_its_bends_before_all_others() -> None:
    """Side A closes bends 2 and 3 of the hat, which have positive angles."""
    assert set(OrderWish(side_first="A").wishes(BENDS).before) == {(1, 0), (1, 3), (2, 0), (2, 3)}
    assert set(OrderWish(side_first="B").wishes(BENDS).before) == {(0, 1), (0, 2), (3, 1), (3, 2)}


def test_wishes_that_cannot_both_be_are_refused() -> None:
    wish = OrderWish(first_bend=1, side_first="B")
    with pytest.raises(ShopError, match="contradict"):
        checked_wishes(wish.wishes(BENDS), len(BENDS))
