"""What each way of bending asks of the sheet and of the brake: zones, hits, forces, flanges.

Air bends, bottomed and coined bends have one zone and one hit; a hem one zone and two hits; a bumped
radius as many zones as hits; an offset two zones and one hit.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal, Protocol

from server.errors import Amount, ShopError, say
from server.findings import Finding
from server.geometry.profile import Profile, ProfileBend
from server.mechanics.air_bend import AirBend, SpringbackGiven, air_bend
from server.mechanics.bottoming import bottomed_bend
from server.mechanics.bump_bend import bump_count
from server.mechanics.elementary import radians
from server.mechanics.flat_length import BendUse, FlatBend, use_of_bend
from server.mechanics.hem import HEM_K_FACTOR, hem
from server.mechanics.material import Material
from server.mechanics.offset_bend import offset_bend, offset_web
from server.mechanics.tooling import Brake, Die, Punch
from server.planning.plan_task import ShapeBend, ToolPair


class BendTask(Protocol):
    """What the ways of bending need to know: a plan's task, or a drawing's sheet."""

    @property
    def thickness_mm(self) -> float:
        """Sheet thickness."""
        ...

    @property
    def material(self) -> Material:
        """The sheet's metal."""
        ...

    @property
    def brake(self) -> Brake | None:
        """The machine, None while none is chosen."""
        ...

    @property
    def k_factor(self) -> float | None:
        """K-factor, None for DIN 6935's rule."""
        ...

    @property
    def springback_deg(self) -> SpringbackGiven:
        """Springback, or the model."""
        ...

    @property
    def flattening(self) -> ToolPair | None:
        """Tools that press hems flat."""
        ...

    @property
    def offset_tools(self) -> ToolPair | None:
        """Tools that make offsets."""
        ...


@dataclass(frozen=True, slots=True)
class Fit:
    """The die of one bend and the punches that give the same inside radius in it."""

    die: Die
    punches: tuple[Punch, ...]


@dataclass(frozen=True, slots=True)
class ZoneState:
    """A bend zone after one of its strokes: signed angle, inside radius and rolled neutral arc."""

    angle_deg: float
    inside_radius_mm: float
    arc_mm: float


@dataclass(frozen=True, slots=True)
class BentWay:
    """One bend of the shape in its tools: what it uses of the sheet and the hits it takes."""

    use: BendUse
    zones: list[tuple[float, list[tuple[str, ZoneState]]]]
    straights_mm: list[float]
    hits: list["Hit"]


@dataclass(frozen=True, slots=True)
class Hit:
    """One hit of a bend: its numbers, and which of the bend's zones it makes."""

    what: str
    zones: tuple[int, ...]
    air: AirBend | None
    line_load_kn_per_m: float
    least_flange_mm: float
    pair: ToolPair | None
    findings: tuple[Finding, ...]


def bent_way(task: BendTask, index: int, bend: ShapeBend, length_mm: float, fit: Fit) -> BentWay:
    """What one bend takes of the sheet and the hits it is made with.

    Raises: ShopError from the mechanics, `where` naming the bend.
    """
    try:
        if bend.way == "air":
            return _air(task, bend, length_mm, fit)
        if bend.way in ("bottoming", "coining"):
            return _bottomed(task, bend, length_mm, fit)
        if bend.way == "hem":
            return _hemmed(task, bend, length_mm, fit)
        if bend.way == "bump":
            return _bumped(task, bend, length_mm, fit)
        return _offset(task, bend, length_mm)
    except ShopError as trouble:
        raise trouble.at(f"part.bends.{index}.{trouble.where or 'bend_angle_deg'}") from None


def _air(task: BendTask, bend: ShapeBend, length_mm: float, fit: Fit) -> BentWay:
    air = air_bend(
        thickness_mm=task.thickness_mm,
        bend_length_mm=length_mm,
        bend_angle_deg=abs(bend.bend_angle_deg),
        material=task.material,
        die=fit.die,
        punch=fit.punches[0],
        springback_deg=task.springback_deg,
    )
    use = use_for(task, bend, air.inside_radius_mm)
    state = ZoneState(bend.bend_angle_deg, air.inside_radius_mm, use.bend_allowance_mm)
    hit = Hit("air", (0,), air, air.force_kn_per_m, air.minimum_flange_mm, None, ())
    return BentWay(use, [(use.bend_allowance_mm, [("air", state)])], [], [hit])


