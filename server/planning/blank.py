"""The blank of a drawn profile in one pair of tools: what each bend takes, and what it weighs.

The flat belongs to the die it was worked out for.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from server.errors import Amount, Sentence, ShopError, say
from server.findings import Finding, Given, Reason, sorted_by_level
from server.mechanics.air_bend import AirBend, air_bend
from server.mechanics.bend_limits import DEFAULT_FLANGE_MARGIN, BendCase, check_bend
from server.mechanics.elementary import radians, tan
from server.mechanics.flat_length import (
    BendUse,
    DimensionTo,
    Flat,
    FlatBend,
    LegsAre,
    flat_length,
)
from server.mechanics.handling import sheet_mass
from server.mechanics.material import Material
from server.mechanics.tooling import Brake, Die, Punch

KFrom = Literal["coupon", "revision", "material", "din6935"]


@dataclass(frozen=True, slots=True)
class KChoice:
    """The K-factor to use and where it comes from, in order of trust; None: DIN 6935's rule."""

    k_factor: float | None
    come_from: KFrom

    @property
    def source(self) -> Sentence:
        """Where the K-factor comes from, in words."""
        return say(
            {
                "coupon": "this shop's own measured strips",
                "revision": "set on this revision",
                "material": "the material's table",
                "din6935": "DIN 6935 rule: K = (0.65 + 0.5 log10(r/t)) / 2",
            }[self.come_from]
        )


DIN_K = KChoice(None, "din6935")


@dataclass(frozen=True, slots=True)
class DrawnBend:
    """A bend as drawn; the sign says which side closes. No radius: as the die gives it."""

    bend_angle_deg: float
    inside_radius_mm: float | None = None
    dimension_to: DimensionTo | None = None


@dataclass(frozen=True, slots=True)
class DrawnProfile:
    """A constant-section part as drawn: legs and bends in a row, and its width along the bends."""

    width_mm: float
    legs_mm: tuple[float, ...]
    bends: tuple[DrawnBend, ...]
    legs_are: LegsAre = "outside"


@dataclass(frozen=True, slots=True)
class BlankBend:
    """One bend of a blank: which side it closes to, how it air bends, what it takes of the sheet."""

    signed_angle_deg: float
    air: AirBend
    use: BendUse


@dataclass(frozen=True, slots=True)
class Blank:
    """The flat blank of a profile and everything it was worked out with."""

    flat: Flat
    bends: tuple[BlankBend, ...]
    width_mm: float
    area_mm2: float
    mass_kg: float
    findings: tuple[Finding, ...]

    @property
    def length_mm(self) -> float:
        """Flat length across the bends."""
        return self.flat.flat_length_mm


def profile_blank(
    *,
    drawn: DrawnProfile,
    thickness_mm: float,
    material: Material,
    die: Die,
    punch: Punch,
    k: KChoice = DIN_K,
    brake: Brake | None = None,
    flange_margin: float = DEFAULT_FLANGE_MARGIN,
) -> Blank:
    """The blank of a drawn profile air bent in one pair of tools.

    The inside radius of every bend is what the die gives, not what the drawing wishes; where they
    differ by more than half the thickness a caution says so.

    Raises: ShopError naming the leg or bend, from the formulas used.
    """
    airs = [
        _air_bend(index, bend, drawn, thickness_mm, material, die, punch)
        for index, bend in enumerate(drawn.bends)
    ]
    flat = flat_length(
        thickness_mm=thickness_mm,
        legs_mm=drawn.legs_mm,
        legs_are=drawn.legs_are,
        bends=[
            FlatBend(
                bend_angle_deg=bend.bend_angle_deg,
                inside_radius_mm=air.inside_radius_mm,
                k_factor=k.k_factor,
                dimension_to=bend.dimension_to,
            )
            for bend, air in zip(drawn.bends, airs, strict=True)
        ],
    )
    area_mm2 = flat.flat_length_mm * drawn.width_mm
    found: list[Finding] = []
    for index, (bend, air) in enumerate(zip(drawn.bends, airs, strict=True)):
        flange_mm = _shorter_flange(flat, index, air, thickness_mm)
        found += check_bend(
            BendCase(
                bend=air,
                thickness_mm=thickness_mm,
                bend_length_mm=drawn.width_mm,
                material=material,
                die=die,
                punch=punch,
                brake=brake,
                flange_mm=flange_mm,
                flange_margin=flange_margin,
                index=index,
            )
        )
        found += _radius_wish(index, bend, air, thickness_mm, die)
    return Blank(
        flat=flat,
        bends=tuple(
            BlankBend(bend.bend_angle_deg, air, use)
            for bend, air, use in zip(drawn.bends, airs, flat.bends, strict=True)
        ),
        width_mm=drawn.width_mm,
        area_mm2=area_mm2,
        mass_kg=sheet_mass(
            area_mm2=area_mm2,
            thickness_mm=thickness_mm,
            density_kg_m3=material.density_kg_m3,
        ),
        findings=sorted_by_level(_once(found)),
    )


