"""Cross-sections of tools: drawn from a few numbers, and checked before they are kept.

Outlines are in the machine frame (x to the back gauge, y up) and run counter-clockwise. A punch's
tip is its lowest point and stands at (0, 0); a die's top plane is y = 0 with the V over x = 0; a
holder stands on y = 0, the top of the punch.
"""

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise

from server.errors import Amount, Sentence, ShopError, say
from server.geometry.outline import Loop, Point, checked_outline

AT_PLACE_MM = 0.02
"""How near the tip has to be to (0, 0), and a top plane to y = 0."""
FLAT_MM = 0.002
"""How much lower than the top a point may lie and still be on it: less than an arc's first piece."""
ARC_PIECE_DEG = 15.0
LEAST_SHOULDER_MM = 1.0
"""Flat land a die keeps beside its shoulder radius."""


def straight_punch_outline(
    *, tip_radius_mm: float, angle_deg: float, height_mm: float, body_width_mm: float
) -> Loop:
    """Outline of a symmetric punch: a rounded nose, straight flanks, a body of one width.

    Formula: nose arc about (0, r); flanks tangent to it at (r cos h, r - r sin h), h = angle / 2;
        they end where they meet the body's sides at half its width

    Args:
        tip_radius_mm: nose radius [mm], 0 or more.
        angle_deg: angle between the flanks [deg], 10 to 170.
        height_mm: height of the whole punch [mm], above 0.
        body_width_mm: width of the body [mm], above twice the nose's.

    Returns: the outline [mm], counter-clockwise, tip at (0, 0).

    Raises: ShopError `out_of_range` or `does_not_fit` where the numbers leave no such punch.

    References: plane geometry.

    >>> straight_punch_outline(tip_radius_mm=0.0, angle_deg=90.0, height_mm=100.0,
    ...                        body_width_mm=20.0)
    ((0.0, 0.0), (10.0, 10.0), (10.0, 100.0), (-10.0, 100.0), (-10.0, 10.0))
    """
    _need_punch(tip_radius_mm, angle_deg, height_mm)
    half_mm = body_width_mm / 2
    nose = _nose(tip_radius_mm, angle_deg)
    top_mm = _flank_height(tip_radius_mm, angle_deg, half_mm)
    if half_mm <= nose[-1][0]:
        raise _does_not_fit(
            "A nose of this radius is wider than the body.",
            say("Use a body wider than {least}.", least=Amount(2 * nose[-1][0], "mm")),
            "body_width_mm",
        )
    if top_mm >= height_mm:
        raise _does_not_fit(
            "The flanks reach past the top of the punch before they meet the body.",
            say("Use a narrower body, or a height above {least}.", least=Amount(top_mm, "mm")),
            "body_width_mm",
        )
    right = (*nose, (half_mm, top_mm), (half_mm, height_mm))
    return _tidy((*right, *((-x, y) for x, y in reversed(right[1:]))))


