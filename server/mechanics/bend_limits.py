"""What blocks an air bend, and what to be careful of. Checks return findings, never raise."""

from collections.abc import Iterator
from dataclasses import dataclass

from server.errors import Amount, ShopError, say
from server.findings import Finding, Level, sorted_by_level
from server.mechanics.air_bend import AirBend
from server.mechanics.bend_force import governing_line_load
from server.mechanics.inside_radius import punch_creases
from server.mechanics.material import Material
from server.mechanics.minimum_radius import din6935_minimum_radius
from server.mechanics.tooling import Brake, Die, Punch

SHORT_TOOL_SHARE = 0.6
USUAL_V_LEAST_RATIO = 6.0
USUAL_V_MOST_RATIO = 12.0
DEFAULT_FLANGE_MARGIN = 0.10
SAME_ANGLE_DEG = 1e-9


@dataclass(frozen=True, slots=True)
class BendCase:
    """One bend with everything its limits are checked against.

    `flange_mm` is the shorter outside flange, None when it is not known; `off_centre_mm` how far
    the bend's middle lies from the brake's.
    """

    bend: AirBend
    thickness_mm: float
    bend_length_mm: float
    material: Material
    die: Die
    punch: Punch
    brake: Brake | None = None
    flange_mm: float | None = None
    flange_margin: float = DEFAULT_FLANGE_MARGIN
    off_centre_mm: float = 0.0
    force_ratio: float = 1.0
    index: int | None = None

    @property
    def line_load_kn_per_m(self) -> float:
        """Line load the limits are checked with: the highest published rule."""
        return self.force_ratio * governing_line_load(
            tensile_strength_mpa=self.material.tensile_strength_mpa,
            thickness_mm=self.thickness_mm,
            v_opening_mm=self.die.v_opening_mm,
        )

    @property
    def force_kn(self) -> float:
        """Force the limits are checked with [kn]."""
        return self.line_load_kn_per_m * self.bend_length_mm / 1000


def check_bend(case: BendCase) -> tuple[Finding, ...]:
    """Everything that blocks or deserves care in one air bend.

    Returns: stops first, then cautions, then notes; empty when there is nothing to say.
    """
    found = (
        *_angle_limits(case),
        *_radius_limits(case),
        *_flange_limits(case),
        *_tool_ratings(case),
        *_brake_limits(case),
        *_usual_range(case),
    )
    return sorted_by_level(found)


def _angle_limits(case: BendCase) -> Iterator[Finding]:
    included = 180.0 - case.bend.loaded_bend_angle_deg
    for tool, name, angle in (
        ("die", case.die.name, case.die.angle_deg),
        ("punch", case.punch.name, case.punch.angle_deg),
    ):
        if included < angle - SAME_ANGLE_DEG:
            yield Finding(
                "stop",
                f"angle_tighter_than_{tool}",
                say(
                    "Under load the corner closes to {included}; the {tool} {name} has {angle}.",
                    included=Amount(included, "deg"),
                    tool=tool,
                    name=name,
                    angle=Amount(angle, "deg"),
                ),
                say("Use a {tool} of at most {included}.", tool=tool, included=_deg_down(included)),
                source="geometry of the tools",
                bend=case.index,
                tool=name,
                amount=Amount(angle - included, "deg"),
            )
    loaded = case.bend.loaded_bend_angle_deg
    if loaded > case.bend.largest_loaded_angle_deg + SAME_ANGLE_DEG and not (
        included < case.die.angle_deg - SAME_ANGLE_DEG
    ):
        yield Finding(
            "stop",
            "flanks_rolled_up",
            say(
                "At {loaded} the sheet has no straight flank left between punch and shoulder.",
                loaded=Amount(loaded, "deg"),
            ),
            say("Use a wider V or a sharper punch."),
            source="geometry of the tools",
            bend=case.index,
            tool=case.die.name,
        )
    if case.die.v_depth_mm is not None and case.bend.depth_mm > case.die.v_depth_mm:
        yield Finding(
            "stop",
            "die_bottom",
            say(
                "The sheet goes {depth} below the die top; the V of {name} is {room} deep.",
                depth=Amount(case.bend.depth_mm, "mm"),
                name=case.die.name,
                room=Amount(case.die.v_depth_mm, "mm"),
            ),
            say("Use a deeper or narrower V."),
            source="the die's cross-section",
            bend=case.index,
            tool=case.die.name,
            amount=Amount(case.bend.depth_mm - case.die.v_depth_mm, "mm"),
        )