def reasons_of_blank(
    *, blank: Blank, thickness_mm: float, k: KChoice, die: Die
) -> tuple[Reason, ...]:
    """Why the flat length is what it is: the whole, then each bend's deduction."""
    total = Reason(
        number="flat length",
        result=Amount(blank.length_mm, "mm"),
        rule="outside legs less one deduction for each bend",
        formula="flat = sum of outside legs − sum of BD",
        given=(
            *(
                Given(f"leg {index + 1}", "outside leg", Amount(leg, "mm"))
                for index, leg in enumerate(blank.flat.outside_legs_mm)
            ),
            *(
                Given(f"BD {index + 1}", "deduction", Amount(bend.use.bend_deduction_mm, "mm"))
                for index, bend in enumerate(blank.bends)
            ),
        ),
        source="definition of the bend deduction",
        sure=say("As sure as the deductions; measured strips win over any rule."),
    )
    return (
        total,
        *(
            _reason_of_deduction(index, bend, thickness_mm, k, die)
            for index, bend in enumerate(blank.bends)
        ),
    )


def _reason_of_deduction(
    index: int, bend: BlankBend, thickness_mm: float, k: KChoice, die: Die
) -> Reason:
    return Reason(
        number=f"deduction of bend {index + 1}",
        result=Amount(bend.use.bend_deduction_mm, "mm"),
        rule=f"bend deduction with K from {k.source}",
        formula="BD = 2 OSSB − BA, BA = (π/180) A (r + K t), OSSB = tan(A/2) (r + t)",
        given=(
            Given("A", "bend angle", Amount(bend.air.bend_angle_deg, "deg")),
            Given("t", "thickness", Amount(thickness_mm, "mm")),
            Given("r", f"inside radius on {die.name}", Amount(bend.air.inside_radius_mm, "mm")),
            Given("K", "K-factor", Amount(bend.use.k_factor, "ratio")),
            Given("BA", "bend allowance", Amount(bend.use.bend_allowance_mm, "mm")),
            Given("OSSB", "outside setback", Amount(bend.use.outside_setback_mm, "mm")),
        ),
        source=str(k.source),
        sure=say("Shops differ 10 to 15 % in measured deductions (common practice, no source).")
        if k.come_from != "coupon"
        else say("Measured in this shop."),
    )


def _air_bend(
    index: int,
    bend: DrawnBend,
    drawn: DrawnProfile,
    thickness_mm: float,
    material: Material,
    die: Die,
    punch: Punch,
) -> AirBend:
    try:
        return air_bend(
            thickness_mm=thickness_mm,
            bend_length_mm=drawn.width_mm,
            bend_angle_deg=abs(bend.bend_angle_deg),
            material=material,
            die=die,
            punch=punch,
        )
    except ShopError as trouble:
        raise trouble.at(f"bends.{index}.{trouble.where or 'bend_angle_deg'}") from None


def apex_flange(*, straight_mm: float, air: AirBend, thickness_mm: float) -> float:
    """Outside flange to the apex [mm], whatever way the drawing dimensions it."""
    half = radians(min(air.bend_angle_deg, 175.0)) / 2
    return straight_mm + tan(half) * (air.inside_radius_mm + thickness_mm)


def _shorter_flange(flat: Flat, index: int, air: AirBend, thickness_mm: float) -> float:
    """The shorter flange beside a bend.

    A leg between two bends counts in whole: its other bend may come later, the planner decides.
    """
    sides = []
    for leg in (index, index + 1):
        is_end = leg in (0, len(flat.straights_mm) - 1)
        straight_mm = flat.straights_mm[leg] if is_end else flat.outside_legs_mm[leg]
        sides.append(apex_flange(straight_mm=straight_mm, air=air, thickness_mm=thickness_mm))
    return min(sides)


def _radius_wish(
    index: int, bend: DrawnBend, air: AirBend, thickness_mm: float, die: Die
) -> Sequence[Finding]:
    wish = bend.inside_radius_mm
    if wish is None or abs(wish - air.inside_radius_mm) <= thickness_mm / 2:
        return ()
    return (
        Finding(
            "caution",
            "radius_not_as_drawn",
            say(
                "The drawing asks for an inside radius of {wish}; {die} gives {radius}.",
                wish=Amount(wish, "mm"),
                die=die.name,
                radius=Amount(air.inside_radius_mm, "mm"),
            ),
            say("Choose another V, or agree on the radius."),
            source="air bending takes its radius from the V",
            bend=index,
        ),
    )


def _once(found: Sequence[Finding]) -> Sequence[Finding]:
    """Each observation once: the same one on several bends keeps its first bend."""
    seen: set[tuple[str, str]] = set()
    kept = []
    for finding in found:
        key = (finding.code, str(finding.what))
        if key not in seen:
            seen.add(key)
            kept.append(finding)
    return kept
