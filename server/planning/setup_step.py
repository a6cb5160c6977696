"""What to key for one step on one set-up: before the first part, and after each one that was tried.

The learned rule and the rule operators know stand side by side; the shop takes either.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from server.errors import Amount, Sentence, say
from server.findings import Finding
from server.mechanics.air_bend import Bending, angles_for_depth, depth_for_angle
from server.mechanics.control_reading import (
    TouchOff,
    rounded_nearest,
    rounded_shallower,
    y_reading,
)
from server.mechanics.correction import (
    FIRST_SHARE_RATIO,
    FlangeCorrection,
    NextDepth,
    Try,
    check_correction,
    flange_correction,
    simple_next_depth,
)
from server.mechanics.learned_family import Multipliers
from server.mechanics.ram_depth import ram_depth_per_degree
from server.mechanics.setup_belief import SetupBelief
from server.mechanics.tooling import YSense


@dataclass(frozen=True, slots=True)
class Readout:
    """How the control counts: touch-off, sense and step of Y, step of X."""

    touch_off: TouchOff
    y_sense: YSense
    y_resolution_mm: float
    x_resolution_mm: float

    def y_mm(self, depth_mm: float, thickness_mm: float) -> tuple[float, float]:
        """(exact, rounded shallower) reading for a travel."""
        exact_mm = y_reading(
            touch_off=self.touch_off,
            y_sense=self.y_sense,
            depth_mm=depth_mm,
            thickness_mm=thickness_mm,
        )
        rounded_mm = rounded_shallower(
            reading_mm=exact_mm, y_sense=self.y_sense, resolution_mm=self.y_resolution_mm
        )
        return exact_mm, rounded_mm


@dataclass(frozen=True, slots=True)
class KeyedDepth:
    """One Y to key: its travel, and the angle it is expected to bend with the 95 % band."""

    depth_mm: float
    y_exact_mm: float
    y_mm: float
    expected_deg: float
    low_deg: float
    high_deg: float


@dataclass(frozen=True, slots=True)
class FirstDepth:
    """Before any trial of the set-up: by all that was learned, and by the book alone."""

    learned: KeyedDepth
    by_rule_depth_mm: float
    by_rule_y_mm: float
    depth_mm_per_deg: float
    known: Sentence


@dataclass(frozen=True, slots=True)
class NextStep:
    """After a trial: both rules' next Y, the next X, what the blank lacks, and what speaks against."""

    learned: KeyedDepth
    learned_change_mm: float
    simple: KeyedDepth
    simple_rule: NextDepth
    x_mm: float
    flange: FlangeCorrection | None
    findings: tuple[Finding, ...]


def first_depth(
    *, sheet: Bending, wanted_deg: float, belief: SetupBelief, known: Multipliers, readout: Readout
) -> FirstDepth:
    """What to key for the first part of a set-up.

    `sheet` is `air_bend.bending` for the measured thickness and these tools, unlearned.

    Raises: ShopError from the mechanics when the angle cannot be bent.
    """
    by_rule_mm = depth_for_angle(sheet, wanted_deg)
    return FirstDepth(
        learned=_keyed(sheet, belief.depth_mm(sheet, wanted_deg), belief, readout),
        by_rule_depth_mm=by_rule_mm,
        by_rule_y_mm=readout.y_mm(by_rule_mm, sheet.thickness_mm)[1],
        depth_mm_per_deg=depth_per_degree(sheet, by_rule_mm),
        known=known_from(known),
    )


def next_step(
    *,
    sheet: Bending,
    wanted_deg: float,
    belief: SetupBelief,
    tries: Sequence[Try],
    readout: Readout,
    x_mm: float,
    flange_errors_mm: tuple[float, float] | None = None,
    first_share_ratio: float = FIRST_SHARE_RATIO,
    bend: int | None = None,
) -> NextStep:
    """Next Y and X for the next part, learned and simple rule side by side.

    `belief` has taken in this set-up's trials; `tries` are those of this step, oldest first, at
    least one; `flange_errors_mm` are (gauged, other), measured less wanted.

    Raises: ShopError `out_of_range` with no try.
    """
    last_mm = tries[-1].depth_mm if tries else 0.0
    slope = depth_per_degree(sheet, last_mm)
    simple = simple_next_depth(
        tries=tries,
        wanted_deg=wanted_deg,
        depth_mm_per_deg=slope,
        first_share_ratio=first_share_ratio,
    )
    learned_mm = belief.depth_mm(sheet, wanted_deg)
    flange = None
    if flange_errors_mm is not None:
        flange = flange_correction(
            gauged_error_mm=flange_errors_mm[0], other_error_mm=flange_errors_mm[1]
        )
    moved_mm = x_mm + (flange.x_change_mm if flange else 0.0)
    changes = (learned_mm - last_mm, simple.change_mm)
    return NextStep(
        learned=_keyed(sheet, learned_mm, belief, readout),
        learned_change_mm=changes[0],
        simple=_keyed(sheet, simple.depth_mm, belief, readout),
        simple_rule=simple,
        x_mm=rounded_nearest(reading_mm=moved_mm, resolution_mm=readout.x_resolution_mm),
        flange=flange,
        findings=check_correction(
            change_mm=max(changes, key=abs), depth_mm_per_deg=slope, bend=bend
        ),
    )


def depth_per_degree(sheet: Bending, depth_mm: float) -> float:
    """Travel for one degree of bend angle under load at a travel [mm_per_deg]."""
    return ram_depth_per_degree(
        loaded_bend_angle_deg=angles_for_depth(sheet, depth_mm)[0],
        shoulder_centre_mm=sheet.shoulder_centre_mm,
        roll_radius_mm=sheet.roll_radius_mm,
    )


def known_from(known: Multipliers) -> Sentence:
    """Where the numbers of a first part come from, in words."""
    words = {
        "lot": "this lot",
        "sheet": "this material, thickness and V",
        "material": "this material in other thicknesses or Vs",
        "family": "other materials of its family",
    }
    if known.known_from == "rule":
        return say("Nothing was measured on this family yet: by the rules of the material table.")
    return say(
        "From {trials} trials on {setups} set-ups of {what}.",
        trials=Amount(known.trials_count, "count"),
        setups=Amount(known.setups_count, "count"),
        what=words[known.known_from],
    )


def _keyed(sheet: Bending, depth_mm: float, belief: SetupBelief, readout: Readout) -> KeyedDepth:
    """A travel as the control shows it; angle and band are those of the rounded reading."""
    exact_mm, rounded_mm = readout.y_mm(depth_mm, sheet.thickness_mm)
    keyed_mm = depth_mm + readout.y_sense * (rounded_mm - exact_mm)
    low_deg, high_deg = belief.interval_95_deg(sheet, keyed_mm)
    return KeyedDepth(
        keyed_mm, exact_mm, rounded_mm, belief.angle_deg(sheet, keyed_mm), low_deg, high_deg
    )
