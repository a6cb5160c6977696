"""The blank of a drawn profile in one pair of tools: what each bend takes, and what it weighs.

The flat belongs to the die it was worked out for.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from server.errors import Amount, Sentence, place, say
from server.findings import Finding, Given, Reason, sorted_by_level
from server.geometry.profile import Profile, Section
from server.mechanics.air_bend import AirBend, SpringbackGiven
from server.mechanics.bend_limits import DEFAULT_FLANGE_MARGIN, BendCase, check_bend
from server.mechanics.bump_bend import SMOOTH_STEP_DEG, bump_bend, bump_count
from server.mechanics.elementary import radians, tan
from server.mechanics.flat_length import BendUse, DimensionTo, Flat, LegsAre, flat_length
from server.mechanics.handling import sheet_mass
from server.mechanics.material import Material
from server.mechanics.tooling import Brake, Die, Punch
from server.planning.bend_way import (
    BentWay,
    Fit,
    bent_way,
    flat_bend_of,
    profile_of_bends,
)
from server.planning.bend_zone import whole_allowance, whole_radius
from server.planning.plan_task import ShapeBend, ToolPair, Way

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
BendKey = tuple[float, Way, float]
WAY_WORDS: Mapping[Way, str] = {
    "air": "air bent",
    "bottoming": "bottomed",
    "coining": "coined",
    "hem": "a hem",
    "offset": "an offset",
    "bump": "bumped",
}


@dataclass(frozen=True, slots=True)
class DrawnBend:
    """A bend as drawn; the sign says which side closes. No radius: as the die gives it.

    `way` is how it is made; `gap_mm` is left inside a hem, `step_deg` is the largest hit of a
    bumped bend, `outside_offset_mm` goes from outer face to opposite outer face of an offset.
    """

    bend_angle_deg: float
    inside_radius_mm: float | None = None
    dimension_to: DimensionTo | None = None
    way: Way = "air"
    gap_mm: float = 0.0
    step_deg: float = SMOOTH_STEP_DEG
    outside_offset_mm: float | None = None

    @property
    def zone_count(self) -> int:
        """How many bend zones it has on the sheet."""
        if self.way == "bump":
            return bump_count(bend_angle_deg=abs(self.bend_angle_deg), step_deg=self.step_deg)
        return 2 if self.way == "offset" else 1

    @property
    def shape_bend(self) -> ShapeBend:
        """The bend as the planner takes it."""
        angle_deg = self.bend_angle_deg
        return ShapeBend(
            bend_angle_deg=math.copysign(180.0, angle_deg) if self.way == "hem" else angle_deg,
            way=self.way,
            inside_radius_mm=self.inside_radius_mm,
            gap_mm=self.gap_mm,
            step_deg=self.step_deg,
            outside_offset_mm=self.outside_offset_mm,
            dimension_to=self.dimension_to,
        )


@dataclass(frozen=True, slots=True)
class DrawnProfile:
    """A constant-section part as drawn: legs and bends in a row, and its width along the bends."""

    width_mm: float
    legs_mm: tuple[float, ...]
    bends: tuple[DrawnBend, ...]
    legs_are: LegsAre = "outside"


@dataclass(frozen=True, slots=True)
class SheetInTools:
    """A sheet, its metal, one pair of tools, and what else its bends may need: a `BendTask`."""

    thickness_mm: float
    material: Material
    die: Die
    punch: Punch
    k_factor: float | None = None
    brake: Brake | None = None
    flange_margin: float = DEFAULT_FLANGE_MARGIN
    flattening: ToolPair | None = None
    offset_tools: ToolPair | None = None
    springback_deg: SpringbackGiven = "model"

    @property
    def fit(self) -> Fit:
        """The pair of tools."""
        return Fit(self.die, (self.punch,))


@dataclass(frozen=True, slots=True)
class BlankBend:
    """One bend of a blank: which side it closes to, how it is made, what it takes of the sheet.

    `inside_radius_mm` is the finished bend's, `minimum_flange_mm` without the shop's margin,
    `hit_count` how many strokes it takes.
    """

    signed_angle_deg: float
    way: Way
    use: BendUse
    inside_radius_mm: float
    minimum_flange_mm: float
    hit_count: int

    @property
    def key(self) -> BendKey:
        """The same for bends that take the same of the sheet for the same reasons."""
        return (abs(self.signed_angle_deg), self.way, round(self.use.bend_deduction_mm, 6))


@dataclass(frozen=True, slots=True)
class Blank:
    """The flat blank of a profile and everything it was worked out with.

    `profile` is the sheet as the geometry knows it: a bumped curve has a zone for each hit, an
    offset two; `line_of_bend_mm` is where each drawn bend's middle lies on the flat.
    """

    flat: Flat
    profile: Profile
    bends: tuple[BlankBend, ...]
    line_of_bend_mm: tuple[float, ...]
    width_mm: float
    area_mm2: float
    mass_kg: float
    findings: tuple[Finding, ...]

    @property
    def length_mm(self) -> float:
        """Flat length across the bends."""
        return self.profile.flat_length_mm


def profile_blank(*, drawn: DrawnProfile, sheet: SheetInTools) -> Blank:
    """The blank of a drawn profile bent in one pair of tools.

    The inside radius of every air bend is what the die gives, not what the drawing wishes; where
    they differ by more than half the thickness a caution says so.

    Raises: ShopError naming the leg or bend, from the formulas used.
    """
    shapes = [bend.shape_bend for bend in drawn.bends]
    bents = [
        bent_way(sheet, index, shape, drawn.width_mm, sheet.fit)
        for index, shape in enumerate(shapes)
    ]
    flat = flat_length(
        thickness_mm=sheet.thickness_mm,
        legs_mm=drawn.legs_mm,
        legs_are=drawn.legs_are,
        bends=[flat_bend_of(sheet, shape, bent) for shape, bent in zip(shapes, bents, strict=True)],
    )
    profile = profile_of_bends(
        thickness_mm=sheet.thickness_mm,
        width_mm=drawn.width_mm,
        straights_mm=flat.straights_mm,
        bends=shapes,
        bents=bents,
    )
    area_mm2 = profile.flat_length_mm * drawn.width_mm
    found: list[Finding] = []
    for index, (bend, bent) in enumerate(zip(drawn.bends, bents, strict=True)):
        flange_mm = _shorter_flange(flat, index, bent, sheet.thickness_mm)
        found += bend_findings(sheet, bend, bent, drawn.width_mm, flange_mm, index)
    return Blank(
        flat=flat,
        profile=profile,
        bends=tuple(
            blank_bend(shape, bent, use)
            for shape, bent, use in zip(shapes, bents, flat.bends, strict=True)
        ),
        line_of_bend_mm=_middles(profile, bents),
        width_mm=drawn.width_mm,
        area_mm2=area_mm2,
        mass_kg=sheet_mass(
            area_mm2=area_mm2,
            thickness_mm=sheet.thickness_mm,
            density_kg_m3=sheet.material.density_kg_m3,
        ),
        findings=sorted_by_level(once(found)),
    )


def blank_bend(shape: ShapeBend, bent: BentWay, use: BendUse) -> BlankBend:
    """What a blank keeps of one bend; an offset takes nothing of its legs and adds its own length."""
    if shape.way == "offset":
        own_mm = whole_allowance(shape, bent)
        use = replace(
            bent.use,
            bend_allowance_mm=own_mm,
            outside_setback_mm=0.0,
            leg_setback_mm=0.0,
            bend_deduction_mm=-own_mm,
        )
    return BlankBend(
        signed_angle_deg=shape.bend_angle_deg,
        way=shape.way,
        use=use,
        inside_radius_mm=whole_radius(shape, bent),
        minimum_flange_mm=max(hit.least_flange_mm for hit in bent.hits),
        hit_count=len(bent.hits),
    )


def bend_findings(
    sheet: SheetInTools,
    bend: DrawnBend,
    bent: BentWay,
    length_mm: float,
    flange_mm: float,
    index: int,
) -> Sequence[Finding]:
    """What speaks against one bend, by the numbers of its way of bending."""
    found = [replace(one, bend=index) for hit in bent.hits[:2] for one in hit.findings]
    first = bent.hits[0].air
    if bend.way == "air" and first is not None:
        return (
            *check_bend(_case(sheet, first, length_mm, flange_mm, index)),
            *_radius_wish(index, bend, first, sheet.thickness_mm, sheet.die),
        )
    if bend.way == "bump":
        found += bump_bend(
            thickness_mm=sheet.thickness_mm,
            bend_length_mm=length_mm,
            bend_angle_deg=abs(bend.bend_angle_deg),
            inside_radius_mm=bend.inside_radius_mm or 0.0,
            material=sheet.material,
            die=sheet.die,
            punch=sheet.punch,
            k_factor=bent.use.k_factor,
            step_deg=bend.step_deg,
            brake=sheet.brake,
            index=index,
        ).findings
    least_mm = max(hit.least_flange_mm for hit in bent.hits) * (1 + sheet.flange_margin)
    if flange_mm < least_mm - 1e-9:
        found.append(_too_short(bend.way, flange_mm, least_mm, sheet.die, index))
    return found


def _case(
    sheet: SheetInTools, air: AirBend, length_mm: float, flange_mm: float, index: int
) -> BendCase:
    return BendCase(
        bend=air,
        thickness_mm=sheet.thickness_mm,
        bend_length_mm=length_mm,
        material=sheet.material,
        die=sheet.die,
        punch=sheet.punch,
        brake=sheet.brake,
        flange_mm=flange_mm,
        flange_margin=sheet.flange_margin,
        index=index,
    )


def _too_short(way: Way, flange_mm: float, least_mm: float, die: Die, index: int) -> Finding:
    return Finding(
        "stop",
        "flange_too_short",
        say(
            "Bend {bend} is {way}: the flange beside it is {flange} and needs {least}.",
            bend=place(index),
            way=WAY_WORDS[way],
            flange=Amount(flange_mm, "mm"),
            least=Amount(least_mm, "mm"),
        ),
        say("Lengthen the flange, or use narrower tools."),
        source="what the tools have to hold, with the shop's margin",
        bend=index,
        tool=die.name,
        amount=Amount(least_mm - flange_mm, "mm"),
    )


def as_drawn(section: Section, bends: Sequence[DrawnBend]) -> Section:
    """A section whose legs and bends are the drawing's: a curve of many hits is one bend."""
    legs, arcs, first = [section.legs[0]], [], 0
    for index, bend in enumerate(bends):
        count = bend.zone_count
        hits = section.bends[first : first + count]
        arcs.append(replace(hits[count // 2], index=index, heading_deg=hits[0].heading_deg))
        first += count
        legs.append(replace(section.legs[first], index=index + 1))
    return replace(section, legs=tuple(legs), bends=tuple(arcs))


def _middles(profile: Profile, bents: Sequence[BentWay]) -> tuple[float, ...]:
    lines, middles, first = profile.bend_lines_mm, [], 0
    for bent in bents:
        last = first + len(bent.zones) - 1
        middles.append((lines[first] + lines[last]) / 2)
        first = last + 1
    return tuple(middles)


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
            reason_of_deduction(index, bend, thickness_mm, k, die)
            for index, bend in enumerate(blank.bends)
        ),
    )


def reason_of_deduction(
    index: int, bend: BlankBend, thickness_mm: float, k: KChoice, die: Die
) -> Reason:
    """Why one bend takes what it takes of the sheet."""
    rule, source = f"bend deduction with K from {k.source}", str(k.source)
    formula = "BD = 2 OSSB − BA, BA = (π/180) A (r + K t), OSSB = tan(A/2) (r + t)"
    if bend.way == "hem":
        rule, source = "deduction of a hem with K 0.5", "common practice, no source"
        formula = "BD = 2 (r + t) − π (r + K t), r = half the gap"
    if bend.way == "offset":
        rule, source = "an offset adds its own length to the legs", "plane geometry of two arcs"
        formula = "BD = −(2 BA + web)"
    return Reason(
        number=f"deduction of bend {index + 1}",
        result=Amount(bend.use.bend_deduction_mm, "mm"),
        rule=rule,
        formula=formula,
        given=(
            Given("A", "bend angle", Amount(abs(bend.signed_angle_deg), "deg")),
            Given("t", "thickness", Amount(thickness_mm, "mm")),
            Given("r", f"inside radius on {die.name}", Amount(bend.inside_radius_mm, "mm")),
            Given("K", "K-factor", Amount(bend.use.k_factor, "ratio")),
            Given("BA", "bend allowance", Amount(bend.use.bend_allowance_mm, "mm")),
            Given("OSSB", "outside setback", Amount(bend.use.outside_setback_mm, "mm")),
        ),
        source=source,
        sure=say("Shops differ 10 to 15 % in measured deductions (common practice, no source).")
        if k.come_from != "coupon"
        else say("Measured in this shop."),
    )


def apex_flange(*, straight_mm: float, air: AirBend, thickness_mm: float) -> float:
    """Outside flange to the apex [mm], whatever way the drawing dimensions it."""
    half = radians(min(air.bend_angle_deg, 175.0)) / 2
    return straight_mm + tan(half) * (air.inside_radius_mm + thickness_mm)


def _shorter_flange(flat: Flat, index: int, bent: BentWay, thickness_mm: float) -> float:
    """The shorter flange beside a bend.

    A leg between two bends counts in whole: its other bend may come later, the planner decides.
    """
    sides = []
    air = bent.hits[0].air
    for leg in (index, index + 1):
        is_end = leg in (0, len(flat.straights_mm) - 1)
        straight_mm = flat.straights_mm[leg] if is_end else flat.outside_legs_mm[leg]
        if bent.hits[-1].what == "flatten" or air is None:
            sides.append(straight_mm + bent.use.outside_setback_mm)
        else:
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


def once(found: Sequence[Finding]) -> Sequence[Finding]:
    """Each observation once: the same one on several bends keeps its first bend."""
    seen: set[tuple[str, str]] = set()
    kept = []
    for finding in found:
        key = (finding.code, str(finding.what))
        if key not in seen:
            seen.add(key)
            kept.append(finding)
    return kept