def _bottomed(task: BendTask, bend: ShapeBend, length_mm: float, fit: Fit) -> BentWay:
    way: Literal["bottoming", "coining"] = "coining" if bend.way == "coining" else "bottoming"
    made = bottomed_bend(
        thickness_mm=task.thickness_mm,
        bend_length_mm=length_mm,
        bend_angle_deg=abs(bend.bend_angle_deg),
        material=task.material,
        die=fit.die,
        punch=fit.punches[0],
        way=way,
        k_factor=task.k_factor,
        brake=task.brake,
    )
    air = air_bend(
        thickness_mm=task.thickness_mm,
        bend_length_mm=length_mm,
        bend_angle_deg=abs(bend.bend_angle_deg),
        material=task.material,
        die=fit.die,
        punch=fit.punches[0],
        loaded_inside_radius_mm=made.inside_radius_mm,
        springback_deg=made.hits[0].loaded_bend_angle_deg - abs(bend.bend_angle_deg),
    )
    use = use_for(task, bend, made.inside_radius_mm)
    state = ZoneState(bend.bend_angle_deg, made.inside_radius_mm, use.bend_allowance_mm)
    hit = Hit(
        bend.way, (0,), air, made.line_load_kn_per_m, made.minimum_flange_mm, None, made.findings
    )
    return BentWay(use, [(use.bend_allowance_mm, [(bend.way, state)])], [], [hit])


def _hemmed(task: BendTask, bend: ShapeBend, length_mm: float, fit: Fit) -> BentWay:
    made = hem(
        thickness_mm=task.thickness_mm,
        bend_length_mm=length_mm,
        material=task.material,
        die=fit.die,
        punch=fit.punches[0],
        gap_mm=bend.gap_mm,
        brake=task.brake,
    )
    acute_hit, flatten_hit = made.hits
    air = air_bend(
        thickness_mm=task.thickness_mm,
        bend_length_mm=length_mm,
        bend_angle_deg=acute_hit.bend_angle_deg,
        material=task.material,
        die=fit.die,
        punch=fit.punches[0],
    )
    use = use_of_bend(
        bend=FlatBend(180.0, bend.gap_mm / 2, HEM_K_FACTOR), thickness_mm=task.thickness_mm
    )
    sign = math.copysign(1.0, bend.bend_angle_deg)
    arc_mm = radians(air.bend_angle_deg) * (air.inside_radius_mm + use.k_factor * task.thickness_mm)
    acute = ZoneState(sign * air.bend_angle_deg, air.inside_radius_mm, arc_mm)
    closed = ZoneState(sign * 180.0, bend.gap_mm / 2, use.bend_allowance_mm)
    hits = [
        Hit(
            "acute",
            (0,),
            air,
            acute_hit.line_load_kn_per_m,
            made.minimum_flange_mm,
            None,
            made.findings,
        ),
        Hit(
            "flatten",
            (0,),
            None,
            flatten_hit.line_load_kn_per_m,
            0.0,
            task.flattening,
            (
                *_need_pair(task.flattening, "flattening tools", "no_flattening_tools"),
                *_overloaded(task.flattening, flatten_hit.line_load_kn_per_m),
                *(one for one in made.findings if one.code == "side_thrust"),
            ),
        ),
    ]
    return BentWay(
        use, [(use.bend_allowance_mm, [("acute", acute), ("flatten", closed)])], [], hits
    )


def _bumped(task: BendTask, bend: ShapeBend, length_mm: float, fit: Fit) -> BentWay:
    if bend.inside_radius_mm is None:
        raise ShopError(
            "radius_missing",
            "A bumped bend needs its inside radius.",
            remedy="Give the radius of the whole curve.",
            where="inside_radius_mm",
        )
    angle_deg = abs(bend.bend_angle_deg)
    count = bump_count(bend_angle_deg=angle_deg, step_deg=bend.step_deg)
    use = use_for(task, bend, bend.inside_radius_mm)
    pitch_mm = use.bend_allowance_mm / count
    each = ShapeBend(math.copysign(angle_deg / count, bend.bend_angle_deg))
    one = _air(task, each, length_mm, fit)
    zone_mm = one.use.bend_allowance_mm
    if zone_mm > pitch_mm:
        raise ShopError(
            "bump_not_needed",
            "One air bend on this die already has that radius.",
            remedy="Air bend it, or use a narrower V and a sharper punch.",
            where="inside_radius_mm",
        )
    state = one.zones[0][1][0][1]
    hit = one.hits[0]
    return BentWay(
        use,
        [(zone_mm, [("bump", state)]) for _ in range(count)],
        [pitch_mm - zone_mm] * max(count - 1, 1),
        [
            Hit(
                "bump",
                (number,),
                hit.air,
                hit.line_load_kn_per_m,
                hit.least_flange_mm,
                None,
                (),
            )
            for number in range(count)
        ],
    )


