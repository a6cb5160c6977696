"""A part in chosen dies: its sheet, its strokes, and what each bend zone looks like after them.

A blank belongs to the dies it was worked out for: inside radius and allowance of every bend come
from its die. Neighbouring hits of one bumped radius count as straight for each other.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from server.findings import Finding
from server.geometry.part import BendLine, FlatPart, checked_part, flat_area, stroke_groups
from server.geometry.profile import Profile
from server.geometry.zoned_part import ZonedPart, zoned_part
from server.mechanics.flat_length import BendUse, flat_length
from server.mechanics.handling import sheet_mass
from server.mechanics.inside_radius import loaded_inside_radius
from server.mechanics.tooling import Die, Punch
from server.planning.bend_way import (
    BentWay,
    Fit,
    ZoneState,
    bent_way,
    flat_bend_of,
    profile_of_bends,
)
from server.planning.bend_zone import planned_zones, whole_allowance, whole_radius
from server.planning.plan_task import (
    FlatShape,
    PlanTask,
    ProfileShape,
    pairs_in_order,
    shape_bends,
)
from server.planning.still_stroke import with_still
from server.planning.stroke import Stroke, stroke_of_hit

MOST_LONE_ZONES = 2
"""An offset has two zones, neighbouring hits of a curve with more count as straight for each other."""


@dataclass(frozen=True, slots=True)
class Making:
    """A part in chosen dies: the sheet, its strokes, and what each zone looks like after them.

    `zone_states[zone]` lists (stroke, state) in the order its strokes are made; `mates[zone]` are
    zones of the same bumped radius; `bend_of_zone` is the shape's bend each zone is of. The zone of a
    flat part's hem has room for the acute hit, which takes more of the sheet than the closed fold.
    """

    sheet: Profile | FlatPart
    strokes: tuple[Stroke, ...]
    zone_states: tuple[tuple[tuple[int, ZoneState], ...], ...]
    mates: tuple[frozenset[int], ...]
    uses: tuple[BendUse, ...]
    mass_kg: float
    flat_length_mm: float | None
    bend_of_zone: tuple[int, ...]
    bend_of_strip: tuple[int, ...] = ()

    def bend_of_face(self, face: int) -> int | None:
        """The bend a narrow strip lies in, None for a face of the part."""
        assert isinstance(self.sheet, FlatPart)
        strip = face - len(self.sheet.faces) + len(self.bend_of_strip)
        return self.bend_of_strip[strip] if strip >= 0 else None

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What the strokes carry by themselves, whatever the order."""
        return tuple(finding for stroke in self.strokes for finding in stroke.findings)


def fits_of_die(task: PlanTask, die: Die) -> tuple[Fit, ...]:
    """The task's punches over a die, together where they give the same inside radius.

    Bottomed bends and hems take radius and angle from the punch itself: each punch stands alone.
    """
    alone = any(bend.way in ("bottoming", "coining", "hem") for bend in shape_bends(task))
    groups: dict[tuple[float, str], list[Punch]] = {}
    for punch in task.punches:
        natural_mm = loaded_inside_radius(
            punch_tip_radius_mm=punch.tip_radius_mm,
            radius_ratio=task.material.radius_ratio,
            v_opening_mm=die.v_opening_mm,
        )
        key = (round(natural_mm, 9), punch.name if alone else "")
        groups.setdefault(key, []).append(punch)
    return tuple(Fit(die, tuple(punches)) for punches in groups.values())


def make(task: PlanTask, fits: Sequence[Fit]) -> Making:
    """The part with each bend in its fit.

    Raises: ShopError from the mechanics or the geometry, `where` naming leg, face or bend.
    """
    if isinstance(task.shape, ProfileShape):
        return _make_profile(task, task.shape, fits)
    return _make_flat(task, task.shape, fits)


def punch_height(punch: Punch) -> float:
    """Height of a punch [mm], from its profile when none is given."""
    return punch.height_mm or max((y for _, y in punch.profile_mm), default=0.0)


def die_height(die: Die) -> float:
    """Height of a die [mm], from its profile when none is given."""
    return die.height_mm or -min((y for _, y in die.profile_mm), default=0.0)


def open_tip_height(task: PlanTask, punch: Punch, die: Die) -> float:
    """Height of the punch tip above the die top with the ram on top [mm].

    The brake's opening is between ram and bed without tools.
    """
    return task.brake.opening_mm - punch_height(punch) - die_height(die)


