"""Hems: an acute bend first, then the flange is pressed flat."""

from collections.abc import Iterator

from server.errors import Amount, ShopError, say
from server.findings import Finding, sorted_by_level
from server.mechanics.air_bend import AirBend, air_bend, bending, springback_at
from server.mechanics.bend_allowance import bend_allowance, bend_deduction, outside_setback
from server.mechanics.bend_limits import DEFAULT_FLANGE_MARGIN, BendCase, check_bend
from server.mechanics.brake_load import check_brake_load
from server.mechanics.elementary import need_above, need_between, radians
from server.mechanics.formed_bend import FormedBend, Hit
from server.mechanics.material import Material
from server.mechanics.ram_depth import straight_flank
from server.mechanics.tooling import Brake, Die, Punch

ACUTE_INCLUDED_DEG = 30.0
WIDEST_INCLUDED_DEG = 45.0
FLATTEN_FORCE_RATIO = 5.0
HEM_K_FACTOR = 0.5
"""About 30 degrees included, at most 45, then flatten with 5 times the air bending force; K 0.5
gives the trade's deduction of 0.43 t. Common practice, no source."""


def hem_deduction(
    *, thickness_mm: float, gap_mm: float = 0.0, k_factor: float = HEM_K_FACTOR
) -> float:
    """How much shorter the flat is than body and hem flange together, both to the fold's outside.

    Formula: BD = 2 (r + t) - pi (r + K t), r = gap/2; closed with K = 0.5: 0.43 t

    Args:
        thickness_mm: sheet thickness [mm], above 0.
        gap_mm: gap left inside the hem, 0 for a closed one [mm].
        k_factor: neutral line's distance from the inside surface / thickness [ratio], 0 to 1.

    Returns: the deduction [mm]; negative for an open hem with a large gap.

    Raises: ShopError `out_of_range` outside the stated ranges.

    References: definition of the deduction at 180 degrees, legs to the tangent plane.

    >>> round(hem_deduction(thickness_mm=1.0), 3)
    0.429
    """
    need_between("gap_mm", gap_mm, 0.0, 1e5, "mm")
    return bend_deduction(
        outside_setback_mm=outside_setback(
            bend_angle_deg=180.0,
            inside_radius_mm=gap_mm / 2,
            thickness_mm=thickness_mm,
            to_tangent=True,
        ),
        bend_allowance_mm=bend_allowance(
            bend_angle_deg=180.0,
            inside_radius_mm=gap_mm / 2,
            thickness_mm=thickness_mm,
            k_factor=k_factor,
        ),
    )


def hem(
    *,
    thickness_mm: float,
    bend_length_mm: float,
    material: Material,
    die: Die,
    punch: Punch,
    gap_mm: float = 0.0,
    k_factor: float = HEM_K_FACTOR,
    brake: Brake | None = None,
    flange_mm: float | None = None,
    flange_margin_ratio: float = DEFAULT_FLANGE_MARGIN,
    index: int | None = None,
) -> FormedBend:
    """A hem in two strokes: the acute hit in these tools, then the flattening.

    Formula: acute angle under load = 180 - wider of 30 and the tools' angles; flattening force =
        5 x the air bend's; shortest hem flange = BA/2 + straight flank of the acute hit + BD/2

    Args:
        thickness_mm: sheet thickness [mm], above 0.
        bend_length_mm: length of the hem [mm], above 0.
        material: the sheet's metal.
        die: the acute lower tool.
        punch: the acute upper tool.
        gap_mm: gap left inside the hem, 0 for a closed one [mm].
        k_factor: K-factor of the finished fold [ratio].
        brake: the machine, for its limits.
        flange_mm: hem flange, from its edge to the fold's outside [mm], None when not known.
        flange_margin_ratio: the shop's margin on the shortest flange [ratio].
        index: index of the bend, for the findings.

    Returns: a `FormedBend` of two hits.

    Raises: ShopError `out_of_range` from the formulas used, `too_springy` when the acute hit
        would spring back flat.

    References: common practice, no source; the shortest flange is derived here.

    >>> steel = Material(youngs_modulus_mpa=210000, yield_strength_mpa=280, tensile_strength_mpa=400)
    >>> made = hem(thickness_mm=1.0, bend_length_mm=500.0, material=steel,
    ...            die=Die("V8-30", 8.0, 30.0, 1.0), punch=Punch("P30", 0.8, 30.0))
    >>> [hit.what for hit in made.hits], round(made.bend_deduction_mm, 3)
    (['acute', 'flatten'], 0.429)
    """
    need_above("bend_length_mm", bend_length_mm, 0.0, "mm")
    acute = _acute_hit(thickness_mm, bend_length_mm, material, die, punch)
    case = BendCase(
        bend=acute,
        thickness_mm=thickness_mm,
        bend_length_mm=bend_length_mm,
        material=material,
        die=die,
        punch=punch,
        brake=brake,
        index=index,
    )
    flatten_load = FLATTEN_FORCE_RATIO * case.line_load_kn_per_m
    deduction_mm = hem_deduction(thickness_mm=thickness_mm, gap_mm=gap_mm, k_factor=k_factor)
    least_mm = _shortest_flange_mm(acute, thickness_mm, material, die, punch, deduction_mm)
    findings = (
        *check_bend(case),
        *_brake_findings(flatten_load, bend_length_mm, brake, index),
        *_findings(acute, flange_mm, least_mm * (1 + flange_margin_ratio), die, index),
    )
    return FormedBend(
        kind="hem",
        hits=(
            Hit(
                "acute",
                acute.bend_angle_deg,
                acute.loaded_bend_angle_deg,
                acute.depth_mm,
                case.line_load_kn_per_m,
            ),
            Hit("flatten", 180.0, 180.0, None, flatten_load),
        ),
        inside_radius_mm=gap_mm / 2,
        bend_allowance_mm=bend_allowance(
            bend_angle_deg=180.0,
            inside_radius_mm=gap_mm / 2,
            thickness_mm=thickness_mm,
            k_factor=k_factor,
        ),
        bend_deduction_mm=deduction_mm,
        minimum_flange_mm=least_mm,
        line_load_kn_per_m=flatten_load,
        force_kn=flatten_load * bend_length_mm / 1000,
        tools=(
            say(
                "Acute punch and die of about {angle}.",
                angle=Amount(ACUTE_INCLUDED_DEG, "deg"),
            ),
            say(
                "Flattening tools rated for {load}.",
                load=Amount(flatten_load, "kn_per_m"),
            ),
        ),
        findings=sorted_by_level({(one.code, one.tool): one for one in findings}.values()),
    )


