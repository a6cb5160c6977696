"""A brake and sheets that do not exist: true mechanics with the scatter of real ones.

For practice mode, where a new hand may spoil as many parts as it takes, and for the tests that hold
every rule of correction against shops nobody could build. Everything is pure: chance is handed in,
so the same seed gives the same day. Nothing simulated may ever be learned from.
"""

import math
from dataclasses import dataclass
from random import Random

from server.mechanics.air_bend import angles_for_depth, bending
from server.mechanics.bend_allowance import bend_allowance, outside_setback
from server.mechanics.control_reading import TouchOffOn
from server.mechanics.elementary import need_above, need_between
from server.mechanics.inside_radius import loaded_inside_radius
from server.mechanics.learned_family import Spreads
from server.mechanics.material import Material
from server.mechanics.setup_scatter import MEAN_TO_TOLERANCE_RATIO, PIECE_TO_TOLERANCE_RATIO
from server.mechanics.tooling import Die, Punch

RANGE_TO_SD_RATIO = 1 / 4
"""A standard's range of tensile strength is taken as four standard deviations: our estimate."""
USUAL_STRENGTH_SD_RATIO = 0.08


@dataclass(frozen=True, slots=True)
class TrueMaterial:
    """A metal as it really bends here: the book's, times factors nobody in the shop knows."""

    book: Material
    radius_factor: float
    springback_factor: float
    k_factor: float


@dataclass(frozen=True, slots=True)
class TrueLot:
    """One delivery: its sheets' mean thickness, and its own radius, springback and K-factor."""

    metal: TrueMaterial
    thickness_mm: float
    piece_thickness_sd_mm: float
    radius_factor: float
    springback_factor: float


@dataclass(frozen=True, slots=True)
class TrueSetup:
    """One set-up: what touch-off and back gauge are off by, and what the tip was touched off on.

    `touched_mm` is the tip's true height above the die top at touch-off: the touched sheet's own
    thickness, or the bar's height.
    """

    offset_mm: float
    gauge_offset_mm: float
    touched_mm: float


@dataclass(frozen=True, slots=True)
class TruePiece:
    """One blank on the die."""

    thickness_mm: float
    springback_factor: float


@dataclass(frozen=True, slots=True)
class TrueBend:
    """What really came out. Legs are outside dimensions."""

    bend_angle_deg: float
    loaded_bend_angle_deg: float
    gauged_leg_mm: float
    other_leg_mm: float


def strength_sd(*, tensile_min_mpa: float, tensile_max_mpa: float) -> float:
    """Relative scatter of strength between lots, from the range a standard allows.

    Formula: (max - min)/4 over the middle of the range

    Args:
        tensile_min_mpa: least tensile strength of the standard [mpa], above 0.
        tensile_max_mpa: greatest tensile strength of the standard [mpa], above the least.

    Returns: the standard deviation over the mean [ratio].

    Raises: ShopError `out_of_range` where the limits are exchanged or not above 0.

    References: reading of the range as four standard deviations: our estimate.

    >>> round(strength_sd(tensile_min_mpa=360.0, tensile_max_mpa=510.0), 4)
    0.0862
    """
    need_above("tensile_min_mpa", tensile_min_mpa, 0.0, "mpa")
    need_above("tensile_max_mpa", tensile_max_mpa, tensile_min_mpa, "mpa")
    middle_mpa = (tensile_min_mpa + tensile_max_mpa) / 2
    return (tensile_max_mpa - tensile_min_mpa) * RANGE_TO_SD_RATIO / middle_mpa


def simulated_material(
    *, chance: Random, book: Material, spreads: Spreads | None = None
) -> TrueMaterial:
    """A metal whose radius and springback differ from the book's as a shop's may.

    Formula: factors e^z, z normal with the spreads of family, material and sheet together

    Args:
        chance: the random numbers.
        book: the metal as the material table has it.
        spreads: spread of each level, None for the usual.

    Returns: a `TrueMaterial`; its K-factor is the book's (0.42 without one) within 5 %.

    References: definition; spreads as in `learned_family`.

    >>> book = Material(210000.0, 290.0, 420.0)
    >>> first = simulated_material(chance=Random(7), book=book)
    >>> first == simulated_material(chance=Random(7), book=book)
    True
    """
    spreads = spreads or Spreads()
    levels = (spreads.family, spreads.material, spreads.sheet)
    radius = math.sqrt(math.fsum(level.radius_ratio**2 for level in levels))
    spring = math.sqrt(math.fsum(level.springback_ratio**2 for level in levels))
    return TrueMaterial(
        book,
        math.exp(chance.gauss(0.0, radius)),
        math.exp(chance.gauss(0.0, spring)),
        (book.k_factor or 0.42) * math.exp(chance.gauss(0.0, 0.05)),
    )


