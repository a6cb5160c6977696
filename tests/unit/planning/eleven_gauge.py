"""The stories' fixture: 11 gauge steel over a 1 inch V, with the shop's own radius and K-factor."""

from dataclasses import replace

from server.mechanics.air_bend import Bending, bending, depth_for_angle
from server.mechanics.control_reading import TouchOff
from server.mechanics.material import Material
from server.mechanics.stroke_setting import stroke_setting
from server.mechanics.tooling import Die, Punch
from server.planning.setup_change import KeyedStep, SetupFacts
from server.units.length import mm_from_inches
from server.units.sheet_gauge import gauge_thickness_mm

ELEVEN_GAUGE_MM = gauge_thickness_mm(family="steel", gauge=11)
K_FACTOR = 0.42
STEEL = Material(
    youngs_modulus_mpa=200_000.0,
    yield_strength_mpa=260.0,
    tensile_strength_mpa=380.0,
    radius_ratio=0.16,
    k_factor=K_FACTOR,
    code="A1011 CS Type B",
)
PUNCH = Punch("P1", mm_from_inches(0.04), 85.0, height_mm=110.0, rating_kn_per_m=1000.0)


def die(v_in: float) -> Die:
    return Die(
        f"V{v_in:g}",
        mm_from_inches(v_in),
        85.0,
        mm_from_inches(0.08 * v_in),
        height_mm=60.0,
        rating_kn_per_m=1000.0,
    )


V1 = die(1.0)


def sheet_of(thickness_mm: float = ELEVEN_GAUGE_MM, tool: Die = V1) -> Bending:
    return bending(thickness_mm=thickness_mm, material=STEEL, die=tool, punch=PUNCH)


def steps_of(
    thickness_mm: float = ELEVEN_GAUGE_MM, tool: Die = V1, correction_mm: float = 0.0
) -> tuple[KeyedStep, ...]:
    """Two steps at 90 and one at 45 as the rules and a correction would key them."""
    sheet = sheet_of(thickness_mm, tool)
    return tuple(
        KeyedStep(number, wanted, depth_for_angle(sheet, wanted) + correction_mm, x_mm)
        for number, wanted, x_mm in ((1, 90.0, 25.05), (2, 90.0, 40.2), (3, 45.0, 61.35))
    )


def facts(
    *, thickness_mm: float = ELEVEN_GAUGE_MM, tool: Die = V1, correction_mm: float = 0.0,
    touch_off: TouchOff | None = None,
) -> SetupFacts:  # fmt: skip
    """A set-up touched off on the die at 100.00 with a 5 mm bar."""
    height_mm = PUNCH.height_mm + tool.height_mm
    return SetupFacts(
        revision_label="A",
        material=STEEL,
        thickness_mm=thickness_mm,
        punch=PUNCH,
        die=tool,
        touch_off=touch_off or TouchOff("die", 100.0, 5.0, height_mm),
        stroke=stroke_setting(thickness_mm=thickness_mm, tool_height_mm=height_mm),
        steps=steps_of(thickness_mm, tool, correction_mm),
        lot_code="L1",
    )


def higher(base: SetupFacts, by_mm: float) -> SetupFacts:
    """The set-up with a punch taller by an amount, its touch-off predicted from that."""
    punch = replace(base.punch, height_mm=base.punch.height_mm + by_mm)
    height_mm = punch.height_mm + base.die.height_mm
    return replace(
        base,
        punch=punch,
        touch_off=replace(
            base.touch_off,
            reading_mm=base.touch_off.reading_mm - by_mm,
            tool_height_mm=height_mm,
            checked=False,
        ),
        stroke=stroke_setting(thickness_mm=base.thickness_mm, tool_height_mm=height_mm),
    )