def _offset(task: BendTask, bend: ShapeBend, length_mm: float) -> BentWay:
    if bend.outside_offset_mm is None:
        raise ShopError(
            "offset_missing",
            "An offset needs its outside offset.",
            remedy="Give outer face to opposite outer face.",
            where="outside_offset_mm",
        )
    pair = task.offset_tools
    angle_deg = abs(bend.bend_angle_deg)
    radius_mm = (
        pair.punch.tip_radius_mm if pair and pair.punch.tip_radius_mm > 0 else task.thickness_mm
    )
    use = use_for(task, ShapeBend(angle_deg), radius_mm)
    made = offset_bend(
        thickness_mm=task.thickness_mm,
        bend_length_mm=length_mm,
        outside_offset_mm=bend.outside_offset_mm,
        bend_angle_deg=angle_deg,
        inside_radius_mm=radius_mm,
        material=task.material,
        k_factor=use.k_factor,
        v_opening_mm=pair.die.v_opening_mm if pair else None,
        tool_depth_mm=pair.die.v_depth_mm if pair else None,
        tool_rating_kn_per_m=pair.die.rating_kn_per_m if pair else None,
        brake=task.brake,
    )
    web_mm = offset_web(
        step_mm=bend.outside_offset_mm - task.thickness_mm,
        bend_angle_deg=angle_deg,
        inside_radius_mm=radius_mm,
        thickness_mm=task.thickness_mm,
    )
    zones = [
        (
            use.bend_allowance_mm,
            [
                (
                    "offset",
                    ZoneState(sign * bend.bend_angle_deg, radius_mm, use.bend_allowance_mm),
                )
            ],
        )
        for sign in (1.0, -1.0)
    ]
    missing = () if pair else _need_pair(None, "offset tools of this step", "no_offset_tools")
    hit = Hit(
        "offset",
        (0, 1),
        None,
        made.line_load_kn_per_m,
        made.minimum_flange_mm,
        pair,
        (*missing, *(f for f in made.findings if f.code != "no_rating" or pair)),
    )
    return BentWay(use, zones, [web_mm], [hit])


def _need_pair(pair: ToolPair | None, what: str, code: str) -> tuple[Finding, ...]:
    if pair is not None:
        return ()
    return (
        Finding(
            "stop",
            code,
            say("The shop has no {what} for this bend.", what=what),
            say("Name the pair of tools, or make the bend another way."),
            source="the tools given",
        ),
    )


def _overloaded(pair: ToolPair | None, load: float) -> Iterator[Finding]:
    """The stops for tools of a pair that may not carry a line load, or whose strength is not known."""
    for tool in (pair.punch, pair.die) if pair else ():
        if tool.rating_kn_per_m is None:
            yield Finding(
                "stop",
                "no_rating",
                say("{tool} has no load rating entered.", tool=tool.name),
                say("Enter the rating stamped on it or in its maker's sheet."),
                source="no job runs on a tool of unknown strength",
                tool=tool.name,
            )
        elif load > tool.rating_kn_per_m:
            yield Finding(
                "stop",
                "line_load_over_tools",
                say(
                    "Flattening needs {load}; {tool} is rated {rating}.",
                    load=Amount(load, "kn_per_m"),
                    tool=tool.name,
                    rating=Amount(tool.rating_kn_per_m, "kn_per_m"),
                ),
                say("Use stronger flattening tools, or leave the hem open."),
                source="5 times the highest published force rule against the tools' rating",
                tool=tool.name,
                amount=Amount(load - tool.rating_kn_per_m, "kn_per_m"),
            )


def use_for(task: BendTask, bend: ShapeBend, inside_radius_mm: float) -> BendUse:
    """What a bend of a given radius uses of the sheet, by the task's K-factor or DIN 6935."""
    return use_of_bend(
        bend=FlatBend(
            bend.bend_angle_deg,
            inside_radius_mm,
            k_factor=task.k_factor,
            dimension_to=bend.dimension_to,
        ),
        thickness_mm=task.thickness_mm,
    )


def flat_bend_of(task: BendTask, bend: ShapeBend, bent: BentWay) -> FlatBend:
    """What the flat length reckons with; an offset takes nothing of the legs beside it."""
    if bend.way == "offset":
        return FlatBend(0.0, 0.0, k_factor=0.5)
    if bend.way == "hem":
        return FlatBend(180.0, bend.gap_mm / 2, HEM_K_FACTOR)
    radius_mm = bent.zones[0][1][-1][1].inside_radius_mm
    if bend.way == "bump" and bend.inside_radius_mm is not None:
        radius_mm = bend.inside_radius_mm
    return FlatBend(
        bend.bend_angle_deg,
        radius_mm,
        k_factor=task.k_factor,
        dimension_to=bend.dimension_to,
    )


def profile_of_bends(
    *,
    thickness_mm: float,
    width_mm: float,
    straights_mm: Sequence[float],
    bends: Sequence[ShapeBend],
    bents: Sequence[BentWay],
) -> Profile:
    """The sheet of a profile: the zones of each bend in order, with the straights between them.

    `straights_mm` are the straight legs of the flat. A bumped curve begins half a pitch before its
    first hit.
    """
    straights: list[float] = [straights_mm[0]]
    zones: list[ProfileBend] = []
    for index, bent in enumerate(bents):
        first_zone = len(zones)
        for number, (allowance_mm, states) in enumerate(bent.zones):
            last = states[-1][1]
            zones.append(ProfileBend(last.angle_deg, last.inside_radius_mm, allowance_mm))
            straights.append(
                bent.straights_mm[number]
                if number + 1 < len(bent.zones)
                else straights_mm[index + 1]
            )
        if bends[index].way == "bump" and len(bent.zones) > 1:
            gap_mm = bent.straights_mm[0] / 2
            straights[first_zone] += gap_mm
            straights[-1] += gap_mm
    return Profile(thickness_mm, width_mm, tuple(straights), tuple(zones))
