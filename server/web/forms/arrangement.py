"""An order of steps as the sequence page sends it: moved, changed, undone.

An order is written `3:first:P1,0::`: a bend by its index for each step, the half that is fixed to
lie behind the die, and the punch that is fixed; what is left open is empty.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from server.errors import ShopError
from server.planning.order_check import ChosenStep

MOST_STEPS = 100
MOST_REMEMBERED = 40
BETWEEN = "|"
Order = tuple[ChosenStep, ...]


@dataclass(frozen=True, slots=True)
class Arrangement:
    """The order on the strip, the orders before it, and those that were taken back."""

    order: Order
    past: tuple[Order, ...] = ()
    ahead: tuple[Order, ...] = ()

    def changed_to(self, order: Order) -> "Arrangement":
        """Another order; what was taken back before is forgotten."""
        if order == self.order:
            return self
        return Arrangement(order, (*self.past, self.order)[-MOST_REMEMBERED:], ())

    def undone(self) -> "Arrangement":
        """The order before this one."""
        if not self.past:
            return self
        return Arrangement(self.past[-1], self.past[:-1], (self.order, *self.ahead))

    def redone(self) -> "Arrangement":
        """The order that was taken back last."""
        if not self.ahead:
            return self
        return Arrangement(self.ahead[0], (*self.past, self.order), self.ahead[1:])


def order_text(order: Order) -> str:
    """An order as one line of text."""
    return ",".join(f"{one.bend}:{one.rear or ''}:{one.punch or ''}" for one in order)


def read_order(text: str) -> Order:
    """The order that `order_text` wrote.

    Raises: ShopError `not_an_order`.
    """
    pieces = [piece.split(":") for piece in text.split(",")] if text.strip() else []
    if len(pieces) > MOST_STEPS or any(not _is_step(piece) for piece in pieces):
        raise ShopError(
            "not_an_order", "This is no order of bends.", remedy="Open the sequence again."
        )
    return tuple(
        ChosenStep(
            int(bend), "first" if rear == "first" else "second" if rear else None, punch or None
        )
        for bend, rear, punch in pieces
    )


def read_arrangement(typed: Mapping[str, str]) -> Arrangement:
    """The strip as it is sent: its order, what was chosen on its steps, and the button pressed.

    Raises: ShopError `not_an_order`.
    """
    shown = Arrangement(
        read_order(typed.get("order", "")), _orders(typed, "past"), _orders(typed, "ahead")
    )
    verb, _, places = typed.get("do", "").partition(":")
    if verb == "undo":
        return shown.undone()
    if verb == "redo":
        return shown.redone()
    order = tuple(_chosen(typed, number, step) for number, step in enumerate(shown.order, start=1))
    if verb == "move":
        order = _moved(order, places)
    return shown.changed_to(order)


def past_text(orders: tuple[Order, ...]) -> str:
    """Several orders as one line of text."""
    return BETWEEN.join(order_text(order) for order in orders)


def _orders(typed: Mapping[str, str], name: str) -> tuple[Order, ...]:
    texts = [text for text in typed.get(name, "").split(BETWEEN) if text]
    return tuple(read_order(text) for text in texts[:MOST_REMEMBERED])


def _is_step(piece: list[str]) -> bool:
    return (
        len(piece) == 3
        and piece[0].isascii()
        and piece[0].isdigit()
        and len(piece[0]) <= 3
        and piece[1] in ("", "first", "second")
        and len(piece[2]) <= 40
    )


def _chosen(typed: Mapping[str, str], number: int, step: ChosenStep) -> ChosenStep:
    """A step with what its own fields say, where they were sent."""
    rear, punch = typed.get(f"rear_{number}"), typed.get(f"punch_{number}")
    if rear is not None:
        step = replace(step, rear="first" if rear == "first" else "second" if rear else None)
    if punch is not None:
        step = replace(step, punch=punch[:40] or None)
    return step


def _moved(order: Order, places: str) -> Order:
    """The order with one step taken to another place; places count from 1."""
    numbers = [int(place) for place in places.split(":") if place.isascii() and place.isdigit()]
    if len(numbers) != 2 or not all(1 <= number <= len(order) for number in numbers):
        return order
    origin, target = numbers
    rest = [*order[: origin - 1], *order[origin:]]
    return (*rest[: target - 1], order[origin - 1], *rest[target - 1 :])
