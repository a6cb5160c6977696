"""The shop's own tools for a part on the drawing board: which punch, which die, and why. Reads only."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from server.errors import ShopError, say
from server.findings import Finding
from server.mechanics.inside_radius import loaded_inside_radius
from server.mechanics.material import Material as SheetMetal
from server.mechanics.tooling import Brake, Die, Punch
from server.mechanics.v_opening import RankedDie, VWish, advised_v_opening, rank_dies
from server.planning.blank import DIN_K, DrawnBend, KChoice
from server.planning.plan_task import ShapeBend, ToolPair
from server.storage.database import Session
from server.storage.queries.brake import brake_of, list_brakes
from server.storage.queries.coupon import find_coupon
from server.storage.queries.tool import (
    die_of,
    list_dies_with_segments,
    list_pairs,
    list_punches_with_segments,
    punch_of,
)

HEM_SERVED_DEG = 140.0
"""A die that air bends this far makes the acute hit of a hem."""
ROOM_FOR_SPRINGBACK_DEG = 4.0
SAME_STEP_MM = 0.1


class Wanted(Protocol):
    """What a drawing says of its sheet and tools."""

    @property
    def material_code(self) -> str:
        """The metal."""
        ...

    @property
    def thickness_mm(self) -> float:
        """Sheet thickness."""
        ...

    @property
    def die_code(self) -> str | None:
        """The die asked for, None for the best."""
        ...

    @property
    def punch_code(self) -> str | None:
        """The punch asked for, None for the best."""
        ...

    @property
    def k_factor(self) -> float | None:
        """The K-factor set on the revision."""
        ...


@dataclass(frozen=True, slots=True)
class Toolbox:
    """The punches, dies and brakes a shop owns, read once; tools made for one thing apart."""

    punches: tuple[Punch, ...]
    dies: tuple[Die, ...]
    brakes: tuple[Brake, ...]
    flattening: ToolPair | None = None
    offset_tools: tuple[ToolPair, ...] = ()


@dataclass(frozen=True, slots=True)
class ToServe:
    """The bends tools have to serve: (bend angle, shortest flange or None) of each, as air bends."""

    bends: tuple[tuple[float, float | None], ...]
    bend_length_mm: float
    inside_radius_mm: float | None = None

    @property
    def widest_deg(self) -> float:
        """The largest bend angle."""
        return max((angle_deg for angle_deg, _ in self.bends), default=90.0)


@dataclass(frozen=True, slots=True)
class ChosenTools:
    """One punch and die, the ranking behind them, and what speaks against them."""

    punch: Punch
    die: Die
    brake: Brake | None
    ranked_dies: tuple[RankedDie, ...]
    findings: tuple[Finding, ...]


def read_toolbox(session: Session) -> Toolbox:
    """Everything the shop owns that bends, in nine queries whatever its size."""
    punches = list_punches_with_segments(session, purpose="bend")
    dies = list_dies_with_segments(session, purpose="bend")
    return Toolbox(
        punches=tuple(punch_of(*entry) for entry in punches),
        dies=tuple(die_of(*entry) for entry in dies),
        brakes=tuple(brake_of(row) for row in list_brakes(session)),
        flattening=next(iter(list_pairs(session, "flatten")), None),
        offset_tools=tuple(list_pairs(session, "offset")),
    )


def choose_tools(
    box: Toolbox, wanted: Wanted, served: ToServe, metal: SheetMetal, *, flange_margin: float
) -> ChosenTools:
    """The punch and die asked for, else the best of the shop's own.

    Raises: ShopError `not_found` for a tool that is asked for by a code the shop does not own.
    """
    brake = box.brakes[0] if box.brakes else None
    punch, punch_notes = _punch(box, wanted, metal, served.widest_deg)
    wish = VWish(
        thickness_mm=wanted.thickness_mm,
        bend_length_mm=served.bend_length_mm,
        bend_angle_deg=served.widest_deg,
        material=metal,
        punch=punch,
        brake=brake,
        others=served.bends,
        inside_radius_mm=served.inside_radius_mm,
        flange_margin=flange_margin,
    )
    ranked = rank_dies(wish=wish, dies=box.dies)
    die, die_notes = _die(box, wanted, ranked)
    return ChosenTools(
        punch=punch,
        die=die,
        brake=brake if box.dies and box.punches else None,
        ranked_dies=ranked,
        findings=(*punch_notes, *die_notes),
    )


def k_choice(session: Session, wanted: Wanted, metal: SheetMetal, die: Die) -> KChoice:
    """The K-factor to use, in order of trust: strips, revision, material table, DIN 6935."""
    coupon = find_coupon(
        session,
        material_code=wanted.material_code,
        thickness_mm=wanted.thickness_mm,
        v_opening_mm=die.v_opening_mm,
    )
    if coupon is not None:
        return KChoice(coupon.k_factor, "coupon")
    if wanted.k_factor is not None:
        return KChoice(wanted.k_factor, "revision")
    if metal.k_factor is not None:
        return KChoice(metal.k_factor, "material")
    return DIN_K


def served_angle(bend: DrawnBend) -> float | None:
    """The bend angle tools have to air bend for a drawn bend; None where other tools make it."""
    if bend.way == "hem":
        return HEM_SERVED_DEG
    if bend.way == "offset":
        return None
    if bend.way == "bump":
        angle_deg = abs(bend.bend_angle_deg)
        return angle_deg / max(1, math.ceil(angle_deg / bend.step_deg))
    return abs(bend.bend_angle_deg)


def wished_radius(bends: Sequence[DrawnBend]) -> float | None:
    """The mean of the radii the drawing asks its air bends for."""
    wishes = [
        bend.inside_radius_mm
        for bend in bends
        if bend.inside_radius_mm is not None and bend.way == "air"
    ]
    return sum(wishes) / len(wishes) if wishes else None


def offset_pair(
    pairs: Sequence[ToolPair], bends: Sequence[DrawnBend | ShapeBend], thickness_mm: float
) -> ToolPair | None:
    """The offset tools whose step fits the part's offsets, else the first the shop owns."""
    steps = [
        bend.outside_offset_mm - thickness_mm
        for bend in bends
        if bend.way == "offset" and bend.outside_offset_mm is not None
    ]
    fitting = [
        pair
        for pair in pairs
        if steps and abs((pair.die.v_depth_mm or 0.0) - steps[0]) <= SAME_STEP_MM
    ]
    return next(iter((*fitting, *pairs)), None)


