"""Practice: one simulated brake, sheet and set-up from a seed, asked bend by bend.

The whole day follows from the seed, so a page need keep nothing but that. What is read here is marked
as practice and is never learned from.
"""

from dataclasses import dataclass
from random import Random

from server.errors import ShopError
from server.mechanics.control_reading import TouchOff, TouchOffOn
from server.mechanics.material import Material
from server.mechanics.simulated_brake import (
    TrueBend,
    TrueLot,
    TrueMaterial,
    TruePiece,
    TrueSetup,
    caliper_reading,
    protractor_reading,
    simulated_bend,
    simulated_lot,
    simulated_material,
    simulated_piece,
    simulated_setup,
)
from server.mechanics.tooling import Die, Punch, YSense

TOUCHED_AT_MM = 100.0
BAR_MM = 5.0
EDGE_COUNT = 4


@dataclass(frozen=True, slots=True)
class PracticeBrake:
    """What hides behind a seed, and what the learner can read of it before the first bend."""

    seed: str
    lot: TrueLot
    setup: TrueSetup
    touch_off: TouchOff
    edges_mm: tuple[float, ...]
    y_sense: YSense


@dataclass(frozen=True, slots=True)
class PracticeStroke:
    """Part and step, both counted from 1, and what was keyed; each part is a blank of its own."""

    part: int
    step: int
    y_mm: float
    x_mm: float
    blank_mm: float


@dataclass(frozen=True, slots=True)
class PracticeBend:
    """What the learner measures on a practice part, and the truth behind it."""

    bend_angle_deg: float
    gauged_leg_mm: float
    other_leg_mm: float
    true: TrueBend


def practice_brake(
    *,
    seed: str,
    book: Material,
    thickness_mm: float,
    tolerance_mm: float,
    touch_off_on: TouchOffOn = "sheet",
    y_sense: YSense = 1,
) -> PracticeBrake:
    """A day of practice from a seed.

    Formula: material, lot, touched sheet and set-up drawn by `simulated_brake`, in that order

    Args:
        seed: any text; the same one is the same day.
        book: the metal as the material table has it.
        thickness_mm: nominal thickness [mm], above 0.
        tolerance_mm: the product standard's tolerance, either way [mm], from `sheet_tolerance`.
        touch_off_on: what the touch-off is made on.
        y_sense: 1 when a greater reading is deeper, -1 when it is less deep.

    Returns: a `PracticeBrake`; the touch-off reads 100.00 mm, its error stays hidden.

    Raises: ShopError `out_of_range` outside the stated ranges.

    References: `simulated_brake`.

    >>> book = Material(210000.0, 290.0, 420.0)
    >>> day = practice_brake(seed="3", book=book, thickness_mm=2.0, tolerance_mm=0.11)
    >>> day.touch_off.reading_mm, len(day.edges_mm)
    (100.0, 4)
    """
    chance = _chance(seed)
    metal: TrueMaterial = simulated_material(chance=chance, book=book)
    lot = simulated_lot(
        chance=chance, metal=metal, thickness_mm=thickness_mm, tolerance_mm=tolerance_mm
    )
    touched: TruePiece = simulated_piece(chance=chance, lot=lot)
    setup = simulated_setup(
        chance=chance, touch_off_on=touch_off_on, touched_sheet=touched, bar_mm=BAR_MM
    )
    edges = tuple(
        caliper_reading(chance=chance, length_mm=touched.thickness_mm, sd_mm=0.01)
        for _ in range(EDGE_COUNT)
    )
    tip_mm = sum(edges) / EDGE_COUNT if touch_off_on == "sheet" else BAR_MM
    return PracticeBrake(
        seed, lot, setup, TouchOff(touch_off_on, TOUCHED_AT_MM, tip_mm), edges, y_sense
    )


def practice_bend(
    *,
    brake: PracticeBrake,
    stroke: PracticeStroke,
    die: Die,
    punch: Punch,
) -> PracticeBend:
    """Bend one step of one practice part and measure it.

    Formula: travel = sense x (Y - reading); piece and readings drawn from the seed, the part and
        the step, so that bending the same again reads the same

    Args:
        brake: the day of practice.
        stroke: which step of which part, and what was keyed for it.
        die: the lower tool.
        punch: the upper tool.

    Returns: a `PracticeBend`.

    Raises: ShopError `too_deep` with what would have happened, and nothing broken.

    References: `simulated_brake`.

    >>> book = Material(210000.0, 290.0, 420.0)
    >>> day = practice_brake(seed="3", book=book, thickness_mm=2.0, tolerance_mm=0.11)
    >>> tools = {"die": Die("V16", 16.0, 86.0, 1.5), "punch": Punch("P", 1.0, 85.0)}
    >>> bent = practice_bend(brake=day, stroke=PracticeStroke(1, 1, 106.2, 48.1, 96.2), **tools)
    >>> 80.0 < bent.bend_angle_deg < 100.0
    True
    """
    piece = simulated_piece(chance=_chance(f"{brake.seed} part {stroke.part}"), lot=brake.lot)
    try:
        true = simulated_bend(
            piece=piece,
            lot=brake.lot,
            setup=brake.setup,
            die=die,
            punch=punch,
            tip_travel_mm=brake.y_sense * (stroke.y_mm - brake.touch_off.reading_mm),
            x_mm=stroke.x_mm,
            blank_mm=stroke.blank_mm,
        )
    except ShopError as trouble:
        raise ShopError(
            trouble.code,
            "On a real brake the punch would now have driven the sheet into the die.",
            remedy="Practice: nothing is broken. Key a shallower Y; on a real brake stop and call "
            "a qualified person.",
            where="y_mm",
        ) from None
    chance = _chance(f"{brake.seed} part {stroke.part} step {stroke.step}")
    return PracticeBend(
        protractor_reading(chance=chance, bend_angle_deg=true.bend_angle_deg),
        caliper_reading(chance=chance, length_mm=true.gauged_leg_mm),
        caliper_reading(chance=chance, length_mm=true.other_leg_mm),
        true,
    )


def _chance(seed: str) -> Random:
    return Random(seed)  # noqa: S311  # a game of chance that has to repeat, no secret
