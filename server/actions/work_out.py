"""Working out a drawn part with the shop's own metals and tools. Reads only."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from server.errors import ShopError, say
from server.findings import Finding, sorted_by_level
from server.geometry.plain_part import flat_part_of, plain_of_flat_part
from server.geometry.profile import (
    Profile,
    ProfileBend,
    Section,
    flat_part,
    section_outline,
)
from server.mechanics.inside_radius import loaded_inside_radius
from server.mechanics.material import Material as SheetMetal
from server.mechanics.tooling import Brake, Die, Punch
from server.mechanics.v_opening import RankedDie, VWish, advised_v_opening, rank_dies
from server.planning.blank import DIN_K, Blank, KChoice, profile_blank
from server.planning.drawn_part import DrawnPart
from server.storage.database import Session
from server.storage.queries.brake import brake_of, list_brakes
from server.storage.queries.coupon import find_coupon
from server.storage.queries.material import get_material, sheet_metal
from server.storage.queries.tool import (
    die_of,
    list_dies_with_segments,
    list_punches_with_segments,
    punch_of,
)


@dataclass(frozen=True, slots=True)
class Toolbox:
    """The punches, dies and brakes a shop owns, read once."""

    punches: tuple[Punch, ...]
    dies: tuple[Die, ...]
    brakes: tuple[Brake, ...]


@dataclass(frozen=True, slots=True)
class WorkedOut:
    """A drawn part worked out: metal, tools, flat, section, and what speaks against it."""

    part: DrawnPart
    metal: SheetMetal
    die: Die
    punch: Punch
    k: KChoice
    blank: Blank
    section: Section
    ranked_dies: tuple[RankedDie, ...]
    findings: tuple[Finding, ...]

    @property
    def profile(self) -> Profile:
        """The part as the geometry's profile."""
        return geometry_of(self.blank, self.part.thickness_mm)


def read_toolbox(session: Session) -> Toolbox:
    """Everything the shop owns that bends, in five queries whatever its size."""
    return Toolbox(
        punches=tuple(punch_of(*entry) for entry in list_punches_with_segments(session)),
        dies=tuple(die_of(*entry) for entry in list_dies_with_segments(session)),
        brakes=tuple(brake_of(row) for row in list_brakes(session)),
    )


def work_out(session: Session, part: DrawnPart, *, flange_margin: float) -> WorkedOut:
    """Work out a drawn part.

    Raises: ShopError `not_found` for its material or tools, or what the formulas say of a leg.
    """
    box = read_toolbox(session)
    metal = sheet_metal(get_material(session, part.material_code), thickness_mm=part.thickness_mm)
    brake = box.brakes[0] if box.brakes else None
    widest_deg = max((abs(bend.bend_angle_deg) for bend in part.profile.bends), default=90.0)
    punch, punch_notes = _punch(part, box, metal, widest_deg)
    wish = VWish(
        thickness_mm=part.thickness_mm,
        bend_length_mm=part.profile.width_mm,
        bend_angle_deg=widest_deg,
        material=metal,
        punch=punch,
        brake=brake,
        others=_bends_to_serve(part),
        inside_radius_mm=_wished_radius(part),
        flange_margin=flange_margin,
    )
    ranked = rank_dies(wish=wish, dies=box.dies)
    die, die_notes = _die(part, box, ranked, metal)
    k = k_choice(session, part, metal, die=die, punch=punch)
    blank = profile_blank(
        drawn=part.profile,
        thickness_mm=part.thickness_mm,
        material=metal,
        die=die,
        punch=punch,
        k=k,
        brake=brake if box.dies and box.punches else None,
        flange_margin=flange_margin,
    )
    return WorkedOut(
        part=part,
        metal=metal,
        die=die,
        punch=punch,
        k=k,
        blank=blank,
        section=section_outline(geometry_of(blank, part.thickness_mm)),
        ranked_dies=ranked,
        findings=sorted_by_level((*blank.findings, *punch_notes, *die_notes)),
    )


