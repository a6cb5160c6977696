"""A length the way people type it."""

from typing import Literal

from server.actions.calc.body import Body
from server.errors import ShopError
from server.units.typed_length import typed_length_mm


class Request(Body):
    """What was typed, the reader's unit, and the family where a gauge number may come."""

    text: str
    unit: Literal["mm", "in"]
    family: Literal["steel", "galvanized", "stainless", "aluminium"] | None = None


def answer(request: Request) -> dict[str, object]:
    """The length in millimetres."""
    try:
        return {"mm": typed_length_mm(request.text, unit=request.unit, family=request.family)}
    except ShopError as trouble:
        raise trouble.at(trouble.where or "text") from None
