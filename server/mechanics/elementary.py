"""Elementary functions on a plain float or an array of floats, and the guards of a formula.

A formula is written once and works for one bend (fast, `math`) or many (`numpy`).
"""

import math
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from server.errors import Amount, ShopError, Unit, say

FloatArray = NDArray[np.float64]
Number = TypeVar("Number", float, FloatArray)

LEAST_STEP = 1e-9
MOST = 1e9
"""No shop has a length, strength or mass outside these, in any unit of the house; inside them no
formula overflows."""


def sin(angle_rad: Number) -> Number:
    """Sine of an angle in radians."""
    return np.sin(angle_rad) if isinstance(angle_rad, np.ndarray) else math.sin(angle_rad)


def cos(angle_rad: Number) -> Number:
    """Cosine of an angle in radians."""
    return np.cos(angle_rad) if isinstance(angle_rad, np.ndarray) else math.cos(angle_rad)


def tan(angle_rad: Number) -> Number:
    """Tangent of an angle in radians."""
    return np.tan(angle_rad) if isinstance(angle_rad, np.ndarray) else math.tan(angle_rad)


def arcsin(value: Number) -> Number:
    """Angle in radians whose sine is the value."""
    return np.arcsin(value) if isinstance(value, np.ndarray) else math.asin(value)


def arctan2(opposite: Number, adjacent: Number) -> Number:
    """Angle in radians of the point (adjacent, opposite)."""
    if isinstance(opposite, np.ndarray) or isinstance(adjacent, np.ndarray):
        return np.arctan2(opposite, adjacent)
    return math.atan2(opposite, adjacent)


def sqrt(value: Number) -> Number:
    """Square root."""
    return np.sqrt(value) if isinstance(value, np.ndarray) else math.sqrt(value)


def log10(value: Number) -> Number:
    """Logarithm to base ten."""
    return np.log10(value) if isinstance(value, np.ndarray) else math.log10(value)


def larger(first: Number, second: Number) -> Number:
    """The larger of two, element by element."""
    if isinstance(first, np.ndarray) or isinstance(second, np.ndarray):
        return np.maximum(first, second)
    return max(second, first)


def smaller(first: Number, second: Number) -> Number:
    """The smaller of two, element by element."""
    if isinstance(first, np.ndarray) or isinstance(second, np.ndarray):
        return np.minimum(first, second)
    return min(second, first)


def radians(angle_deg: Number) -> Number:
    """Radians from degrees."""
    return angle_deg * (math.pi / 180.0)


def degrees(angle_rad: Number) -> Number:
    """Degrees from radians."""
    return angle_rad * (180.0 / math.pi)


def need_above(where: str, value: float | FloatArray, least: float, unit: Unit) -> None:
    """Refuse a value that is not above a limit, or larger than anything in a shop.

    Raises: ShopError `out_of_range` naming the parameter.
    """
    least_taken = least + LEAST_STEP
    if isinstance(value, np.ndarray):
        taken = (value >= least_taken) & (value <= MOST)
        if bool(np.all(taken)):
            return
        worst = float(value[~taken].flat[0])
    else:
        if least_taken <= value <= MOST:
            return
        worst = value
    allowed = say("above {least}", least=Amount(least, unit))
    if worst > MOST:
        allowed = say("at most {most}", most=Amount(MOST, unit))
    raise _out_of_range(where, worst, allowed, unit)


def need_between(
    where: str, value: float | FloatArray, least: float, most: float, unit: Unit
) -> None:
    """Refuse a value outside a closed interval.

    Raises: ShopError `out_of_range` naming the parameter.
    """
    if isinstance(value, np.ndarray):
        if bool(np.all((value >= least) & (value <= most))):
            return
        worst = float(value[~((value >= least) & (value <= most))].flat[0])
    else:
        if least <= value <= most:
            return
        worst = value
    between = say("from {least} to {most}", least=Amount(least, unit), most=Amount(most, unit))
    raise _out_of_range(where, worst, between, unit)


def _out_of_range(where: str, value: float, allowed: object, unit: Unit) -> ShopError:
    named = where.rsplit(".", 1)[-1]
    for suffix in ("_mm", "_deg", "_mpa", "_kn", "_n", "_kg", "_s"):
        named = named.removesuffix(suffix)
    return ShopError(
        "out_of_range",
        say(
            "The {name} is {value}; it has to be {allowed}.",
            name=named.replace("_", " "),
            value=Amount(value, unit),
            allowed=str(allowed),
        ),
        remedy=say("Use a value {allowed}.", allowed=str(allowed)),
        where=where,
    )