def goose_neck_punch_outline(
    *,
    tip_radius_mm: float,
    angle_deg: float,
    height_mm: float,
    relief_mm: float,
    neck_mm: float,
    nose_width_mm: float,
    top_width_mm: float,
) -> Loop:
    """Outline of a punch whose neck is set back, so that a standing flange in front has room.

    Formula: a nose and two flanks as on a straight punch; the front flank ends at half the nose's
        width and turns back to the neck's front face at x = relief; the neck's rear face is at
        relief + neck, and the rear flank runs out to it; the top block stands over the tip

    Args:
        tip_radius_mm: nose radius [mm], 0 or more.
        angle_deg: angle between the flanks [deg], 10 to 170.
        height_mm: height of the whole punch [mm], above 0.
        relief_mm: how far behind the tip the neck's front face lies [mm], 0 or more.
        neck_mm: thickness of the neck [mm], above 0.
        nose_width_mm: width of the nose where its front flank ends [mm].
        top_width_mm: width of the block that is clamped [mm], above 0.

    Returns: the outline [mm], counter-clockwise, tip at (0, 0), neck toward the back gauge.

    Raises: ShopError `out_of_range` or `does_not_fit` where the numbers leave no such punch.

    References: plane geometry; the neck's share of the height is common practice, no source.

    >>> outline = goose_neck_punch_outline(tip_radius_mm=1.0, angle_deg=84.0, height_mm=140.0,
    ...     relief_mm=8.0, neck_mm=26.0, nose_width_mm=12.0, top_width_mm=32.0)
    >>> max(x for x, y in outline), max(y for x, y in outline)
    (34.0, 140.0)
    """
    _need_punch(tip_radius_mm, angle_deg, height_mm)
    _need("relief_mm", relief_mm, 0.0, height_mm)
    _need("neck_mm", neck_mm, 1.0, height_mm)
    _need("top_width_mm", top_width_mm, 1.0, height_mm * 2)
    nose = _nose(tip_radius_mm, angle_deg)
    front_mm = nose_width_mm / 2
    rear_mm = relief_mm + neck_mm
    if front_mm <= nose[-1][0] or rear_mm <= nose[-1][0]:
        raise _does_not_fit(
            "The tip radius is wider than the nose.",
            say("Use a nose wider than {least}.", least=Amount(2 * nose[-1][0], "mm")),
            "nose_width_mm",
        )
    front_top_mm = _flank_height(tip_radius_mm, angle_deg, front_mm)
    rear_top_mm = _flank_height(tip_radius_mm, angle_deg, rear_mm)
    neck_low_mm = max(0.33 * height_mm, front_top_mm + (front_mm + relief_mm))
    neck_high_mm = 0.62 * height_mm
    if rear_top_mm >= neck_high_mm or neck_low_mm >= neck_high_mm:
        raise _does_not_fit(
            "There is no room for this neck within the height.",
            "Use a smaller relief or a thinner neck, or a taller punch.",
            "relief_mm",
        )
    block_mm = 0.89 * height_mm
    return _tidy(
        (
            *nose,
            (rear_mm, rear_top_mm),
            (rear_mm, neck_high_mm),
            (top_width_mm / 2, block_mm),
            (top_width_mm / 2, height_mm),
            (-top_width_mm / 2, height_mm),
            (-top_width_mm / 2, block_mm),
            (relief_mm, neck_high_mm),
            (relief_mm, neck_low_mm),
            (-front_mm, front_top_mm),
            *((-x, y) for x, y in reversed(nose[1:])),
        )
    )


def v_die_outline(
    *,
    v_opening_mm: float,
    angle_deg: float,
    shoulder_radius_mm: float,
    height_mm: float,
    block_width_mm: float,
    v_depth_mm: float | None = None,
) -> Loop:
    """Outline of a die with one V between rounded shoulders.

    Formula: the V's walls meet the top plane, produced, at +-V/2; each shoulder arc has its centre
        at (V/2 + Rs tan(w/2), -Rs), w = 90 - angle/2, tangent to the top plane and to the wall; the
        walls meet at the depth (V/2) / tan(angle/2), or end at a flat bottom

    Args:
        v_opening_mm: V opening between the sharp intersections [mm], above 0.
        angle_deg: angle between the walls [deg], 10 to 170.
        shoulder_radius_mm: shoulder radius [mm], 0 or more.
        height_mm: height of the block [mm], above the V's depth.
        block_width_mm: width of the block [mm].
        v_depth_mm: depth of a flat-bottomed V [mm], None when the walls meet.

    Returns: the outline [mm], counter-clockwise, top plane at y = 0.

    Raises: ShopError `out_of_range` or `does_not_fit` where the numbers leave no such die.

    References: plane geometry; the same shoulder as in `mechanics.ram_depth`.

    >>> v_die_outline(v_opening_mm=20.0, angle_deg=90.0, shoulder_radius_mm=0.0, height_mm=60.0,
    ...               block_width_mm=40.0)
    ((20.0, 0.0), (10.0, 0.0), (0.0, -10.0), (-10.0, 0.0), (-20.0, 0.0), (-20.0, -60.0), (20.0, -60.0))
    """
    _need("v_opening_mm", v_opening_mm, 0.1, 2000.0)
    _need_angle(angle_deg)
    _need("shoulder_radius_mm", shoulder_radius_mm, 0.0, 500.0)
    _need("height_mm", height_mm, 1.0, 2000.0)
    half_rad = math.radians(angle_deg / 2)
    sweep_rad = math.pi / 2 - half_rad
    centre_mm = v_opening_mm / 2 + shoulder_radius_mm * math.tan(sweep_rad / 2)
    sharp_mm = v_opening_mm / 2 / math.tan(half_rad)
    bottom_mm = sharp_mm if v_depth_mm is None else min(v_depth_mm, sharp_mm)
    least_mm = 2 * (centre_mm + LEAST_SHOULDER_MM)
    if block_width_mm < least_mm:
        raise _does_not_fit(
            "The block is too narrow for this V.",
            say("Use a block at least {least} wide.", least=Amount(least_mm, "mm")),
            "block_width_mm",
        )
    if bottom_mm >= height_mm:
        raise _does_not_fit(
            "The V is deeper than the block is high.",
            say("Use a block higher than {least}.", least=Amount(bottom_mm, "mm")),
            "height_mm",
        )
    wall_mm = shoulder_radius_mm * (1 - math.cos(sweep_rad))
    if wall_mm >= bottom_mm:
        raise _does_not_fit(
            "The shoulder radius leaves no wall in the V.",
            "Use a smaller shoulder radius.",
            "shoulder_radius_mm",
        )
    shoulder = _shoulder(centre_mm, shoulder_radius_mm, sweep_rad)
    flat_mm = v_opening_mm / 2 - bottom_mm * math.tan(half_rad)
    bottom: tuple[Point, ...] = ((0.0, -bottom_mm),)
    if flat_mm > 1e-9:
        bottom = ((flat_mm, -bottom_mm), (-flat_mm, -bottom_mm))
    half_mm = block_width_mm / 2
    return _tidy(
        (
            (half_mm, 0.0),
            *shoulder,
            *bottom,
            *((-x, y) for x, y in reversed(shoulder)),
            (-half_mm, 0.0),
            (-half_mm, -height_mm),
            (half_mm, -height_mm),
        )
    )