def _punch(
    box: Toolbox, wanted: Wanted, metal: SheetMetal, widest_deg: float
) -> tuple[Punch, tuple[Finding, ...]]:
    if wanted.punch_code is not None:
        named = next((punch for punch in box.punches if punch.name == wanted.punch_code), None)
        if named is None:
            raise _no_tool("punch", wanted.punch_code)
        return named, ()
    closes_to = 180.0 - widest_deg - ROOM_FOR_SPRINGBACK_DEG
    natural_mm = loaded_inside_radius(
        punch_tip_radius_mm=0.0,
        radius_ratio=metal.radius_ratio,
        v_opening_mm=advised_v_opening(thickness_mm=wanted.thickness_mm),
    )
    able = [
        punch
        for punch in box.punches
        if punch.rating_kn_per_m is not None and punch.angle_deg <= max(closes_to, 0.0)
    ]
    if not able:
        able = [punch for punch in box.punches if punch.rating_kn_per_m is not None]
    if not able:
        return Punch("no punch yet", 1.0, 60.0), (_not_owned("punch"),)
    fitting = [punch for punch in able if punch.tip_radius_mm <= natural_mm] or able
    return max(fitting, key=lambda p: (p.angle_deg, p.rating_kn_per_m or 0.0, p.name)), ()


def _die(
    box: Toolbox, wanted: Wanted, ranked: tuple[RankedDie, ...]
) -> tuple[Die, tuple[Finding, ...]]:
    if wanted.die_code is not None:
        named = next((die for die in box.dies if die.name == wanted.die_code), None)
        if named is None:
            raise _no_tool("die", wanted.die_code)
        return named, ()
    if ranked:
        return ranked[0].die, ()
    v_mm = advised_v_opening(thickness_mm=wanted.thickness_mm)
    return Die("no die yet", v_mm, 60.0, v_mm / 12), (_not_owned("die"),)


def _no_tool(noun: str, code: str) -> ShopError:
    return ShopError(
        "not_found",
        say("The shop owns no {noun} '{code}'.", noun=noun, code=code),
        remedy="Choose one from the list.",
        where=f"{noun}_code",
    )


def _not_owned(noun: str) -> Finding:
    return Finding(
        "caution",
        f"no_{noun}_owned",
        say("The shop has no {noun} entered; a usual one is assumed.", noun=noun),
        say("Enter your {noun}s; flat length and depth then follow them.", noun=noun),
        source="the list of tools",
    )
