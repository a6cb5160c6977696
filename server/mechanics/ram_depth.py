"""Air bending, both ways: bend angle under load to punch tip travel, and back.

Derived here: the flanks are straight and tangent both to the inside arc at the punch and to the
shoulder arcs of the die. With half angle phi = A/2, wall angle w = 90 - g/2, shoulder arc centre
(x_s, -Rs), x_s = V/2 + Rs tan(w/2) and R = Rs + t + ri:

    D = x_s tan(phi) - R (sec(phi) - 1)

Checked in the tests against a construction with a general geometry library.
"""

from server.errors import Amount, ShopError, say
from server.mechanics.elementary import (
    FloatArray,
    Number,
    arcsin,
    arctan2,
    cos,
    degrees,
    larger,
    need_above,
    need_between,
    radians,
    sin,
    smaller,
    sqrt,
    tan,
)

MODEL_ERROR_DEPTH_LEAST_RATIO = 0.91
MODEL_ERROR_DEPTH_MOST_RATIO = 1.00
"""How far straight flanks may be off: travel of a real sheet / `ram_depth`, at 90 degrees.

Measured in `tests/unit/mechanics/test_strip_yardstick.py` against a numerically integrated
elastic-plastic strip for 12 metals and V = 6, 8 and 12 t, the punch tip filling the inside radius:
the flanks of a real sheet are a little bowed, so it needs 0.91 to 1.00 of the travel. Where the tip is
much sharper than the natural radius the strip folds around it and needs more instead. Trials of the
job's own sheet replace both."""


def shoulder_centre(
    *, v_opening_mm: Number, die_angle_deg: Number, shoulder_radius_mm: Number
) -> Number:
    """Distance from the die's centre line to the centre of a shoulder arc.

    Formula: x_s = V/2 + Rs tan(w/2), w = 90 - g/2

    Args:
        v_opening_mm: V between the sharp intersections of die top and walls [mm], above 0.
        die_angle_deg: angle of the V [deg], above 0, below 180.
        shoulder_radius_mm: radius on the V's edges [mm], 0 or more.

    Returns: the distance [mm].

    Raises: ShopError `out_of_range` outside the stated ranges.

    References: derived here (plane geometry).

    >>> round(shoulder_centre(v_opening_mm=16.0, die_angle_deg=86.0, shoulder_radius_mm=1.5), 6)
    8.652219
    """
    need_above("die.v_opening_mm", v_opening_mm, 0.0, "mm")
    need_between("die.angle_deg", die_angle_deg, 1.0, 179.0, "deg")
    need_between("die.shoulder_radius_mm", shoulder_radius_mm, 0.0, 1e4, "mm")
    return v_opening_mm / 2 + shoulder_radius_mm * tan(radians(90.0 - die_angle_deg / 2) / 2)


def ram_depth(
    *, loaded_bend_angle_deg: Number, shoulder_centre_mm: Number, roll_radius_mm: Number
) -> Number:
    """Punch tip travel from first touch of the flat sheet to a bend angle under load.

    Formula: D = x_s tan(phi) - R (sec(phi) - 1), phi = A/2

    Args:
        loaded_bend_angle_deg: bend angle under load [deg], 0 or more, below 180.
        shoulder_centre_mm: x_s of `shoulder_centre` [mm].
        roll_radius_mm: R = Rs + t + ri [mm].

    Returns: the travel [mm]; 0 at flat.

    References: derived here; see the module's head.

    >>> round(ram_depth(loaded_bend_angle_deg=90.0, shoulder_centre_mm=8.652217,
    ...                 roll_radius_mm=6.0), 4)
    6.1669
    """
    half = radians(loaded_bend_angle_deg) / 2
    return shoulder_centre_mm * tan(half) - roll_radius_mm * (1.0 / cos(half) - 1.0)


def ram_depth_per_degree(
    *, loaded_bend_angle_deg: Number, shoulder_centre_mm: Number, roll_radius_mm: Number
) -> Number:
    """Change of punch tip travel for one degree of bend angle under load.

    Formula: dD/dA = (pi/360) (x_s - R sin(phi)) / cos(phi)^2

    Args:
        loaded_bend_angle_deg: bend angle under load [deg], 0 or more, below 180.
        shoulder_centre_mm: x_s of `shoulder_centre` [mm].
        roll_radius_mm: R = Rs + t + ri [mm].

    Returns: the slope [mm_per_deg].

    References: derivative of `ram_depth`.

    >>> round(ram_depth_per_degree(loaded_bend_angle_deg=90.0, shoulder_centre_mm=8.652217,
    ...                            roll_radius_mm=6.0), 5)
    0.07696
    """
    half = radians(loaded_bend_angle_deg) / 2
    rise_mm = shoulder_centre_mm - roll_radius_mm * sin(half)
    return radians(rise_mm / (2.0 * cos(half) * cos(half)))


