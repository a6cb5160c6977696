"""What a person lifts and holds: mass, lifting limit, whip-up of the sheet."""

import math

from server.errors import Amount, say
from server.findings import Finding
from server.mechanics.elementary import need_above, need_between

LOAD_CONSTANT_KG = 23.0
"""NIOSH load constant, 51 lb: Applications Manual for the Revised NIOSH Lifting Equation, DHHS
(NIOSH) Publication 94-110, rev. 9/2021."""


def sheet_mass(*, area_mm2: float, thickness_mm: float, density_kg_m3: float) -> float:
    """Mass of a flat piece.

    Formula: m = A t rho

    Args:
        area_mm2: area of the outline less its holes [mm2], 0 or more.
        thickness_mm: sheet thickness [mm], above 0.
        density_kg_m3: density [kg_m3], above 0.

    Returns: the mass [kg].

    Raises: ShopError `out_of_range` outside the stated ranges.

    References: definition.

    >>> round(sheet_mass(area_mm2=2e6, thickness_mm=2.0, density_kg_m3=7850.0), 6)
    31.4
    """
    need_between("area_mm2", area_mm2, 0.0, 1e12, "mm2")
    need_above("thickness_mm", thickness_mm, 0.0, "mm")
    need_above("density_kg_m3", density_kg_m3, 0.0, "ratio")
    return area_mm2 * thickness_mm * density_kg_m3 / 1e9


def recommended_weight_limit(
    *,
    horizontal_cm: float,
    vertical_cm: float,
    travel_cm: float,
    asymmetry_deg: float,
    frequency_factor: float,
    coupling_factor: float,
) -> float:
    """Recommended weight limit of a two-handed lift.

    Formula: RWL = 23 kg x HM x VM x DM x AM x FM x CM, HM = 25/H, VM = 1 - 0.003 |V - 75|,
        DM = 0.82 + 4.5/D, AM = 1 - 0.0032 A; every multiplier at most 1

    Args:
        horizontal_cm: hands from the ankles [cm], 25 to 63 (closer counts as 25).
        vertical_cm: hands above the floor at the start [cm], 0 to 175.
        travel_cm: vertical travel [cm], 25 to 175 (less counts as 25).
        asymmetry_deg: twist of the body [deg], 0 to 135.
        frequency_factor: frequency multiplier from the manual's table [ratio].
        coupling_factor: coupling multiplier from the manual's table [ratio].

    Returns: the limit [kg].

    Raises: ShopError `out_of_range` outside the manual's limits.

    References: DHHS (NIOSH) Publication 94-110, rev. 9/2021.

    >>> round(recommended_weight_limit(horizontal_cm=25, vertical_cm=55, travel_cm=95,
    ...     asymmetry_deg=0, frequency_factor=0.88, coupling_factor=0.95), 1)
    15.7
    """
    need_between("horizontal_cm", horizontal_cm, 0.0, 63.0, "ratio")
    need_between("vertical_cm", vertical_cm, 0.0, 175.0, "ratio")
    need_between("travel_cm", travel_cm, 0.0, 175.0, "ratio")
    need_between("asymmetry_deg", asymmetry_deg, 0.0, 135.0, "deg")
    need_between("frequency_factor", frequency_factor, 0.0, 1.0, "ratio")
    need_between("coupling_factor", coupling_factor, 0.0, 1.0, "ratio")
    horizontal = 25.0 / max(25.0, horizontal_cm)
    vertical = 1.0 - 0.003 * abs(vertical_cm - 75.0)
    travel = 0.82 + 4.5 / max(25.0, travel_cm)
    twist = 1.0 - 0.0032 * asymmetry_deg
    return (
        LOAD_CONSTANT_KG
        * horizontal
        * vertical
        * travel
        * twist
        * frequency_factor
        * coupling_factor
    )


def leg_swing_speed(*, depth_mm_per_deg: float, ram_speed_mm_per_s: float) -> float:
    """How fast each leg of the sheet swings up while the ram closes.

    Formula: each leg turns by half the bend angle: (v / (dD/dA)) / 2

    Args:
        depth_mm_per_deg: slope of travel over bend angle [mm_per_deg], above 0.
        ram_speed_mm_per_s: ram speed [mm_per_s], 0 or more.

    Returns: the speed [deg_per_s].

    Raises: ShopError `out_of_range` outside the stated ranges.

    References: derived here.

    >>> round(leg_swing_speed(depth_mm_per_deg=0.13, ram_speed_mm_per_s=10.0))
    38
    """
    need_above("depth_mm_per_deg", depth_mm_per_deg, 0.0, "mm_per_deg")
    need_between("ram_speed_mm_per_s", ram_speed_mm_per_s, 0.0, 1000.0, "mm_per_s")
    return ram_speed_mm_per_s / depth_mm_per_deg / 2


def edge_speed(*, swing_deg_per_s: float, leg_mm: float) -> float:
    """Speed of a leg's free edge while it swings up.

    Formula: v = omega x leg

    Args:
        swing_deg_per_s: swing of the leg [deg_per_s].
        leg_mm: bend line to free edge [mm].

    Returns: the speed [m_per_s].

    References: definition.

    >>> round(edge_speed(swing_deg_per_s=38.0, leg_mm=600.0), 2)
    0.4
    """
    return math.radians(swing_deg_per_s) * leg_mm / 1000


WHIP_SPEED_M_PER_S = 0.25
"""Edge speed from which we show the caution. Common practice, no source; a shop setting."""


def check_handling(
    *,
    mass_kg: float,
    longest_leg_mm: float,
    depth_mm_per_deg: float,
    ram_speed_mm_per_s: float,
    bend: int | None = None,
) -> tuple[Finding, ...]:
    """Cautions for lifting the part and for its edge whipping up.

    Args:
        mass_kg: mass of the part [kg].
        longest_leg_mm: longest free leg in front of or behind the bend [mm].
        depth_mm_per_deg: slope of travel over bend angle [mm_per_deg].
        ram_speed_mm_per_s: bending speed [mm_per_s].
        bend: index of the bend, for the finding.

    Returns: cautions; empty when the part is light and short.

    Raises: ShopError `out_of_range` from the formulas used.
    """
    found = []
    if mass_kg > LOAD_CONSTANT_KG:
        found.append(
            Finding(
                "caution",
                "heavy_lift",
                say(
                    "The part weighs {mass}; one person should not lift over {limit} even in the "
                    "best position.",
                    mass=Amount(mass_kg, "kg"),
                    limit=Amount(LOAD_CONSTANT_KG, "kg"),
                ),
                say("Use two people or a lifting aid; local rules may set less."),
                source="DHHS (NIOSH) Publication 94-110, rev. 9/2021",
                bend=bend,
                amount=Amount(mass_kg, "kg"),
            )
        )
    swing = leg_swing_speed(
        depth_mm_per_deg=depth_mm_per_deg, ram_speed_mm_per_s=ram_speed_mm_per_s
    )
    edge = edge_speed(swing_deg_per_s=swing, leg_mm=longest_leg_mm)
    if edge > WHIP_SPEED_M_PER_S:
        found.append(
            Finding(
                "caution",
                "whip_up",
                say(
                    "The {leg} leg swings up at {swing}: its edge moves {speed}.",
                    leg=Amount(longest_leg_mm, "mm"),
                    swing=Amount(swing, "deg_per_s"),
                    speed=Amount(edge, "m_per_s"),
                ),
                say("Keep face and hands clear of the sheet's path; support it and bend slowly."),
                source="ram speed over depth per degree, derived here",
                bend=bend,
                amount=Amount(edge, "m_per_s"),
            )
        )
    return tuple(found)
