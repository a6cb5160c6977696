"""Flat length of a constant-section part."""

from dataclasses import asdict
from typing import Annotated, Literal

from pydantic import Field

from server.actions.calc.body import Body, Real
from server.mechanics.flat_length import FlatBend, flat_length

MOST_BENDS = 500


class BendBody(Body):
    """One bend; the sign of its angle says which side closes."""

    bend_angle_deg: Real
    inside_radius_mm: Real
    k_factor: Real | None = None
    rule: Literal["din6935", "faa", "fixed"] | None = None
    dimension_to: Literal["apex", "tangent"] | None = None


class Request(Body):
    """Legs and bends in order."""

    thickness_mm: Real
    legs_mm: Annotated[list[Real], Field(min_length=1, max_length=MOST_BENDS + 1)]
    legs_are: Literal["outside", "inside", "neutral"] = "outside"
    bends: Annotated[list[BendBody], Field(max_length=MOST_BENDS)]


def answer(request: Request) -> dict[str, object]:
    """The flat, its bend lines and what each bend uses."""
    flat = flat_length(
        thickness_mm=request.thickness_mm,
        legs_mm=request.legs_mm,
        legs_are=request.legs_are,
        bends=[FlatBend(**bend.model_dump()) for bend in request.bends],
    )
    return {
        "flat_length_mm": flat.flat_length_mm,
        "bend_lines_mm": list(flat.bend_lines_mm),
        "bends": [asdict(use) for use in flat.bends],
        "straights_mm": list(flat.straights_mm),
        "outside_legs_mm": list(flat.outside_legs_mm),
    }