def _make_profile(task: PlanTask, shape: ProfileShape, fits: Sequence[Fit]) -> Making:
    bents = [
        bent_way(task, index, bend, shape.width_mm, fits[index])
        for index, bend in enumerate(shape.bends)
    ]
    flat = flat_length(
        thickness_mm=task.thickness_mm,
        legs_mm=shape.legs_mm,
        legs_are=shape.legs_are,
        bends=[
            flat_bend_of(task, bend, bent) for bend, bent in zip(shape.bends, bents, strict=True)
        ],
    )
    sheet = profile_of_bends(
        thickness_mm=task.thickness_mm,
        width_mm=shape.width_mm,
        straights_mm=flat.straights_mm,
        bends=shape.bends,
        bents=bents,
    )
    states: list[tuple[tuple[int, ZoneState], ...]] = []
    mates: list[frozenset[int]] = []
    strokes: list[Stroke] = []
    for index, bent in enumerate(bents):
        first_zone = len(states)
        own = frozenset(range(first_zone, first_zone + len(bent.zones)))
        made = _strokes_of(task, index, bent, first_zone, len(strokes), shape.width_mm, fits[index])
        for number, (_, states_of_zone) in enumerate(bent.zones):
            states.append(_states_of_zone(states_of_zone, first_zone + number, made))
            alone = len(own) <= MOST_LONE_ZONES
            mates.append(frozenset() if alone else own - {first_zone + number})
        if shape.bends[index].way == "bump":
            run_mask = sum(1 << one.index for one in made)
            made = [replace(one, run_mask=run_mask) for one in made]
        strokes += made
    area_mm2 = sheet.flat_length_mm * shape.width_mm
    lying = with_still(task, sheet, strokes, shape.bends)
    bend_of_zone = tuple(index for index, bent in enumerate(bents) for _ in bent.zones)
    return _finished(task, sheet, lying, states, mates, flat.bends, area_mm2, bend_of_zone)


def _make_flat(task: PlanTask, shape: FlatShape, fits: Sequence[Fit]) -> Making:
    lengths = [math.dist(*one.line_mm) for one in shape.bends]
    bents = [
        bent_way(task, index, one.bend, max(lengths[index], 1e-6), fits[index])
        for index, one in enumerate(shape.bends)
    ]
    part = checked_part(
        FlatPart(
            task.thickness_mm,
            shape.faces,
            tuple(
                BendLine(
                    one.line_mm,
                    one.faces,
                    one.bend.bend_angle_deg,
                    whole_radius(one.bend, bent),
                    whole_allowance(one.bend, bent),
                )
                for one, bent in zip(shape.bends, bents, strict=True)
            ),
        )
    )
    zoned = zoned_part(part, [planned_zones(bent) for bent in bents])
    strokes: list[Stroke] = []
    states: list[list[tuple[int, ZoneState]]] = [[] for _ in zoned.part.bend_of_zone]
    mates: list[frozenset[int]] = [frozenset()] * len(states)
    for group in _groups(part, shape, split=task.split_groups):
        lead = group[0]
        total_mm = math.fsum(lengths[bend] for bend in group)
        bent = bents[lead]
        if len(group) > 1:
            bent = bent_way(task, lead, shape.bends[lead].bend, total_mm, fits[lead])
        made = _strokes_of_group(task, zoned, group, bent, len(strokes), total_mm, fits[lead])
        for stroke in made:
            for zone in stroke.zones:
                state = _state_of(bent, stroke, zoned, group, zone)
                states[zone].append((stroke.index, state))
        if len(bent.zones) > MOST_LONE_ZONES:
            own = frozenset(zone for stroke in made for zone in stroke.zones)
            for zone in own:
                mates[zone] = own - {zone}
        strokes += made
    return _finished(
        task,
        zoned.part,
        with_still(task, zoned.part, strokes, [one.bend for one in shape.bends]),
        [tuple(of_zone) for of_zone in states],
        mates,
        [bent.use for bent in bents],
        flat_area(part),
        zoned,
    )


def _groups(part: FlatPart, shape: FlatShape, *, split: bool) -> Iterator[tuple[int, ...]]:
    """Bends that the same strokes make: on one line, made in the same way, offsets the same way up."""
    for group in stroke_groups(part):
        if split:
            yield from ((bend,) for bend in group)
            continue
        alike: dict[tuple[object, ...], list[int]] = {}
        for bend in group:
            one = shape.bends[bend].bend
            key: tuple[object, ...] = (one.way, one.gap_mm)
            if one.way in ("bump", "offset"):
                key = (*key, one.step_deg, one.outside_offset_mm)
            if one.way == "offset":
                key = (*key, _faces_away(part, group[0], bend))
            alike.setdefault(key, []).append(bend)
        yield from map(tuple, alike.values())


def _faces_away(part: FlatPart, lead: int, bend: int) -> bool:
    """Whether a bend on the same line has its first face on the other side."""
    (ax, ay), (bx, by) = part.across[lead], part.across[bend]
    return ax * bx + ay * by < 0.0


