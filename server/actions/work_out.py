"""Working out a drawn profile with the shop's own metals and tools. Reads only."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from server.actions.tool_choice import (
    ToServe,
    choose_tools,
    k_choice,
    offset_pair,
    read_toolbox,
    served_angle,
    wished_radius,
)
from server.findings import Finding, sorted_by_level
from server.geometry.plain_part import flat_part_of, plain_of_flat_part
from server.geometry.profile import (
    Profile,
    ProfileBend,
    Section,
    flat_part,
    section_outline,
)
from server.mechanics.material import Material as SheetMetal
from server.mechanics.tooling import Die, Punch
from server.mechanics.v_opening import RankedDie
from server.planning.blank import Blank, KChoice, SheetInTools, profile_blank
from server.planning.drawn_part import DrawnPart
from server.storage.database import Session
from server.storage.queries.material import get_material, sheet_metal


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
        return self.blank.profile


def work_out(session: Session, part: DrawnPart, *, flange_margin: float) -> WorkedOut:
    """Work out a drawn part.

    Raises: ShopError `not_found` for its material or tools, or what the formulas say of a leg.
    """
    box = read_toolbox(session)
    metal = sheet_metal(get_material(session, part.material_code), thickness_mm=part.thickness_mm)
    tools = choose_tools(box, part, _to_serve(part), metal, flange_margin=flange_margin)
    k = k_choice(session, part, metal, tools.die)
    blank = profile_blank(
        drawn=part.profile,
        sheet=SheetInTools(
            thickness_mm=part.thickness_mm,
            material=metal,
            die=tools.die,
            punch=tools.punch,
            k_factor=k.k_factor,
            brake=tools.brake,
            flange_margin=flange_margin,
            flattening=box.flattening,
            offset_tools=offset_pair(box.offset_tools, part.profile.bends, part.thickness_mm),
        ),
    )
    return WorkedOut(
        part=part,
        metal=metal,
        die=tools.die,
        punch=tools.punch,
        k=k,
        blank=blank,
        section=section_outline(blank.profile),
        ranked_dies=tools.ranked_dies,
        findings=sorted_by_level((*blank.findings, *tools.findings)),
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


def _to_serve(part: DrawnPart) -> ToServe:
    """Each bend's angle with its end leg; legs between bends are left to the planner.

    A leg dimensioned to the tangent plane is judged by the blank, which knows the radius.
    """
    legs, last = part.profile.legs_mm, len(part.profile.legs_mm) - 1
    served: list[tuple[float, float | None]] = []
    for index, bend in enumerate(part.profile.bends):
        angle_deg = served_angle(bend)
        if angle_deg is None:
            continue
        ends = [legs[leg] for leg in (index, index + 1) if leg in (0, last)]
        to_apex = bend.way != "hem" and (angle_deg <= 90.0 or bend.dimension_to == "apex")
        served.append((angle_deg, min(ends) if ends and to_apex else None))
    return ToServe(
        bends=tuple(served),
        bend_length_mm=part.profile.width_mm,
        inside_radius_mm=wished_radius(part.profile.bends),
    )
