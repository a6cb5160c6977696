"""What one bend takes of a flat part: as one zone as it is drawn, in zones as it is made or folded."""

import math
from dataclasses import replace

from server.geometry.zoned_part import Zone, spread
from server.planning.bend_way import BentWay
from server.planning.plan_task import ShapeBend


def whole_allowance(bend: ShapeBend, bent: BentWay) -> float:
    """The sheet between the flat faces beside a bend [mm]: an offset's with its web."""
    if bend.way == "offset":
        own_mm = math.fsum(zone_mm for zone_mm, _ in bent.zones)
        return own_mm + math.fsum(bent.straights_mm)
    return bent.use.bend_allowance_mm


def whole_radius(bend: ShapeBend, bent: BentWay) -> float:
    """Inside radius of the finished bend [mm]: the whole curve's of a bumped one."""
    if bend.way == "bump" and bend.inside_radius_mm is not None:
        return bend.inside_radius_mm
    return bent.zones[0][1][-1][1].inside_radius_mm


def planned_zones(bent: BentWay) -> tuple[Zone, ...]:
    """The zones of a bend as its strokes make them, each with room for all its states."""
    rooms = [max(state.arc_mm for _, state in states) for _, states in bent.zones]
    return _zones(bent, rooms)


def folded_zones(bend: ShapeBend, bent: BentWay) -> tuple[Zone, ...]:
    """The zones of a bend as it is in the end."""
    sign = math.copysign(1.0, bend.bend_angle_deg) * math.copysign(
        1.0, bent.zones[0][1][-1][1].angle_deg
    )
    return tuple(
        replace(zone, bend_angle_deg=sign * zone.bend_angle_deg)
        for zone in _zones(bent, [states[-1][1].arc_mm for _, states in bent.zones])
    )


def smooth_zones(bend: ShapeBend, bent: BentWay) -> tuple[Zone, ...]:
    """As `folded_zones`, a bumped curve as one smooth zone."""
    if bend.way == "offset":
        return folded_zones(bend, bent)
    room_mm = whole_allowance(bend, bent)
    return (Zone(0.0, bend.bend_angle_deg, whole_radius(bend, bent), room_mm),)


def _zones(bent: BentWay, rooms_mm: list[float]) -> tuple[Zone, ...]:
    return tuple(
        Zone(at_mm, states[-1][1].angle_deg, states[-1][1].inside_radius_mm, room_mm)
        for at_mm, room_mm, (_, states) in zip(
            spread(rooms_mm, bent.straights_mm), rooms_mm, bent.zones, strict=True
        )
    )
