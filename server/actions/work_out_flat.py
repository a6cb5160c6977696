"""Working out a drawn flat part with the shop's own metals and tools. Reads only."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
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
from server.geometry.part import FlatPart, checked_part
from server.geometry.plain_part import flat_part_of, plain_of_flat_part
from server.geometry.zoned_part import Zone, zone_of, zoned_part
from server.mechanics.material import Material as SheetMetal
from server.mechanics.tooling import Die, Punch
from server.mechanics.v_opening import RankedDie
from server.planning.blank import DrawnBend, KChoice, SheetInTools
from server.planning.drawn_flat import (
    BracketSizes,
    DrawnFlat,
    DrawnFlatPart,
    PanelSizes,
    Pattern,
    SteppedSizes,
)
from server.planning.drawn_part import bend_of_plain, plain_bend
from server.planning.flat_blank import FlatBlank, flat_blank, flat_shape
from server.planning.plan_task import FlatShape
from server.storage.database import Session
from server.storage.queries.material import get_material, sheet_metal


@dataclass(frozen=True, slots=True)
class WorkedFlat:
    """A drawn flat part worked out: metal, tools, blank, and what speaks against it."""

    part: DrawnFlatPart
    metal: SheetMetal
    die: Die
    punch: Punch
    k: KChoice
    blank: FlatBlank
    ranked_dies: tuple[RankedDie, ...]
    findings: tuple[Finding, ...]


def work_out_flat(session: Session, part: DrawnFlatPart, *, flange_margin: float) -> WorkedFlat:
    """Work out a drawn flat part.

    Raises: ShopError `not_found` for its material or tools, or what geometry and formulas say of a
        dimension, a line, a cut-out, a face or a bend.
    """
    box = read_toolbox(session)
    metal = sheet_metal(get_material(session, part.material_code), thickness_mm=part.thickness_mm)
    tools = choose_tools(box, part, _to_serve(part.flat), metal, flange_margin=flange_margin)
    k = k_choice(session, part, metal, tools.die)
    blank = flat_blank(
        part.flat,
        SheetInTools(
            thickness_mm=part.thickness_mm,
            material=metal,
            die=tools.die,
            punch=tools.punch,
            k_factor=k.k_factor,
            brake=tools.brake,
            flange_margin=flange_margin,
            flattening=box.flattening,
            offset_tools=offset_pair(box.offset_tools, drawn_bends(part.flat), part.thickness_mm),
        ),
    )
    return WorkedFlat(
        part=part,
        metal=metal,
        die=tools.die,
        punch=tools.punch,
        k=k,
        blank=blank,
        ranked_dies=tools.ranked_dies,
        findings=sorted_by_level((*blank.findings, *tools.findings)),
    )


def plain_flat_faces(blank: FlatBlank) -> dict[str, Any]:
    """A blank's general part as plain values, each bend with the way it is made."""
    plain = plain_of_flat_part(blank.part)
    for index, (line, bend) in enumerate(zip(plain["bends"], blank.drawn_bends, strict=True)):
        line["way"] = plain_bend(bend)
        if bend.zone_count > 1:
            line["zones"] = [asdict(zone) for zone in blank.zones[index]]
    return plain


def part_of_faces(faces: Mapping[str, Any]) -> FlatPart:
    """The checked part of any released revision, a flat part's with the zones of its bends.

    Raises: ShopError when what is stored is no part.
    """
    part = checked_part(flat_part_of(faces))
    if not any("zones" in line for line in faces["bends"]):
        return part
    zones = [
        [Zone(**zone) for zone in line["zones"]] if "zones" in line else [zone_of(bend)]
        for line, bend in zip(faces["bends"], part.bends, strict=True)
    ]
    return zoned_part(part, zones).part


def shape_of_faces(faces: Mapping[str, Any]) -> FlatShape:
    """A released flat part as the planner takes it."""
    part = flat_part_of(faces)
    bends: list[DrawnBend] = [bend_of_plain(line["way"]) for line in faces["bends"]]
    return flat_shape(part, bends)


def _to_serve(flat: DrawnFlat) -> ToServe:
    """The bends tools have to serve; their flanges are judged by the blank, which knows the faces."""
    bends = drawn_bends(flat)
    angles = {angle for bend in bends if (angle := served_angle(bend)) is not None}
    leg_mm = None if any(bend.way == "hem" for bend in bends) else _shortest_leg(flat)
    return ToServe(
        bends=tuple((angle_deg, leg_mm) for angle_deg in sorted(angles)),
        bend_length_mm=_longest_line(flat),
        inside_radius_mm=wished_radius(bends),
    )


def drawn_bends(flat: DrawnFlat) -> tuple[DrawnBend, ...]:
    """Every different bend a drawing asks for."""
    if isinstance(flat.form, Pattern):
        return tuple(line.bend for line in flat.form.lines)
    return (flat.bend,)


def _shortest_leg(flat: DrawnFlat) -> float | None:
    """The shortest outside leg that ends at an edge, where the dimensions name it."""
    match flat.form:
        case PanelSizes():
            ends = [wall.return_mm or wall.height_mm for wall in flat.form.walls]
        case BracketSizes():
            ends = [tab.height_mm for tab in flat.form.tabs]
        case SteppedSizes():
            ends = [height for _, height in flat.form.steps]
        case Pattern():
            return None
    return min((end for end in ends if end > 0.0), default=None)


def _longest_line(flat: DrawnFlat) -> float:
    match flat.form:
        case PanelSizes():
            return max(flat.form.width_mm, flat.form.depth_mm)
        case BracketSizes():
            return max(sum(tab.end_mm - tab.start_mm for tab in flat.form.tabs), 1.0)
        case SteppedSizes():
            return max(sum(length for length, _ in flat.form.steps), 1.0)
        case Pattern():
            us = [u for u, _ in flat.form.outline_mm] or [0.0]
            vs = [v for _, v in flat.form.outline_mm] or [0.0]
            return max(max(us) - min(us), max(vs) - min(vs), 1.0)
