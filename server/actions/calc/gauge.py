"""Thickness of a sheet gauge number."""

from typing import Literal

from server.actions.calc.body import Body, Count
from server.units.sheet_gauge import gauge_thickness_in, gauge_thickness_mm


class Request(Body):
    """A gauge number and the family whose table it is read from."""

    family: Literal["steel", "galvanized", "stainless", "aluminium"]
    gauge: Count


def answer(request: Request) -> dict[str, object]:
    """The thickness in inches, as the table prints it, and in millimetres."""
    return {
        "thickness_in": gauge_thickness_in(family=request.family, gauge=request.gauge),
        "thickness_mm": gauge_thickness_mm(family=request.family, gauge=request.gauge),
    }
