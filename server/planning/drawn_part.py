"""A part as it stands on the drawing board: shape, material, thickness, and the tools it is for."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, cast

from server.errors import ShopError, say
from server.mechanics.bump_bend import SMOOTH_STEP_DEG
from server.mechanics.flat_length import DimensionTo, LegsAre
from server.planning.blank import DrawnBend, DrawnProfile
from server.planning.plan_task import Way

MOST_BENDS = 60


@dataclass(frozen=True, slots=True)
class DrawnPart:
    """A profile being drawn. No die or punch: the best one the shop owns is taken."""

    profile: DrawnProfile
    number: str = ""
    name: str = ""
    material_code: str = ""
    thickness_mm: float = 2.0
    die_code: str | None = None
    punch_code: str | None = None
    k_factor: float | None = None


STARTERS: Mapping[str, DrawnProfile] = {
    "angle": DrawnProfile(200.0, (40.0, 60.0), (DrawnBend(90.0),)),
    "channel": DrawnProfile(200.0, (30.0, 60.0, 30.0), (DrawnBend(90.0), DrawnBend(90.0))),
    "z": DrawnProfile(200.0, (30.0, 40.0, 30.0), (DrawnBend(90.0), DrawnBend(-90.0))),
    "hat": DrawnProfile(
        200.0,
        (25.0, 35.0, 60.0, 35.0, 25.0),
        (DrawnBend(-90.0), DrawnBend(90.0), DrawnBend(90.0), DrawnBend(-90.0)),
    ),
    "channel with returns": DrawnProfile(
        200.0,
        (15.0, 40.0, 80.0, 40.0, 15.0),
        (DrawnBend(90.0), DrawnBend(90.0), DrawnBend(90.0), DrawnBend(90.0)),
    ),
    "flat strip": DrawnProfile(200.0, (100.0,), ()),
}
"""Shapes to start from: the trade's usual profiles, with sizes of our own."""


def with_leg_added(profile: DrawnProfile, *, leg_mm: float, bend_angle_deg: float) -> DrawnProfile:
    """The profile with one more bend and leg at its end.

    Raises: ShopError `too_many_bends`.
    """
    if len(profile.bends) >= MOST_BENDS:
        raise ShopError(
            "too_many_bends",
            say("A profile may have {most} bends.", most=str(MOST_BENDS)),
            remedy="Draw it in two parts.",
        )
    return replace(
        profile,
        legs_mm=(*profile.legs_mm, leg_mm),
        bends=(*profile.bends, DrawnBend(bend_angle_deg)),
    )


def with_leg_removed(profile: DrawnProfile, index: int) -> DrawnProfile:
    """The profile without one leg and the bend before it (after it, for the first leg).

    Raises: ShopError `last_leg` when it is the only one, `no_such_leg`.
    """
    if len(profile.legs_mm) == 1:
        raise ShopError("last_leg", "A part needs at least one leg.", remedy="Change its length.")
    if not 0 <= index < len(profile.legs_mm):
        raise ShopError("no_such_leg", "There is no such leg.", remedy="Reload the page.")
    bend = max(0, index - 1)
    return replace(
        profile,
        legs_mm=(*profile.legs_mm[:index], *profile.legs_mm[index + 1 :]),
        bends=(*profile.bends[:bend], *profile.bends[bend + 1 :]),
    )


def mirrored(profile: DrawnProfile) -> DrawnProfile:
    """The profile with every bend closing toward the other side."""
    return replace(
        profile,
        bends=tuple(replace(bend, bend_angle_deg=-bend.bend_angle_deg) for bend in profile.bends),
    )


def plain_bend(bend: DrawnBend) -> dict[str, Any]:
    """A bend as plain values; an air bend as short as it was kept before there were other ways."""
    plain: dict[str, Any] = {
        "bend_angle_deg": bend.bend_angle_deg,
        "inside_radius_mm": bend.inside_radius_mm,
        "dimension_to": bend.dimension_to,
    }
    if bend.way != "air":
        plain |= {
            "way": bend.way,
            "gap_mm": bend.gap_mm,
            "step_deg": bend.step_deg,
            "outside_offset_mm": bend.outside_offset_mm,
        }
    return plain


def bend_of_plain(plain: Mapping[str, Any]) -> DrawnBend:
    """The bend that `plain_bend` wrote."""
    radius_mm, offset_mm = plain["inside_radius_mm"], plain.get("outside_offset_mm")
    return DrawnBend(
        float(plain["bend_angle_deg"]),
        None if radius_mm is None else float(radius_mm),
        cast("DimensionTo | None", plain["dimension_to"]),
        cast("Way", plain.get("way", "air")),
        float(plain.get("gap_mm", 0.0)),
        float(plain.get("step_deg", SMOOTH_STEP_DEG)),
        None if offset_mm is None else float(offset_mm),
    )


def plain_of(part: DrawnPart) -> dict[str, Any]:
    """The part as plain values, for keeping."""
    return {
        "number": part.number,
        "name": part.name,
        "material_code": part.material_code,
        "thickness_mm": part.thickness_mm,
        "die_code": part.die_code,
        "punch_code": part.punch_code,
        "k_factor": part.k_factor,
        "width_mm": part.profile.width_mm,
        "legs_are": part.profile.legs_are,
        "legs_mm": list(part.profile.legs_mm),
        "bends": [plain_bend(bend) for bend in part.profile.bends],
    }


def drawn_part_of(plain: Mapping[str, Any]) -> DrawnPart:
    """The part from plain values that `plain_of` made."""
    return DrawnPart(
        profile=DrawnProfile(
            width_mm=float(plain["width_mm"]),
            legs_mm=tuple(float(leg) for leg in plain["legs_mm"]),
            legs_are=cast("LegsAre", plain["legs_are"]),
            bends=tuple(bend_of_plain(bend) for bend in plain["bends"]),
        ),
        number=str(plain["number"]),
        name=str(plain["name"]),
        material_code=str(plain["material_code"]),
        thickness_mm=float(plain["thickness_mm"]),
        die_code=plain["die_code"],
        punch_code=plain["punch_code"],
        k_factor=plain["k_factor"],
    )