def checked_punch_outline(points: Iterable[Point]) -> Loop:
    """A punch's outline as it may be kept.

    Raises: ShopError `tip_not_at_origin`, or what `checked_outline` raises.
    """
    loop = checked_outline(points, where="profile_mm", name="the punch")
    tip = min(loop, key=lambda point: (point[1], abs(point[0])))
    if math.hypot(*tip) > AT_PLACE_MM:
        raise ShopError(
            "tip_not_at_origin",
            say(
                "The lowest point is at x {x}, y {y}; the tip has to be at 0 0.",
                x=Amount(tip[0], "mm"),
                y=Amount(tip[1], "mm"),
            ),
            remedy="Move the whole outline so that its lowest point is 0 0.",
            where="profile_mm",
        )
    return loop


def checked_die_outline(points: Iterable[Point]) -> Loop:
    """A die's outline as it may be kept.

    Raises: ShopError `top_not_at_zero`, `no_v_at_centre`, or what `checked_outline` raises.
    """
    loop = checked_pressing_outline(points)
    left, right = die_mouth(loop)
    if not left < -AT_PLACE_MM < AT_PLACE_MM < right:
        raise ShopError(
            "no_v_at_centre",
            "There is no opening in the top plane over x 0.",
            remedy="Draw the V so that its middle is x 0 and its shoulders are at y 0.",
            where="profile_mm",
        )
    return loop


def checked_pressing_outline(points: Iterable[Point]) -> Loop:
    """The outline of a lower tool without a V, such as one to flatten hems on.

    Raises: ShopError `top_not_at_zero`, or what `checked_outline` raises.
    """
    loop = checked_outline(points, where="profile_mm", name="the die")
    top_mm = max(y for _, y in loop)
    if abs(top_mm) > AT_PLACE_MM:
        raise ShopError(
            "top_not_at_zero",
            say("The die's top is at y {top}; it has to be at y 0.", top=Amount(top_mm, "mm")),
            remedy=say("Move the outline by {by} in y.", by=Amount(-top_mm, "mm")),
            where="profile_mm",
        )
    return loop


def checked_holder_outline(points: Iterable[Point]) -> Loop:
    """A holder's outline as it may be kept.

    Raises: ShopError `foot_not_at_zero`, or what `checked_outline` raises.
    """
    loop = checked_outline(points, where="profile_mm", name="the holder")
    foot_mm = min(y for _, y in loop)
    if abs(foot_mm) > AT_PLACE_MM:
        raise ShopError(
            "foot_not_at_zero",
            say(
                "The holder's foot is at y {foot}; it stands on the punch at y 0.",
                foot=Amount(foot_mm, "mm"),
            ),
            remedy=say("Move the outline by {by} in y.", by=Amount(-foot_mm, "mm")),
            where="profile_mm",
        )
    return loop


