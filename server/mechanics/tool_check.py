"""What deserves attention in a tool's own record: a missing rating, numbers that do not fit."""

import math
from collections.abc import Iterator

from server.errors import Amount, say
from server.findings import Finding, sorted_by_level
from server.geometry.tool_outline import die_mouth, outline_height
from server.mechanics.tooling import Die, Outline, Punch

NO_RATING = "no_rating"
HEIGHT_DIFFERS_MM = 0.05
MOUTH_DIFFERS_MM = 0.1
"""Height is keyed into every touch-off after a tool change, so it may not differ from the drawing
by more than a brake can hold. Common practice, no source."""


def check_punch(punch: Punch) -> tuple[Finding, ...]:
    """Whether a punch's record is complete, and its numbers agree with its outline.

    Returns: stops first, then cautions; empty when there is nothing to say.
    """
    return sorted_by_level(
        (
            *check_rating("punch", punch.name, punch.rating_kn_per_m),
            *_height("punch", punch.name, punch.height_mm, punch.profile_mm),
            *_pieces("punch", punch.name, punch.segments_mm),
        )
    )


def check_die(die: Die) -> tuple[Finding, ...]:
    """Whether a die's record is complete, and its numbers agree with its outline.

    Returns: stops first, then cautions; empty when there is nothing to say.
    """
    return sorted_by_level(
        (
            *check_rating("die", die.name, die.rating_kn_per_m),
            *_height("die", die.name, die.height_mm, die.profile_mm),
            *_mouth(die),
            *_pieces("die", die.name, die.segments_mm),
        )
    )


def check_holder(
    *, name: str, height_mm: float, rating_kn_per_m: float | None, profile_mm: Outline
) -> tuple[Finding, ...]:
    """Whether a holder's record is complete, and its height agrees with its outline.

    Args:
        name: the holder's code.
        height_mm: from its foot on the punch to the ram [mm].
        rating_kn_per_m: load it may carry [kn_per_m], None when not entered.
        profile_mm: its outline, foot at y = 0 [mm].

    Returns: stops first, then cautions; empty when there is nothing to say.
    """
    return sorted_by_level(
        (
            *check_rating("holder", name, rating_kn_per_m),
            *_height("holder", name, height_mm, profile_mm),
        )
    )


def mouth_width(*, v_opening_mm: float, angle_deg: float, shoulder_radius_mm: float) -> float:
    """Width between the ends of a die's flat top, where the shoulder arcs begin.

    Formula: V + 2 Rs tan(w / 2), w = 90 - angle / 2

    Args:
        v_opening_mm: V opening between the sharp intersections [mm].
        angle_deg: angle of the V [deg].
        shoulder_radius_mm: shoulder radius [mm].

    Returns: the width [mm].

    References: geometry of an arc tangent to two lines.

    >>> round(mouth_width(v_opening_mm=16.0, angle_deg=86.0, shoulder_radius_mm=1.5), 4)
    17.3044
    """
    wall_rad = math.radians(90.0 - angle_deg / 2)
    return v_opening_mm + 2 * shoulder_radius_mm * math.tan(wall_rad / 2)


def check_rating(tool: str, name: str, rating_kn_per_m: float | None) -> tuple[Finding, ...]:
    """A stop while a tool's load rating is not entered, else nothing."""
    if rating_kn_per_m is not None:
        return ()
    return (
        Finding(
            "stop",
            NO_RATING,
            say("No job runs on this {tool} until its load rating is entered.", tool=tool),
            say(
                "Read the rating off the tool or its maker's sheet. Do not guess it: an overloaded "
                "tool breaks and throws pieces."
            ),
            source="no job runs on a tool of unknown strength",
            tool=name,
        ),
    )


def _height(tool: str, name: str, height_mm: float, profile_mm: Outline) -> Iterator[Finding]:
    if not profile_mm:
        return
    drawn_mm = outline_height(profile_mm)
    if abs(drawn_mm - height_mm) > HEIGHT_DIFFERS_MM:
        yield Finding(
            "caution",
            "height_differs",
            say(
                "The outline is {drawn} high; the {tool}'s height says {height}.",
                drawn=Amount(drawn_mm, "mm"),
                tool=tool,
                height=Amount(height_mm, "mm"),
            ),
            say("Correct whichever is wrong: clearance uses the outline, Y uses the height."),
            source="the tool's own record",
            tool=name,
            amount=Amount(drawn_mm - height_mm, "mm"),
        )


def _mouth(die: Die) -> Iterator[Finding]:
    if not die.profile_mm:
        return
    left_mm, right_mm = die_mouth(die.profile_mm)
    if left_mm == right_mm:
        return  # a block to press on: there is no V
    wanted_mm = mouth_width(
        v_opening_mm=die.v_opening_mm,
        angle_deg=die.angle_deg,
        shoulder_radius_mm=die.shoulder_radius_mm,
    )
    drawn_mm = right_mm - left_mm
    off_mm = (left_mm + right_mm) / 2
    if abs(drawn_mm - wanted_mm) > MOUTH_DIFFERS_MM:
        yield Finding(
            "caution",
            "mouth_differs",
            say(
                "The drawn V is {drawn} wide at the top; V, angle and shoulder radius make "
                "{wanted}.",
                drawn=Amount(drawn_mm, "mm"),
                wanted=Amount(wanted_mm, "mm"),
            ),
            say("Correct whichever is wrong: the depth is computed from V, angle and radius."),
            source="the tool's own record",
            tool=die.name,
            amount=Amount(drawn_mm - wanted_mm, "mm"),
        )
    if abs(off_mm) > MOUTH_DIFFERS_MM:
        yield Finding(
            "caution",
            "mouth_off_centre",
            say("The drawn V's middle is {off} off x 0.", off=Amount(off_mm, "mm")),
            say("Move the outline: X is counted from the middle of the V."),
            source="the tool's own record",
            tool=die.name,
            amount=Amount(off_mm, "mm"),
        )


def _pieces(tool: str, name: str, segments_mm: tuple[float, ...]) -> Iterator[Finding]:
    if not segments_mm:
        yield Finding(
            "caution",
            "no_pieces",
            say("No pieces are entered, so no set-up can be built from this {tool}.", tool=tool),
            say("Enter the lengths the shop owns, such as 500x3; 200x2; 100x1."),
            source="the tool's own record",
            tool=name,
        )
