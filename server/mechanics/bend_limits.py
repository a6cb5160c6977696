"""What blocks an air bend, and what to be careful of. Checks return findings, never raise."""

from collections.abc import Iterator
from dataclasses import dataclass

from server.errors import Amount, ShopError, say
from server.findings import Finding, sorted_by_level
from server.mechanics.air_bend import AirBend
from server.mechanics.bend_force import governing_line_load
from server.mechanics.brake_load import check_brake_load, could_exceed
from server.mechanics.inside_radius import punch_creases
from server.mechanics.material import Material
from server.mechanics.minimum_radius import din6935_minimum_radius
from server.mechanics.tooling import Brake, Die, Punch

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
            yield could_exceed(name, Amount(rating, "kn_per_m"), _strongest(case), case.index)


def _brake_limits(case: BendCase) -> Iterator[Finding]:
    if case.brake is not None:
        yield from check_brake_load(
            line_load_kn_per_m=case.line_load_kn_per_m,
            bend_length_mm=case.bend_length_mm,
            brake=case.brake,
            v_opening_mm=case.die.v_opening_mm,
            strongest_ratio=_strongest(case),
            off_centre_mm=case.off_centre_mm,
            bend=case.index,
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


def _deg_down(angle_deg: float) -> Amount:
    return Amount(float(int(angle_deg)), "deg")