def checked_bed_outline(points: Iterable[Point]) -> Loop:
    """The outline of what carries the die, as it may be kept: its top is y = 0.

    Raises: ShopError `top_not_at_zero`, or what `checked_outline` raises.
    """
    loop = checked_outline(points, where="bed_mm", name="the bed")
    top_mm = max(y for _, y in loop)
    if abs(top_mm) > AT_PLACE_MM:
        raise ShopError(
            "top_not_at_zero",
            say("The bed's top is at y {top}; it has to be at y 0.", top=Amount(top_mm, "mm")),
            remedy=say("Move the outline by {by} in y.", by=Amount(-top_mm, "mm")),
            where="bed_mm",
        )
    return loop


def die_mouth(loop: Sequence[Point]) -> tuple[float, float]:
    """Where the die's top plane ends left and right of the V: (x left, x right) [mm].

    Both are 0 when the top plane runs through x = 0, or stands on one side only.
    """
    top_mm = max(y for _, y in loop)
    flat = [(x, top_mm - y <= FLAT_MM) for x, y in loop]
    land = [
        (min(start[0], end[0]), max(start[0], end[0]))
        for start, end in pairwise((*flat, flat[0]))
        if start[1] and end[1]
    ]
    touching = [x for x, on_top in flat if on_top]
    if any(low <= 0.0 <= high for low, high in land):
        return 0.0, 0.0
    left = [x for x in touching if x < 0.0]
    right = [x for x in touching if x > 0.0]
    return (max(left), min(right)) if left and right else (0.0, 0.0)


def outline_height(loop: Sequence[Point]) -> float:
    """From the lowest to the highest point [mm]."""
    heights = [y for _, y in loop]
    return max(heights) - min(heights)


def _nose(radius_mm: float, angle_deg: float) -> tuple[Point, ...]:
    """From the tip along the right side of the nose to where the flank begins."""
    half_rad = math.radians(angle_deg / 2)
    sweep_rad = math.pi / 2 - half_rad
    pieces = max(1, math.ceil(math.degrees(sweep_rad) / ARC_PIECE_DEG))
    if radius_mm <= 0.0:
        return ((0.0, 0.0),)
    turns = [sweep_rad * i / pieces for i in range(pieces + 1)]
    return tuple((radius_mm * math.sin(a), radius_mm * (1 - math.cos(a))) for a in turns)


def _flank_height(radius_mm: float, angle_deg: float, at_x_mm: float) -> float:
    half_rad = math.radians(angle_deg / 2)
    start_x, start_y = _nose(radius_mm, angle_deg)[-1]
    return start_y + (at_x_mm - start_x) / math.tan(half_rad)


def _shoulder(centre_mm: float, radius_mm: float, sweep_rad: float) -> tuple[Point, ...]:
    """From the end of the top plane around the right shoulder to where the wall begins."""
    if radius_mm <= 0.0:
        return ((centre_mm, 0.0),)
    pieces = max(1, math.ceil(math.degrees(sweep_rad) / ARC_PIECE_DEG))
    turns = [sweep_rad * i / pieces for i in range(pieces + 1)]
    return tuple(
        (centre_mm - radius_mm * math.sin(a), -radius_mm * (1 - math.cos(a))) for a in turns
    )


def _tidy(points: Iterable[Point]) -> Loop:
    """Rounded to 0.1 micrometre, without a negative zero."""
    return tuple((round(x, 4) + 0.0, round(y, 4) + 0.0) for x, y in points)


def _need_punch(tip_radius_mm: float, angle_deg: float, height_mm: float) -> None:
    _need("tip_radius_mm", tip_radius_mm, 0.0, 1000.0)
    _need_angle(angle_deg)
    _need("height_mm", height_mm, 1.0, 2000.0)


def _need_angle(angle_deg: float) -> None:
    if not 10.0 <= angle_deg <= 170.0:
        raise ShopError(
            "out_of_range",
            say("The angle is {angle}.", angle=Amount(angle_deg, "deg")),
            remedy="Use an angle from 10° to 170°.",
            where="angle_deg",
        )


def _need(where: str, value_mm: float, least_mm: float, most_mm: float) -> None:
    if not least_mm <= value_mm <= most_mm:
        raise ShopError(
            "out_of_range",
            say(
                "The {name} is {value}.",
                name=where.removesuffix("_mm").replace("_", " "),
                value=Amount(value_mm, "mm"),
            ),
            remedy=say(
                "Use a length from {least} to {most}.",
                least=Amount(least_mm, "mm"),
                most=Amount(most_mm, "mm"),
            ),
            where=where,
        )


def _does_not_fit(what: str, remedy: Sentence | str, where: str) -> ShopError:
    return ShopError("does_not_fit", what, remedy=remedy, where=where)
