"""The calculations outside programs may ask for, by name. Each module has `Request` and `answer`."""

from collections.abc import Callable, Mapping
from importlib import import_module
from typing import Any, Protocol, cast

from server.actions.calc.body import Body, read_body
from server.errors import ShopError, say

NAMES = (
    "flat",
    "airbend",
    "angle",
    "coupon",
    "learn",
    "gauge",
    "length",
    "plan",
    "quote",
    "schedule",
)


class Calculation(Protocol):
    """A module of this package that answers one calculation."""

    Request: type[Body]
    answer: Callable[[Any], Mapping[str, object]]


def get_calculation(name: str) -> Calculation:
    """The module that answers a calculation; loaded when first asked for.

    Raises: ShopError `unknown_calculation`.
    """
    if name not in NAMES:
        raise ShopError(
            "unknown_calculation",
            say("There is no calculation '{name}'.", name=name),
            remedy=say("Use one of: {names}.", names=", ".join(NAMES)),
            where="name",
        )
    return cast("Calculation", import_module(f"server.actions.calc.{name}"))


def calculate(name: str, values: object) -> Mapping[str, object]:
    """The answer to one calculation, from parsed JSON to plain values ready for JSON.

    Raises: ShopError, `where` naming the field.
    """
    calculation = get_calculation(name)
    return calculation.answer(read_body(calculation.Request, values))


def trouble_as_json(trouble: ShopError) -> dict[str, dict[str, str | None]]:
    """A trouble in the contract's shape."""
    return {
        "error": {
            "code": trouble.code,
            "message": str(trouble.what),
            "field": trouble.where,
            "hint": str(trouble.remedy),
        }
    }