def simulated_lot(
    *,
    chance: Random,
    metal: TrueMaterial,
    thickness_mm: float,
    tolerance_mm: float,
    radius_sd_ratio: float = 0.04,
    strength_sd_ratio: float = USUAL_STRENGTH_SD_RATIO,
) -> TrueLot:
    """A delivery of sheets.

    Formula: mean thickness normal about nominal, cut off at the tolerance; strength moves the
        springback in proportion

    Args:
        chance: the random numbers.
        metal: the metal.
        thickness_mm: nominal thickness [mm], above 0.
        tolerance_mm: the product standard's tolerance, either way [mm], from `sheet_tolerance`.
        radius_sd_ratio: scatter of the radius between lots [ratio].
        strength_sd_ratio: scatter of the strength between lots [ratio], from `strength_sd`.

    Returns: a `TrueLot`.

    Raises: ShopError `out_of_range` outside the stated ranges.

    References: tolerances EN 10131, EN 10051, EN 10259 or EN 485-4 as `sheet_tolerance` has them.

    >>> metal = TrueMaterial(Material(210000.0, 290.0, 420.0), 1.0, 1.0, 0.42)
    >>> lot = simulated_lot(chance=Random(1), metal=metal, thickness_mm=2.0, tolerance_mm=0.11)
    >>> abs(lot.thickness_mm - 2.0) <= 0.11
    True
    """
    need_above("thickness_mm", thickness_mm, 0.0, "mm")
    need_between("tolerance_mm", tolerance_mm, 0.0, 0.5 * thickness_mm, "mm")
    off_mm = math.inf
    while abs(off_mm) > tolerance_mm:
        off_mm = chance.gauss(0.0, tolerance_mm * MEAN_TO_TOLERANCE_RATIO)
    return TrueLot(
        metal,
        thickness_mm + off_mm,
        tolerance_mm * PIECE_TO_TOLERANCE_RATIO,
        metal.radius_factor * math.exp(chance.gauss(0.0, radius_sd_ratio)),
        metal.springback_factor * math.exp(chance.gauss(0.0, strength_sd_ratio)),
    )


def simulated_piece(
    *, chance: Random, lot: TrueLot, springback_sd_ratio: float = 0.02
) -> TruePiece:
    """One blank of a delivery.

    Formula: thickness and strength normal about the lot's

    Args:
        chance: the random numbers.
        lot: the delivery.
        springback_sd_ratio: scatter of the springback from piece to piece [ratio].

    Returns: a `TruePiece`.

    References: definition.

    >>> metal = TrueMaterial(Material(210000.0, 290.0, 420.0), 1.0, 1.0, 0.42)
    >>> simulated_piece(chance=Random(1), lot=TrueLot(metal, 2.0, 0.0, 1.0, 1.0)).thickness_mm
    2.0
    """
    return TruePiece(
        max(0.1 * lot.thickness_mm, chance.gauss(lot.thickness_mm, lot.piece_thickness_sd_mm)),
        lot.springback_factor * math.exp(chance.gauss(0.0, springback_sd_ratio)),
    )


def simulated_setup(
    *,
    chance: Random,
    touch_off_on: TouchOffOn,
    touched_sheet: TruePiece,
    bar_mm: float = 0.0,
    touch_off_sd_mm: float = 0.10,
    gauge_sd_mm: float = 0.10,
) -> TrueSetup:
    """One set-up: tools fitted, touched off, gauge referenced.

    Formula: offsets normal about nothing

    Args:
        chance: the random numbers.
        touch_off_on: the job's own sheet, or a bar of known height on the die.
        touched_sheet: the piece that lay on the die at touch-off on the sheet.
        bar_mm: height of the bar at touch-off on the die [mm].
        touch_off_sd_mm: how well a touch-off repeats [mm].
        gauge_sd_mm: how well the back gauge is referenced [mm].

    Returns: a `TrueSetup`.

    References: definition.

    >>> blank = TruePiece(2.03, 1.0)
    >>> simulated_setup(chance=Random(1), touch_off_on="sheet", touched_sheet=blank).touched_mm
    2.03
    """
    return TrueSetup(
        chance.gauss(0.0, touch_off_sd_mm),
        chance.gauss(0.0, gauge_sd_mm),
        touched_sheet.thickness_mm if touch_off_on == "sheet" else bar_mm,
    )


