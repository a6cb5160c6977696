"""Corrections at the brake: the next travel by the rule operators know, and what X and blank need.

The simple rule has no history: 80 % of the computed step first, because an over-bent part cannot be
un-bent, then along the line through the last two tries. The learned rule's travel comes from
`setup_belief`; both are shown side by side.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from server.errors import Amount, say
from server.findings import Finding
from server.mechanics.bend_allowance import bend_allowance, outside_setback
from server.mechanics.elementary import need_above, need_between
from server.mechanics.learned_bend import simple_correction

FIRST_SHARE_RATIO = 0.8
SECANT_LEAST_RATIO = 0.4
SECANT_MOST_RATIO = 2.5
LARGEST_CHANGE_DEG = 30.0
SimpleRule = Literal["first step", "secant", "computed slope"]


@dataclass(frozen=True, slots=True)
class Try:
    """One bend as tried: punch tip travel keyed [mm], bend angle measured [deg]."""

    depth_mm: float
    bend_angle_deg: float


@dataclass(frozen=True, slots=True)
class NextDepth:
    """The travel to key next, how much that changes it, and which part of the rule said so."""

    depth_mm: float
    change_mm: float
    rule: SimpleRule


def simple_next_depth(
    *,
    tries: Sequence[Try],
    wanted_deg: float,
    depth_mm_per_deg: float,
    first_share_ratio: float = FIRST_SHARE_RATIO,
) -> NextDepth:
    """The next travel by the simple rule: a careful first step, then by secant.

    Formula: first dD = share x dD/dA x error; then dD = (D2 - D1)/(A2 - A1) x error, as long as that
        slope is within 0.4 to 2.5 of the computed one; else the computed slope with the share

    Args:
        tries: bends made on this set-up so far, oldest first, at least one.
        wanted_deg: bend angle wanted [deg].
        depth_mm_per_deg: computed slope of travel over angle [mm_per_deg], above 0.
        first_share_ratio: part of the error the first step corrects [ratio], above 0, to 1.

    Returns: a `NextDepth`.

    Raises: ShopError `out_of_range` outside the stated ranges or with no try.

    References: common practice, no source.

    >>> after_one = simple_next_depth(tries=[Try(6.0, 87.0)], wanted_deg=90.0, depth_mm_per_deg=0.1)
    >>> round(after_one.depth_mm, 3), after_one.rule
    (6.24, 'first step')
    >>> both = [Try(6.0, 87.0), Try(6.24, 89.0)]
    >>> round(simple_next_depth(tries=both, wanted_deg=90.0, depth_mm_per_deg=0.1).depth_mm, 3)
    6.36
    """
    need_above("tries", float(len(tries)), 0.0, "count")
    need_above("depth_mm_per_deg", depth_mm_per_deg, 0.0, "mm_per_deg")
    need_above("first_share_ratio", first_share_ratio, 0.0, "ratio")
    need_between("first_share_ratio", first_share_ratio, 0.0, 1.0, "ratio")
    need_between("wanted_deg", wanted_deg, 0.0, 180.0, "deg")
    last = tries[-1]
    slope, share, rule = depth_mm_per_deg, first_share_ratio, _first_or_later(tries)
    secant = _secant(tries)
    if secant is not None and (
        SECANT_LEAST_RATIO <= secant / depth_mm_per_deg <= SECANT_MOST_RATIO
    ):
        slope, share, rule = secant, 1.0, "secant"
    change_mm = simple_correction(
        wanted_deg=wanted_deg,
        measured_deg=last.bend_angle_deg,
        depth_mm_per_deg=slope,
        share_ratio=share,
    )
    return NextDepth(last.depth_mm + change_mm, change_mm, rule)


def _first_or_later(tries: Sequence[Try]) -> SimpleRule:
    return "first step" if len(tries) == 1 else "computed slope"


def _secant(tries: Sequence[Try]) -> float | None:
    """Slope through the last try and the nearest earlier one at another travel and angle."""
    last = tries[-1]
    for earlier in reversed(tries[:-1]):
        if earlier.depth_mm != last.depth_mm and earlier.bend_angle_deg != last.bend_angle_deg:
            return (last.depth_mm - earlier.depth_mm) / (
                last.bend_angle_deg - earlier.bend_angle_deg
            )
    return None


@dataclass(frozen=True, slots=True)
class FlangeCorrection:
    """What both measured flanges ask for: a change of X, and a change of the blank's length."""

    x_change_mm: float
    blank_change_mm: float