def loaded_angle_from_depth(
    *, depth_mm: Number, shoulder_centre_mm: Number, roll_radius_mm: Number
) -> Number:
    """Bend angle under load from punch tip travel: `ram_depth` inverted in closed form.

    Formula: x_s sin(phi) + (R - D) cos(phi) = R, so phi = asin(R/H) - atan2(R - D, x_s) with
        H = sqrt(x_s^2 + (R - D)^2); the smaller root, where the angle still grows with the travel.

    Args:
        depth_mm: punch tip travel from first touch [mm], 0 or more.
        shoulder_centre_mm: x_s of `shoulder_centre` [mm].
        roll_radius_mm: R = Rs + t + ri [mm].

    Returns: the bend angle under load [deg].

    Raises: ShopError `out_of_range` for a negative depth, `too_deep` where the flanks have rolled
        up on the shoulders and no angle belongs to the travel.

    References: derived here from `ram_depth`.

    >>> round(loaded_angle_from_depth(depth_mm=6.166937188, shoulder_centre_mm=8.65221856,
    ...                               roll_radius_mm=6.0), 6)
    90.0
    """
    need_between("depth_mm", depth_mm, 0.0, 1e5, "mm")
    rest_mm = roll_radius_mm - depth_mm
    under_root = shoulder_centre_mm * shoulder_centre_mm + depth_mm * (
        depth_mm - 2.0 * roll_radius_mm
    )
    if isinstance(under_root, float):
        if under_root < 0.0:
            raise ShopError(
                "too_deep",
                say("At {depth} the sheet no longer rests on the die.", depth=_mm(depth_mm)),
                remedy="Reduce the depth, or use a wider V.",
                where="depth_mm",
            )
    elif bool((under_root < 0.0).any()):
        raise ShopError(
            "too_deep",
            "At one of the depths the sheet no longer rests on the die.",
            remedy="Reduce the depth, or use a wider V.",
            where="depth_mm",
        )
    half = arctan2(roll_radius_mm, sqrt(under_root)) - arctan2(rest_mm, shoulder_centre_mm)
    return degrees(2.0 * half)


def largest_loaded_angle(
    *, shoulder_centre_mm: Number, roll_radius_mm: Number, die_angle_deg: Number
) -> Number:
    """Largest bend angle under load that an air bend in this die can have.

    Formula: A_max = min(180 - g, 2 asin(x_s / R)): the flank reaches the die's wall, or the
        straight flank between punch and shoulder has shrunk to nothing.

    Args:
        shoulder_centre_mm: x_s of `shoulder_centre` [mm].
        roll_radius_mm: R = Rs + t + ri [mm].
        die_angle_deg: angle of the V [deg].

    Returns: the angle [deg].

    References: derived here.

    >>> largest_loaded_angle(shoulder_centre_mm=8.652217, roll_radius_mm=6.0, die_angle_deg=86.0)
    94.0
    """
    one = shoulder_centre_mm / shoulder_centre_mm
    lifts_off = degrees(2.0 * arcsin(smaller(one, shoulder_centre_mm / roll_radius_mm)))
    return smaller(180.0 - die_angle_deg, lifts_off)


def straight_flank(
    *, loaded_bend_angle_deg: Number, shoulder_centre_mm: Number, roll_radius_mm: Number
) -> Number:
    """Length of the straight sheet between the inside arc and the shoulder contact, each side.

    Formula: f = (x_s - R sin(phi)) / cos(phi)

    Args:
        loaded_bend_angle_deg: bend angle under load [deg].
        shoulder_centre_mm: x_s of `shoulder_centre` [mm].
        roll_radius_mm: R = Rs + t + ri [mm].

    Returns: the length [mm]; not below 0.

    References: derived here.

    >>> round(straight_flank(loaded_bend_angle_deg=90.0, shoulder_centre_mm=8.652217,
    ...                      roll_radius_mm=6.0), 4)
    6.2361
    """
    half = radians(loaded_bend_angle_deg) / 2
    flank_mm = (shoulder_centre_mm - roll_radius_mm * sin(half)) / cos(half)
    return larger(flank_mm, 0.0 * flank_mm)


def minimum_flange(
    *, loaded_bend_angle_deg: Number, shoulder_centre_mm: Number, shoulder_radius_mm: Number
) -> Number:
    """Shortest outside flange that still rests on the shoulder at the loaded angle, no margin.

    Formula: b = (x_s - Rs sin(phi)) / cos(phi)

    Args:
        loaded_bend_angle_deg: bend angle under load [deg], below 180.
        shoulder_centre_mm: x_s of `shoulder_centre` [mm].
        shoulder_radius_mm: radius on the V's edges [mm].

    Returns: the outside dimension of the flange [mm].

    References: derived here; with Rs = 0 at 90 it is the trade's 0.71 V.

    >>> round(minimum_flange(loaded_bend_angle_deg=90.0, shoulder_centre_mm=8.652217,
    ...                      shoulder_radius_mm=1.5), 3)
    10.736
    """
    half = radians(loaded_bend_angle_deg) / 2
    return (shoulder_centre_mm - shoulder_radius_mm * sin(half)) / cos(half)


def die_room(*, v_opening_mm: float, die_angle_deg: float) -> float:
    """Depth of a sharp V below the die top: the deepest the sheet's outer face can go.

    Formula: h = (V/2) / tan(g/2)

    Args:
        v_opening_mm: V opening [mm].
        die_angle_deg: angle of the V [deg].

    Returns: the depth [mm]. A die with a flat-bottomed V has less; its profile then governs.

    References: plane geometry.

    >>> round(die_room(v_opening_mm=16.0, die_angle_deg=90.0), 6)
    8.0
    """
    return v_opening_mm / 2 / tan(radians(die_angle_deg) / 2)


def _mm(value: float | FloatArray) -> Amount:
    return Amount(float(value), "mm")