def simulated_bend(
    *,
    piece: TruePiece,
    lot: TrueLot,
    setup: TrueSetup,
    die: Die,
    punch: Punch,
    tip_travel_mm: float,
    x_mm: float,
    blank_mm: float,
) -> TrueBend:
    """What comes out when the pedal is pressed.

    Formula: travel in the sheet = keyed travel - (touched height - t) + offset; true radius =
        max(tip radius, c V x factor); legs from the bend line at X and the true deduction:
        gauged leg = X + BD/2, other leg = blank - X + BD/2

    Args:
        piece: the blank.
        lot: its delivery.
        setup: the set-up.
        die: the lower tool.
        punch: the upper tool.
        tip_travel_mm: travel the control makes from the touched-off reading [mm].
        x_mm: X as keyed: die centre line to finger face [mm].
        blank_mm: blank length across the bend [mm].

    Returns: a `TrueBend`; no bend where the tip stays above the sheet.

    Raises: ShopError `too_deep` where the punch would drive the sheet off the die's shoulders.

    References: `air_bend`; the bend line is the middle of the allowance.

    >>> metal = TrueMaterial(Material(210000.0, 290.0, 420.0), 1.0, 1.0, 0.42)
    >>> done = simulated_bend(piece=TruePiece(2.0, 1.0), lot=TrueLot(metal, 2.0, 0.0, 1.0, 1.0),
    ...     setup=TrueSetup(0.0, 0.0, 2.0), die=Die("V16", 16.0, 86.0, 1.5),
    ...     punch=Punch("P", 1.0, 85.0), tip_travel_mm=6.278, x_mm=48.1, blank_mm=96.2)
    >>> round(done.bend_angle_deg, 1), round(done.gauged_leg_mm, 1)
    (90.0, 50.0)
    """
    book = lot.metal.book
    radius_mm = loaded_inside_radius(
        punch_tip_radius_mm=punch.tip_radius_mm,
        radius_ratio=min(1.0, book.radius_ratio * lot.radius_factor),
        v_opening_mm=die.v_opening_mm,
    )
    sheet = bending(
        thickness_mm=piece.thickness_mm,
        material=book,
        die=die,
        punch=punch,
        loaded_inside_radius_mm=radius_mm,
        springback_factor=piece.springback_factor,
    )
    travel_mm = tip_travel_mm - (setup.touched_mm - piece.thickness_mm) + setup.offset_mm
    loaded_deg, angle_deg = angles_for_depth(sheet, max(0.0, travel_mm))
    allowance_mm = bend_allowance(
        bend_angle_deg=angle_deg,
        inside_radius_mm=radius_mm,
        thickness_mm=piece.thickness_mm,
        k_factor=lot.metal.k_factor,
    )
    setback_mm = outside_setback(
        bend_angle_deg=angle_deg,
        inside_radius_mm=radius_mm,
        thickness_mm=piece.thickness_mm,
        to_tangent=angle_deg > 90.0,
    )
    gain_mm = setback_mm - allowance_mm / 2
    line_mm = x_mm + setup.gauge_offset_mm
    return TrueBend(angle_deg, loaded_deg, line_mm + gain_mm, blank_mm - line_mm + gain_mm)


def protractor_reading(
    *, chance: Random, bend_angle_deg: float, sd_deg: float = 0.3, resolution_deg: float = 0.1
) -> float:
    """What a protractor in a hand shows, as a bend angle.

    Formula: nearest step of the resolution to a normal about the truth, from 0 to 180

    Args:
        chance: the random numbers.
        bend_angle_deg: the true bend angle [deg].
        sd_deg: standard deviation of a reading [deg].
        resolution_deg: the protractor's smallest step [deg], above 0.

    Returns: the bend angle read [deg].

    Raises: ShopError `out_of_range` for a resolution that is not above 0.

    References: definition.

    >>> protractor_reading(chance=Random(1), bend_angle_deg=90.04, sd_deg=0.0)
    90.0
    """
    need_above("resolution_deg", resolution_deg, 0.0, "deg")
    read_deg = round(chance.gauss(bend_angle_deg, sd_deg) / resolution_deg) * resolution_deg
    return min(180.0, max(0.0, round(read_deg, 9)))


def caliper_reading(
    *, chance: Random, length_mm: float, sd_mm: float = 0.03, resolution_mm: float = 0.01
) -> float:
    """What a caliper or micrometer in a hand shows.

    Formula: nearest step of the resolution to a normal about the truth, not below 0

    Args:
        chance: the random numbers.
        length_mm: the true length [mm].
        sd_mm: standard deviation of a reading [mm].
        resolution_mm: the instrument's smallest step [mm], above 0.

    Returns: the length read [mm].

    Raises: ShopError `out_of_range` for a resolution that is not above 0.

    References: definition.

    >>> caliper_reading(chance=Random(1), length_mm=50.004, sd_mm=0.0)
    50.0
    """
    need_above("resolution_mm", resolution_mm, 0.0, "mm")
    read_mm = round(chance.gauss(length_mm, sd_mm) / resolution_mm) * resolution_mm
    return max(0.0, round(read_mm, 9))