def flange_correction(*, gauged_error_mm: float, other_error_mm: float) -> FlangeCorrection:
    """X and blank corrections from the two flanges of one bend.

    Formula: dX = -(gauged flange's error); blank change = -(sum of both errors)

    Args:
        gauged_error_mm: flange against the back gauge, measured less wanted [mm].
        other_error_mm: the other flange, measured less wanted [mm].

    Returns: a `FlangeCorrection`; a negative blank change means: cut the blank shorter.

    References: derived here: legs are X + BD/2 and blank - X + BD/2, so their sum does not depend
        on X and their difference not on the blank's deduction.

    >>> flange_correction(gauged_error_mm=0.4, other_error_mm=-0.1)
    FlangeCorrection(x_change_mm=-0.4, blank_change_mm=-0.30000000000000004)
    """
    return FlangeCorrection(-gauged_error_mm, -(gauged_error_mm + other_error_mm))


def flange_change_per_degree(
    *, bend_angle_deg: float, inside_radius_mm: float, thickness_mm: float, k_factor: float
) -> float:
    """How much longer each outside flange gets when a bend is closed by one degree more.

    Formula: (BD(A + 1/2) - BD(A - 1/2)) / 2, both legs to the same mold line

    Args:
        bend_angle_deg: bend angle [deg], 1 to 160.
        inside_radius_mm: inside radius [mm], 0 or more.
        thickness_mm: sheet thickness [mm], above 0.
        k_factor: K-factor [ratio].

    Returns: the change for one degree [mm].

    Raises: ShopError `out_of_range` outside the stated ranges.

    References: definition of the bend deduction; about 0.025 t at 90 degrees in V = 8 t.

    >>> round(flange_change_per_degree(bend_angle_deg=90.0, inside_radius_mm=2.56,
    ...                                thickness_mm=2.0, k_factor=0.42) / 2.0, 4)
    0.025
    """
    need_between("bend_angle_deg", bend_angle_deg, 1.0, 160.0, "deg")

    def deduction(angle_deg: float) -> float:
        setback_mm = outside_setback(
            bend_angle_deg=angle_deg,
            inside_radius_mm=inside_radius_mm,
            thickness_mm=thickness_mm,
            to_tangent=bend_angle_deg > 90.0,
        )
        return 2 * setback_mm - bend_allowance(
            bend_angle_deg=angle_deg,
            inside_radius_mm=inside_radius_mm,
            thickness_mm=thickness_mm,
            k_factor=k_factor,
        )

    return (deduction(bend_angle_deg + 0.5) - deduction(bend_angle_deg - 0.5)) / 2


def check_correction(
    *, change_mm: float, depth_mm_per_deg: float, bend: int | None = None
) -> tuple[Finding, ...]:
    """Whether a change of travel is larger than any correction should be.

    Args:
        change_mm: the change of travel [mm].
        depth_mm_per_deg: slope of travel over angle [mm_per_deg], above 0.
        bend: index of the bend, for the finding.

    Returns: a stop when it is more than 30 degrees' worth, a caution above 10, else nothing.

    Raises: ShopError `out_of_range` for a slope that is not above 0.
    """
    need_above("depth_mm_per_deg", depth_mm_per_deg, 0.0, "mm_per_deg")
    worth_deg = abs(change_mm) / depth_mm_per_deg
    if worth_deg <= LARGEST_CHANGE_DEG / 3:
        return ()
    return (
        Finding(
            "stop" if worth_deg > LARGEST_CHANGE_DEG else "caution",
            "correction_large",
            say(
                "Y would change by {change}, about {angle} of bend angle.",
                change=Amount(change_mm, "mm"),
                angle=Amount(worth_deg, "deg"),
            ),
            say("Measure the angle again, and look at touch-off, sheet thickness, V and step."),
            source="common practice, no source",
            bend=bend,
            amount=Amount(change_mm, "mm"),
        ),
    )