def _radius_limits(case: BendCase) -> Iterator[Finding]:
    radius = case.bend.inside_radius_mm
    least_ratio = case.material.minimum_radius_ratio
    if least_ratio is not None and radius < least_ratio * case.thickness_mm * (1 - 1e-9):
        least = least_ratio * case.thickness_mm
        yield Finding(
            "stop",
            "radius_below_minimum",
            say(
                "The inside radius comes to {radius}; {material} cracks below {least}.",
                radius=Amount(radius, "mm"),
                material=case.material.code or "this material",
                least=Amount(least, "mm"),
            ),
            say("Use a wider V or a rounder punch."),
            source=case.material.source or "the material's table",
            bend=case.index,
            amount=Amount(least - radius, "mm"),
        )
    elif case.material.family in ("steel", "galvanized"):
        try:
            advised = din6935_minimum_radius(
                tensile_strength_mpa=case.material.tensile_strength_mpa,
                thickness_mm=case.thickness_mm,
                bend_angle_deg=case.bend.bend_angle_deg,
            )
        except ShopError:
            return
        if radius < advised * (1 - 1e-9):
            yield Finding(
                "note",
                "radius_below_din",
                say(
                    "The inside radius comes to {radius}; DIN 6935 advises {advised} or more.",
                    radius=Amount(radius, "mm"),
                    advised=Amount(advised, "mm"),
                ),
                say("Bend across the rolling direction and look for cracks on the first piece."),
                source="DIN 6935 (1975), table of smallest bending radii",
                bend=case.index,
            )


def _flange_limits(case: BendCase) -> Iterator[Finding]:
    if case.flange_mm is None:
        return
    least = case.bend.minimum_flange_mm * (1 + case.flange_margin)
    if case.flange_mm < least:
        yield Finding(
            "stop",
            "flange_too_short",
            say(
                "The flange is {flange}; on {die} it has to be {least} to stay on the shoulder.",
                flange=Amount(case.flange_mm, "mm"),
                die=case.die.name,
                least=Amount(least, "mm"),
            ),
            say(
                "Use a V of at most {v}, or a flange of {least}.",
                v=Amount(case.die.v_opening_mm * case.flange_mm / least, "mm"),
                least=Amount(least, "mm"),
            ),
            source="contact on the die shoulder at the loaded angle, with the shop's margin",
            bend=case.index,
            tool=case.die.name,
            amount=Amount(least - case.flange_mm, "mm"),
        )


def _tool_ratings(case: BendCase) -> Iterator[Finding]:
    load = case.line_load_kn_per_m
    tools = (
        ("punch", case.punch.name, case.punch.rating_kn_per_m),
        ("die", case.die.name, case.die.rating_kn_per_m),
    )
    for tool, name, rating in tools:
        if rating is None:
            if case.brake is not None:
                yield Finding(
                    "stop",
                    "no_rating",
                    say("The {tool} {name} has no load rating entered.", tool=tool, name=name),
                    say("Enter the rating stamped on the tool or in its maker's sheet."),
                    source="no job runs on a tool of unknown strength",
                    bend=case.index,
                    tool=name,
                )
        elif load > rating:
            yield Finding(
                "stop",
                f"line_load_over_{tool}",
                say(
                    "The bend needs {load}; the {tool} {name} is rated {rating}.",
                    load=Amount(load, "kn_per_m"),
                    tool=tool,
                    name=name,
                    rating=Amount(rating, "kn_per_m"),
                ),
                say("Use a wider V or a stronger {tool}.", tool=tool),
                source="highest published force rule against the tool's rating",
                bend=case.index,
                tool=name,
                amount=Amount(load - rating, "kn_per_m"),
            )
        elif case.material.tensile_max_mpa and load * _strongest(case) > rating:
            yield _could_exceed(case, name, rating, "kn_per_m")


def _brake_limits(case: BendCase) -> Iterator[Finding]:
    brake = case.brake
    if brake is None:
        return
    force = case.force_kn
    if case.bend_length_mm > brake.bed_length_mm:
        yield Finding(
            "stop",
            "bend_longer_than_bed",
            say(
                "The bend is {length} long; the bed of {brake} is {bed}.",
                length=Amount(case.bend_length_mm, "mm"),
                brake=brake.name,
                bed=Amount(brake.bed_length_mm, "mm"),
            ),
            say("Make the part in two, or on a longer brake."),
            source="the machine's plate",
            bend=case.index,
            amount=Amount(case.bend_length_mm - brake.bed_length_mm, "mm"),
        )
    if force > brake.max_force_kn:
        yield Finding(
            "stop",
            "force_over_brake",
            say(
                "The bend needs {force}; {brake} gives {most}.",
                force=Amount(force, "kn"),
                brake=brake.name,
                most=Amount(brake.max_force_kn, "kn"),
            ),
            say(
                "Use a V of at least {v}, or a shorter bend.",
                v=Amount(case.die.v_opening_mm * force / brake.max_force_kn, "mm"),
            ),
            source="highest published force rule against the machine's plate",
            bend=case.index,
            amount=Amount(force - brake.max_force_kn, "kn"),
        )
    elif case.material.tensile_max_mpa and force * _strongest(case) > brake.max_force_kn:
        yield _could_exceed(case, brake.name, brake.max_force_kn, "kn")
    yield from _concentrated_load(case, brake)
    yield from _off_centre(case, brake, force)