def _brake_findings(
    load: float, bend_length_mm: float, brake: Brake | None, index: int | None
) -> tuple[Finding, ...]:
    if brake is None:
        return ()
    return check_brake_load(
        line_load_kn_per_m=load, bend_length_mm=bend_length_mm, brake=brake, bend=index
    )


def _acute_hit(
    thickness_mm: float, bend_length_mm: float, material: Material, die: Die, punch: Punch
) -> AirBend:
    included_deg = max(ACUTE_INCLUDED_DEG, die.angle_deg, punch.angle_deg)
    loaded_deg = 180.0 - included_deg
    sheet = bending(thickness_mm=thickness_mm, material=material, die=die, punch=punch)
    left_deg = loaded_deg - springback_at(sheet, loaded_deg)
    if left_deg <= 0.0:
        raise ShopError(
            "too_springy",
            "The acute bend would spring back flat.",
            remedy="Use a narrower V for this thickness.",
            where="die.v_opening_mm",
        )
    return air_bend(
        thickness_mm=thickness_mm,
        bend_length_mm=bend_length_mm,
        bend_angle_deg=left_deg,
        material=material,
        die=die,
        punch=punch,
    )


def _shortest_flange_mm(
    acute: AirBend,
    thickness_mm: float,
    material: Material,
    die: Die,
    punch: Punch,
    deduction_mm: float,
) -> float:
    """The flat from bend line to edge must reach the shoulder in the acute hit."""
    sheet = bending(thickness_mm=thickness_mm, material=material, die=die, punch=punch)
    arc_mm = (acute.loaded_inside_radius_mm + thickness_mm / 2) * radians(
        acute.loaded_bend_angle_deg
    )
    flank_mm = straight_flank(
        loaded_bend_angle_deg=acute.loaded_bend_angle_deg,
        shoulder_centre_mm=sheet.shoulder_centre_mm,
        roll_radius_mm=sheet.roll_radius_mm,
    )
    return arc_mm / 2 + flank_mm + deduction_mm / 2


def _findings(
    acute: AirBend, flange_mm: float | None, least_mm: float, die: Die, index: int | None
) -> Iterator[Finding]:
    included = 180.0 - acute.bend_angle_deg
    if included > WIDEST_INCLUDED_DEG:
        yield Finding(
            "stop",
            "not_acute_enough",
            say(
                "These tools leave {included}; flattened from there the flange slides instead of "
                "folding.",
                included=Amount(included, "deg"),
            ),
            say("Use acute tools of about 30°."),
            source="about 30° then flatten (common practice, no source)",
            bend=index,
            tool=die.name,
            amount=Amount(included, "deg"),
        )
    if flange_mm is not None and flange_mm < least_mm:
        yield Finding(
            "stop",
            "flange_too_short",
            say(
                "The hem flange is {flange}; the acute hit on {die} needs {least}.",
                flange=Amount(flange_mm, "mm"),
                die=die.name,
                least=Amount(least_mm, "mm"),
            ),
            say("Use a narrower acute die, or a flange of {least}.", least=Amount(least_mm, "mm")),
            source="contact on the die shoulder in the acute hit, with the shop's margin",
            bend=index,
            tool=die.name,
            amount=Amount(least_mm - flange_mm, "mm"),
        )
    yield Finding(
        "caution",
        "side_thrust",
        say("Flattening a hem pushes the tools sideways."),
        say(
            "Use tools made for flattening, with a thrust plate or guide, clamp them as their "
            "maker says, and keep hands clear."
        ),
        source="common practice, no source",
        bend=index,
    )