def geometry_of(blank: Blank, thickness_mm: float) -> Profile:
    """A blank as the geometry's profile, each bend with its own radius and allowance."""
    return Profile(
        thickness_mm=thickness_mm,
        width_mm=blank.width_mm,
        straights_mm=blank.flat.straights_mm,
        bends=tuple(
            ProfileBend(
                bend_angle_deg=bend.signed_angle_deg,
                inside_radius_mm=bend.air.inside_radius_mm,
                allowance_mm=bend.use.bend_allowance_mm,
            )
            for bend in blank.bends
        ),
    )


def plain_faces(profile: Profile) -> dict[str, Any]:
    """A profile's general part as plain values, with the straights its section is drawn from."""
    return {
        **plain_of_flat_part(flat_part(profile)),
        "straights_mm": list(profile.straights_mm),
        "width_mm": profile.width_mm,
    }


def section_of_faces(faces: Mapping[str, Any]) -> Section | None:
    """The folded section of a released profile; None for a part that is not a profile."""
    profile = profile_of_faces(faces)
    return section_outline(profile) if profile else None


def profile_of_faces(faces: Mapping[str, Any]) -> Profile | None:
    """The profile that `plain_faces` wrote; None for a part that is not a profile."""
    if "straights_mm" not in faces:
        return None
    part = flat_part_of(faces)
    return Profile(
        thickness_mm=part.thickness_mm,
        width_mm=float(faces["width_mm"]),
        straights_mm=tuple(float(straight) for straight in faces["straights_mm"]),
        bends=tuple(
            ProfileBend(bend.bend_angle_deg, bend.inside_radius_mm, bend.allowance_mm)
            for bend in part.bends
        ),
    )


def k_choice(
    session: Session, part: DrawnPart, metal: SheetMetal, *, die: Die, punch: Punch
) -> KChoice:
    """The K-factor to use, in order of trust: strips, revision, material table, DIN 6935."""
    coupon = find_coupon(
        session,
        material_code=part.material_code,
        thickness_mm=part.thickness_mm,
        v_opening_mm=die.v_opening_mm,
    )
    del punch
    if coupon is not None:
        return KChoice(coupon.k_factor, "coupon")
    if part.k_factor is not None:
        return KChoice(part.k_factor, "revision")
    if metal.k_factor is not None:
        return KChoice(metal.k_factor, "material")
    return DIN_K


def _bends_to_serve(part: DrawnPart) -> tuple[tuple[float, float | None], ...]:
    """Each bend's angle with its end leg; legs between bends are left to the planner.

    A leg dimensioned to the tangent plane is judged by the blank, which knows the radius.
    """
    legs, last = part.profile.legs_mm, len(part.profile.legs_mm) - 1
    served: list[tuple[float, float | None]] = []
    for index, bend in enumerate(part.profile.bends):
        angle_deg = abs(bend.bend_angle_deg)
        ends = [legs[leg] for leg in (index, index + 1) if leg in (0, last)]
        to_apex = angle_deg <= 90.0 or bend.dimension_to == "apex"
        served.append((angle_deg, min(ends) if ends and to_apex else None))
    return tuple(served)


def _wished_radius(part: DrawnPart) -> float | None:
    wishes = [b.inside_radius_mm for b in part.profile.bends if b.inside_radius_mm is not None]
    return sum(wishes) / len(wishes) if wishes else None


def _punch(
    part: DrawnPart, box: Toolbox, metal: SheetMetal, widest_deg: float
) -> tuple[Punch, tuple[Finding, ...]]:
    if part.punch_code is not None:
        named = next((punch for punch in box.punches if punch.name == part.punch_code), None)
        if named is None:
            raise _no_tool("punch", part.punch_code)
        return named, ()
    closes_to = 180.0 - widest_deg - 4.0
    natural_mm = loaded_inside_radius(
        punch_tip_radius_mm=0.0,
        radius_ratio=metal.radius_ratio,
        v_opening_mm=advised_v_opening(thickness_mm=part.thickness_mm),
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
    part: DrawnPart, box: Toolbox, ranked: tuple[RankedDie, ...], metal: SheetMetal
) -> tuple[Die, tuple[Finding, ...]]:
    if part.die_code is not None:
        named = next((die for die in box.dies if die.name == part.die_code), None)
        if named is None:
            raise _no_tool("die", part.die_code)
        return named, ()
    if ranked:
        return ranked[0].die, ()
    del metal
    v_mm = advised_v_opening(thickness_mm=part.thickness_mm)
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