def _strokes_of_group(
    task: PlanTask,
    zoned: ZonedPart,
    group: tuple[int, ...],
    bent: BentWay,
    first_stroke: int,
    length_mm: float,
    fit: Fit,
) -> list[Stroke]:
    found: list[Stroke] = []
    for number, hit in enumerate(bent.hits):
        zones = tuple(
            zone
            for bend in group
            for at in hit.zones
            for zone in zoned.zones_of(bend, _place(zoned, bent, group[0], bend, at))
        )
        after = (first_stroke + number - 1,) if number and hit.what == "flatten" else ()
        stroke = stroke_of_hit(
            task, group, hit, first_stroke + number, zones, length_mm, fit, after
        )
        angles = {zone: _state_of(bent, stroke, zoned, group, zone).angle_deg for zone in zones}
        found.append(_with_angles(stroke, angles))
    if bent.hits[0].what == "bump":
        run_mask = sum(1 << one.index for one in found)
        found = [replace(one, run_mask=run_mask) for one in found]
    return found


def _place(zoned: ZonedPart, bent: BentWay, lead: int, bend: int, at: int) -> int:
    """Which of a bend's own zones lies where the lead's has one."""
    lead_zone, zone = zoned.zones_of(lead, 0)[0], zoned.zones_of(bend, 0)[0]
    return len(bent.zones) - 1 - at if _faces_away(zoned.part, lead_zone, zone) else at


def _state_of(
    bent: BentWay, stroke: Stroke, zoned: ZonedPart, group: tuple[int, ...], zone: int
) -> ZoneState:
    at = _place(zoned, bent, group[0], zoned.part.bend_of_zone[zone], zoned.place_of_zone[zone])
    return next(state for what, state in bent.zones[at][1] if what == stroke.what)


def _finished(
    task: PlanTask,
    sheet: Profile | FlatPart,
    strokes: Sequence[Stroke],
    states: Sequence[tuple[tuple[int, ZoneState], ...]],
    mates: Sequence[frozenset[int]],
    uses: Sequence[BendUse],
    area_mm2: float,
    zones: ZonedPart | tuple[int, ...],
) -> Making:
    return Making(
        sheet=sheet,
        strokes=_in_wished_order(task, strokes),
        zone_states=tuple(states),
        mates=tuple(mates),
        uses=tuple(uses),
        mass_kg=sheet_mass(
            area_mm2=area_mm2,
            thickness_mm=task.thickness_mm,
            density_kg_m3=task.material.density_kg_m3,
        ),
        flat_length_mm=sheet.flat_length_mm if isinstance(sheet, Profile) else None,
        bend_of_zone=zones if isinstance(zones, tuple) else zones.part.bend_of_zone,
        bend_of_strip=() if isinstance(zones, tuple) else zones.bend_of_strip,
    )


def _in_wished_order(task: PlanTask, strokes: Sequence[Stroke]) -> tuple[Stroke, ...]:
    """The strokes with the shop's wished order added to what must come first."""
    first_of: dict[int, list[int]] = {}
    for stroke in strokes:
        for bend in stroke.bends:
            first_of.setdefault(bend, []).append(stroke.index)
    after: dict[int, set[int]] = {stroke.index: set(stroke.after) for stroke in strokes}
    for earlier, later in pairs_in_order(task.wishes):
        for stroke_index in first_of[later]:
            after[stroke_index] |= set(first_of[earlier]) - {stroke_index}
    return tuple(replace(one, after=tuple(sorted(after[one.index]))) for one in strokes)


def _states_of_zone(
    states: Sequence[tuple[str, ZoneState]], zone: int, made: Sequence[Stroke]
) -> tuple[tuple[int, ZoneState], ...]:
    strokes = [stroke.index for stroke in made if zone in stroke.zones]
    return tuple((stroke, state) for stroke, (_, state) in zip(strokes, states, strict=True))


def _strokes_of(
    task: PlanTask,
    index: int,
    bent: BentWay,
    first_zone: int,
    first_stroke: int,
    length_mm: float,
    fit: Fit,
) -> list[Stroke]:
    found: list[Stroke] = []
    for number, hit in enumerate(bent.hits):
        zones = tuple(first_zone + zone for zone in hit.zones)
        after = (first_stroke + number - 1,) if number and hit.what == "flatten" else ()
        stroke = stroke_of_hit(
            task, (index,), hit, first_stroke + number, zones, length_mm, fit, after
        )
        states = {
            zone: next(
                state for what, state in bent.zones[zone - first_zone][1] if what == hit.what
            ).angle_deg
            for zone in zones
        }
        found.append(_with_angles(stroke, states))
    return found


def _with_angles(stroke: Stroke, angles: Mapping[int, float]) -> Stroke:
    return replace(stroke, angles_after=dict(angles))
