"""Tools a shop might buy, drawn from a few numbers: our own shapes, nobody's catalogue.

They only show what kind of tool would help. Sizes are ordinary ones and the ratings assumed, both
common practice without a source: what is bought has its own drawing and its own stamped rating.
"""

from dataclasses import dataclass

from server.errors import Amount, Sentence, say
from server.geometry.tool_outline import (
    goose_neck_punch_outline,
    straight_punch_outline,
    v_die_outline,
)
from server.mechanics.tooling import Die, Punch

STRAIGHT_KN_PER_M, SLIM_KN_PER_M, ACUTE_KN_PER_M = 1000.0, 500.0, 600.0
GOOSE_NECK_KN_PER_M, DIE_KN_PER_M = 500.0, 800.0


@dataclass(frozen=True, slots=True)
class Candidate:
    """One tool to consider: its name is unique, its words say what it is."""

    tool: Punch | Die
    words: Sentence


def catalogue() -> tuple[Candidate, ...]:
    """Every candidate, punches before dies, plain ones before special ones."""
    return (
        *(straight_candidate(height, width) for height, width in STRAIGHT),
        *(goose_neck_candidate(height, relief) for height, relief in GOOSE_NECK),
        *(acute_candidate(height) for height in ACUTE),
        *(die_candidate(v, 84.0, 60.0) for v in USUAL_V),
        *(die_candidate(v, 84.0, 120.0) for v in TALL_V),
        *(die_candidate(v, 30.0, 90.0) for v in ACUTE_V),
    )


STRAIGHT = ((150.0, 26.0), (200.0, 26.0), (150.0, 14.0))
GOOSE_NECK = ((150.0, 16.0), (180.0, 26.0), (220.0, 36.0))
ACUTE = (150.0, 200.0)
USUAL_V = (6.0, 8.0, 10.0, 12.0, 16.0, 20.0, 24.0, 32.0, 40.0)
TALL_V = (8.0, 12.0, 16.0)
ACUTE_V = (8.0, 12.0, 16.0)


def straight_candidate(height_mm: float, width_mm: float) -> Candidate:
    """A straight punch of 84 degrees; a slim one carries less."""
    slim = width_mm < 20.0
    return Candidate(
        Punch(
            name=f"straight-{height_mm:g}-{width_mm:g}",
            tip_radius_mm=1.0,
            angle_deg=84.0,
            height_mm=height_mm,
            rating_kn_per_m=SLIM_KN_PER_M if slim else STRAIGHT_KN_PER_M,
            profile_mm=straight_punch_outline(
                tip_radius_mm=1.0, angle_deg=84.0, height_mm=height_mm, body_width_mm=width_mm
            ),
        ),
        say(
            "Straight punch, {height} high, body {width}",
            height=Amount(height_mm, "mm"),
            width=Amount(width_mm, "mm"),
        ),
    )


def goose_neck_candidate(height_mm: float, relief_mm: float) -> Candidate:
    """A punch whose neck is set back by its relief."""
    return Candidate(
        Punch(
            name=f"goose-{height_mm:g}-{relief_mm:g}",
            tip_radius_mm=1.0,
            angle_deg=84.0,
            height_mm=height_mm,
            rating_kn_per_m=GOOSE_NECK_KN_PER_M,
            profile_mm=goose_neck_punch_outline(
                tip_radius_mm=1.0,
                angle_deg=84.0,
                height_mm=height_mm,
                relief_mm=relief_mm,
                neck_mm=24.0,
                nose_width_mm=12.0,
                top_width_mm=32.0,
            ),
        ),
        say(
            "Goose-neck punch, {height} high, neck {relief} behind the tip",
            height=Amount(height_mm, "mm"),
            relief=Amount(relief_mm, "mm"),
        ),
    )


def acute_candidate(height_mm: float) -> Candidate:
    """A punch of 28 degrees, for sharp angles and the first hit of a hem."""
    return Candidate(
        Punch(
            name=f"acute-{height_mm:g}",
            tip_radius_mm=0.8,
            angle_deg=28.0,
            height_mm=height_mm,
            rating_kn_per_m=ACUTE_KN_PER_M,
            profile_mm=straight_punch_outline(
                tip_radius_mm=0.8, angle_deg=28.0, height_mm=height_mm, body_width_mm=26.0
            ),
        ),
        say("Acute punch 28°, {height} high", height=Amount(height_mm, "mm")),
    )


def die_candidate(v_opening_mm: float, angle_deg: float, height_mm: float) -> Candidate:
    """A die with one V in a narrow block, so that flanges have room beside it."""
    shoulder_mm = max(0.6, round(v_opening_mm / 10, 1))
    outline = v_die_outline(
        v_opening_mm=v_opening_mm,
        angle_deg=angle_deg,
        shoulder_radius_mm=shoulder_mm,
        height_mm=height_mm,
        block_width_mm=v_opening_mm + 14.0,
        v_depth_mm=None if angle_deg > 60.0 else 0.6 * height_mm,
    )
    return Candidate(
        Die(
            name=f"V{v_opening_mm:g}-{angle_deg:g}-{height_mm:g}",
            v_opening_mm=v_opening_mm,
            angle_deg=angle_deg,
            shoulder_radius_mm=shoulder_mm,
            height_mm=height_mm,
            rating_kn_per_m=DIE_KN_PER_M,
            profile_mm=outline,
        ),
        say(
            "Die V {v}, {angle}, {height} high",
            v=Amount(v_opening_mm, "mm"),
            angle=Amount(angle_deg, "deg"),
            height=Amount(height_mm, "mm"),
        ),
    )