def brake_line_load_limit(brake: Brake) -> float:
    """Most load for each metre the brake's ram and bed may carry [kn_per_m].

    The maker's figure, or the full force over 60 % of the distance between the frames (common
    practice, no source).
    """
    if brake.max_line_load_kn_per_m is not None:
        return brake.max_line_load_kn_per_m
    frames = brake.frame_distance_mm or brake.bed_length_mm
    return brake.max_force_kn / (SHORT_TOOL_SHARE * frames / 1000)


def _concentrated_load(case: BendCase, brake: Brake) -> Iterator[Finding]:
    load = case.line_load_kn_per_m
    limit = brake_line_load_limit(brake)
    if load > limit:
        yield Finding(
            "stop",
            "line_load_over_bed",
            say(
                "The bend puts {load} on a short stretch; the bed of {brake} may carry {limit}.",
                load=Amount(load, "kn_per_m"),
                brake=brake.name,
                limit=Amount(limit, "kn_per_m"),
            ),
            say("Use a wider V."),
            source="the machine's manual"
            if brake.max_line_load_kn_per_m is not None
            else "full force only over 60 % of the frame distance (common practice, no source)",
            bend=case.index,
            amount=Amount(load - limit, "kn_per_m"),
        )


def _off_centre(case: BendCase, brake: Brake, force_kn: float) -> Iterator[Finding]:
    if abs(case.off_centre_mm) < 0.05 * brake.bed_length_mm:
        return
    allowed = brake.off_centre_share * brake.max_force_kn
    level: Level = "stop" if force_kn > allowed else "caution"
    yield Finding(
        level,
        "off_centre",
        say(
            "The bend's middle is {offset} off the brake's; off centre it may take {allowed}.",
            offset=Amount(abs(case.off_centre_mm), "mm"),
            allowed=Amount(allowed, "kn"),
        ),
        say("Move the tools to the middle of the brake."),
        source="the machine's manual first; else half (common practice, no source)",
        bend=case.index,
        amount=Amount(force_kn, "kn"),
    )


def _usual_range(case: BendCase) -> Iterator[Finding]:
    ratio = case.die.v_opening_mm / case.thickness_mm
    if not USUAL_V_LEAST_RATIO <= ratio <= USUAL_V_MOST_RATIO:
        yield Finding(
            "caution",
            "v_outside_usual",
            say(
                "The V is {ratio} times the thickness; 6 to 12 is usual.",
                ratio=Amount(ratio, "ratio"),
            ),
            say("Bend a test strip first."),
            source="common practice, no source",
            bend=case.index,
            tool=case.die.name,
        )
    if punch_creases(punch_tip_radius_mm=case.punch.tip_radius_mm, thickness_mm=case.thickness_mm):
        yield Finding(
            "note",
            "punch_creases",
            say(
                "The punch tip ({tip}) is sharp for {thickness} sheet and may crease it.",
                tip=Amount(case.punch.tip_radius_mm, "mm"),
                thickness=Amount(case.thickness_mm, "mm"),
            ),
            say("Use a punch with a rounder tip where the inside shows."),
            source="tip radius below 0.63 t (common practice, no source)",
            bend=case.index,
            tool=case.punch.name,
        )


def _strongest(case: BendCase) -> float:
    if not case.material.tensile_max_mpa:
        return 1.0
    return case.material.tensile_max_mpa / case.material.tensile_strength_mpa


def _could_exceed(case: BendCase, name: str, limit: float, unit: str) -> Finding:
    strongest = case.material.tensile_max_mpa or case.material.tensile_strength_mpa
    return Finding(
        "caution",
        "strong_sheet_could_exceed",
        say(
            "A sheet at the top of its standard ({strength}) would exceed {name} ({limit}).",
            strength=Amount(strongest, "mpa"),
            name=name,
            limit=Amount(limit, "kn" if unit == "kn" else "kn_per_m"),
        ),
        say("Look at the lot's certificate before bending."),
        source="the standard's highest tensile strength",
        bend=case.index,
        tool=name,
    )


def _deg_down(angle_deg: float) -> Amount:
    return Amount(float(int(angle_deg)), "deg")
