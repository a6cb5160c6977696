"""The flat blank of a constant-section part: length, bend lines, and what each bend uses."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from server.errors import Amount, ShopError, say
from server.mechanics.bend_allowance import (
    TANGENT_FROM_DEG,
    bend_allowance,
    bend_deduction,
    faa_bend_allowance,
    outside_setback,
)
from server.mechanics.elementary import need_above, need_between
from server.mechanics.k_factor import FAA_K_FACTOR, KRule, din6935_k_factor

LegsAre = Literal["outside", "inside", "neutral"]
DimensionTo = Literal["apex", "tangent"]

DIN_NO_DEDUCTION_BELOW_DEG = 15.0
SHORT_BY_ROUNDING_MM = 1e-9


@dataclass(frozen=True, slots=True)
class FlatBend:
    """One bend as drawn. `rule` None means: the given K-factor, or DIN 6935's K when none."""

    bend_angle_deg: float
    inside_radius_mm: float
    k_factor: float | None = None
    rule: KRule | None = None
    dimension_to: DimensionTo | None = None


@dataclass(frozen=True, slots=True)
class BendUse:
    """What one bend uses of the sheet, and by which rule."""

    bend_allowance_mm: float
    outside_setback_mm: float
    bend_deduction_mm: float
    k_factor: float
    rule: KRule
    leg_setback_mm: float


@dataclass(frozen=True, slots=True)
class Flat:
    """The flat of a constant-section part. Lengths [mm], in order from the first edge."""

    flat_length_mm: float
    bend_lines_mm: tuple[float, ...]
    bends: tuple[BendUse, ...]
    straights_mm: tuple[float, ...]
    outside_legs_mm: tuple[float, ...]


def use_of_bend(*, bend: FlatBend, thickness_mm: float, legs_are: LegsAre = "outside") -> BendUse:
    """What one bend uses of the sheet by its rule.

    Formula: BA by K-factor or FAA's rule; OSSB = tan(A/2)(r + t) to the apex, r + t to the
        tangent above 90; BD = 2 OSSB - BA. DIN 6935 named as the rule takes no deduction for
        openings above 165.

    Args:
        bend: the bend as drawn; its sign says only which side closes.
        thickness_mm: sheet thickness [mm], above 0.
        legs_are: where the legs beside this bend are measured to.

    Returns: the lengths [mm] and K-factor used. `leg_setback_mm` is the distance from the leg's
        own dimension point to the tangent point.

    Raises: ShopError `out_of_range`, `apex_too_far`, `k_factor_missing`, `two_rules`.

    References: DIN 6935 (1975) as printed in Tabellenbuch Metall; FAA-H-8083-31 (2012), ch. 4;
        definitions of allowance, setback and deduction.

    >>> bend = FlatBend(bend_angle_deg=90.0, inside_radius_mm=2.0, k_factor=0.42)
    >>> round(use_of_bend(bend=bend, thickness_mm=2.0).bend_deduction_mm, 4)
    3.5389
    """
    angle_deg = abs(bend.bend_angle_deg)
    need_between("bend_angle_deg", angle_deg, 0.0, 180.0, "deg")
    radius_mm = bend.inside_radius_mm
    rule, k_factor = _rule_and_k(bend, thickness_mm)
    to_tangent = angle_deg > 90.0 and bend.dimension_to != "apex"
    if bend.dimension_to == "apex" and angle_deg >= TANGENT_FROM_DEG:
        to_tangent = False  # outside_setback refuses, with the remedy
    setback_mm = outside_setback(
        bend_angle_deg=angle_deg,
        inside_radius_mm=radius_mm,
        thickness_mm=thickness_mm,
        to_tangent=to_tangent,
    )
    if rule == "faa":
        allowance_mm = faa_bend_allowance(
            bend_angle_deg=angle_deg, inside_radius_mm=radius_mm, thickness_mm=thickness_mm
        )
    elif bend.rule == "din6935" and angle_deg < DIN_NO_DEDUCTION_BELOW_DEG:
        allowance_mm = 2 * setback_mm
    else:
        allowance_mm = bend_allowance(
            bend_angle_deg=angle_deg,
            inside_radius_mm=radius_mm,
            thickness_mm=thickness_mm,
            k_factor=k_factor,
        )
    depth_of_line_mm = {"outside": thickness_mm, "inside": 0.0, "neutral": k_factor * thickness_mm}
    share = (
        (radius_mm + depth_of_line_mm[legs_are]) / (radius_mm + thickness_mm)
        if angle_deg > 0
        else 0.0
    )
    return BendUse(
        bend_allowance_mm=allowance_mm,
        outside_setback_mm=setback_mm,
        bend_deduction_mm=bend_deduction(
            outside_setback_mm=setback_mm, bend_allowance_mm=allowance_mm
        ),
        k_factor=k_factor,
        rule=rule,
        leg_setback_mm=setback_mm * share,
    )


def flat_length(
    *,
    thickness_mm: float,
    legs_mm: Sequence[float],
    bends: Sequence[FlatBend],
    legs_are: LegsAre = "outside",
) -> Flat:
    """The flat length of a constant-section part and its bend lines.

    Formula: straight part = leg - setbacks beside it; flat = sum of straight parts + sum of BA,
        which equals the sum of outside legs - sum of BD; a bend line is the centre of its BA zone.

    Args:
        thickness_mm: sheet thickness [mm], above 0.
        legs_mm: the legs in order [mm], one more than the bends.
        bends: the bends in order.
        legs_are: legs measured outside (mold line of the outer faces), inside (mold line of the
            inner faces) or to the neutral line.

    Returns: a `Flat`; all lengths [mm].

    Raises: ShopError `wrong_count`, `leg_too_short`, or what `use_of_bend` raises, with the place.

    References: definitions; worked in FAA-H-8083-31 (2012), ch. 4, and DIN 6935 (1975).

    >>> bend = FlatBend(bend_angle_deg=90.0, inside_radius_mm=2.0, k_factor=0.42)
    >>> flat = flat_length(thickness_mm=2.0, legs_mm=[50.0, 50.0], bends=[bend])
    >>> round(flat.flat_length_mm, 4), round(flat.bend_lines_mm[0], 4)
    (96.4611, 48.2305)
    """
    need_above("thickness_mm", thickness_mm, 0.0, "mm")
    if len(legs_mm) != len(bends) + 1:
        raise ShopError(
            "wrong_count",
            say(
                "{legs} legs do not go with {bends} bends.",
                legs=str(len(legs_mm)),
                bends=str(len(bends)),
            ),
            remedy="Give one more leg than bends.",
            where="legs_mm",
        )
    uses = []
    for index, bend in enumerate(bends):
        try:
            uses.append(use_of_bend(bend=bend, thickness_mm=thickness_mm, legs_are=legs_are))
        except ShopError as trouble:
            raise trouble.at(f"bends.{index}.{trouble.where}") from None
    straights = [_straight_mm(index, leg_mm, uses) for index, leg_mm in enumerate(legs_mm)]
    lines = []
    position_mm = 0.0
    for straight_mm, use in zip(straights, uses, strict=False):
        position_mm += straight_mm
        lines.append(position_mm + use.bend_allowance_mm / 2)
        position_mm += use.bend_allowance_mm
    outside = [
        straight_mm + sum(use.outside_setback_mm for use in uses[max(0, index - 1) : index + 1])
        for index, straight_mm in enumerate(straights)
    ]
    return Flat(
        flat_length_mm=position_mm + straights[-1],
        bend_lines_mm=tuple(lines),
        bends=tuple(uses),
        straights_mm=tuple(straights),
        outside_legs_mm=tuple(outside),
    )


def _rule_and_k(bend: FlatBend, thickness_mm: float) -> tuple[KRule, float]:
    if bend.k_factor is not None:
        if bend.rule in ("din6935", "faa"):
            raise ShopError(
                "two_rules",
                say("A K-factor and the rule {rule} were both given.", rule=bend.rule),
                remedy="Give one of them.",
                where="k_factor",
            )
        return "fixed", bend.k_factor
    if bend.rule == "fixed":
        raise ShopError(
            "k_factor_missing",
            "The rule 'fixed' needs a K-factor.",
            remedy="Give k_factor.",
            where="k_factor",
        )
    if bend.rule == "faa":
        return "faa", FAA_K_FACTOR
    k_factor = din6935_k_factor(inside_radius_mm=bend.inside_radius_mm, thickness_mm=thickness_mm)
    return "din6935", k_factor


def _straight_mm(index: int, leg_mm: float, uses: Sequence[BendUse]) -> float:
    need_above(f"legs_mm.{index}", leg_mm, 0.0, "mm")
    beside = uses[max(0, index - 1) : index + 1]
    straight_mm = leg_mm - math.fsum(use.leg_setback_mm for use in beside)
    if straight_mm < -SHORT_BY_ROUNDING_MM:
        raise ShopError(
            "leg_too_short",
            say(
                "Leg {number} is {leg}; the bends beside it already take {taken}.",
                number=str(index + 1),
                leg=Amount(leg_mm, "mm"),
                taken=Amount(leg_mm - straight_mm, "mm"),
            ),
            remedy="Lengthen the leg, or use a smaller inside radius.",
            where=f"legs_mm.{index}",
        )
    return max(0.0, straight_mm)
