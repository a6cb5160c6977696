"""How a bend answers: the angle a travel leaves, and how far each unknown moves it.

Closed-form slopes of the air bend of `ram_depth` and `springback`, for many bends at once. They are
what learning from trials, predicted bands and valid-for ranges are made of.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from server.mechanics.air_bend import Bending
from server.mechanics.elementary import FloatArray

LEAST_FLANK_RATIO = 0.02
"""Below this share of x_s no straight flank is left and the slopes have no meaning: the travel is
held there, so that a trial typed absurdly deep still gives finite numbers."""


class Sheets(NamedTuple):
    """The constant lengths of several bends, one entry each: `Bending` turned on its side."""

    thickness_mm: FloatArray
    shoulder_centre_mm: FloatArray
    roll_radius_mm: FloatArray
    loaded_inside_radius_mm: FloatArray
    unloading_curvature_per_mm: FloatArray


class BendResponse(NamedTuple):
    """Angles and slopes of several bends; a slope is degrees of bend angle after release.

    `per_travel` [deg per mm], `per_radius` and `per_springback` [deg for one unit of the natural
    logarithm of the multiplier], `per_thickness` [deg per mm] with the travel from first touch kept.
    """

    bend_angle_deg: FloatArray
    loaded_bend_angle_deg: FloatArray
    springback_deg: FloatArray
    per_travel: FloatArray
    per_radius: FloatArray
    per_springback: FloatArray
    per_thickness: FloatArray


def stacked(sheets: Sequence[Bending]) -> Sheets:
    """Several bends' constants side by side, for `bend_response`."""
    columns = np.asarray(sheets, dtype=np.float64).reshape(len(sheets), 5)
    return Sheets(*columns.T)


def bend_response(
    *,
    sheets: Sheets,
    depth_mm: FloatArray,
    log_radius_factor: float = 0.0,
    log_springback_factor: float = 0.0,
    thickness_off_mm: float = 0.0,
) -> BendResponse:
    """Bend angles that travels leave, with their slopes.

    Formula: A_load by `loaded_angle_from_depth` with ri e^p, t + dt; A = A_load - S; with
        D' = (x_s - R sin(phi))/(2 cos(phi)^2): dA_load/dD = 1/D', dA_load/dp = (sec(phi)-1) ri/D',
        dA_load/dt = (sec(phi)-1)/D'; S = k e^q [(ri + t/2) A_load + f] and its own slopes

    Args:
        sheets: unlearned constants of the bends, from `stacked`.
        depth_mm: punch tip travel from first touch of each bend [mm], shape (n,).
        log_radius_factor: p, logarithm of the multiplier of the inside radius under load [ratio].
        log_springback_factor: q, logarithm of the multiplier of the springback [ratio].
        thickness_off_mm: true less measured thickness [mm].

    Returns: a `BendResponse`, every entry of shape (n,); angles are not below 0.

    References: derivatives of `ram_depth` and `springback`, derived here; the tests hold them
        against differences of `angles_for_depth`.

    >>> sheet = stacked([Bending(2.0, 8.652217, 6.06, 2.56, 0.002252)])
    >>> answer = bend_response(sheets=sheet, depth_mm=np.array([6.259]))
    >>> round(float(answer.bend_angle_deg[0]), 1), round(float(answer.per_travel[0]), 1)
    (90.0, 12.8)
    """
    radius_mm = sheets.loaded_inside_radius_mm * np.exp(log_radius_factor)
    thickness_mm = sheets.thickness_mm + thickness_off_mm
    roll_mm = sheets.roll_radius_mm + (
        radius_mm - sheets.loaded_inside_radius_mm + thickness_off_mm
    )
    curvature = (
        sheets.unloading_curvature_per_mm
        * np.exp(log_springback_factor)
        * (sheets.thickness_mm / thickness_mm)
    )
    half = _half_angle(sheets.shoulder_centre_mm, roll_mm, depth_mm)
    sine, cosine = np.sin(half), np.cos(half)
    flank_mm = (sheets.shoulder_centre_mm - roll_mm * sine) / cosine
    depth_per_rad = flank_mm / cosine / 2
    rise = 1.0 / cosine - 1.0
    middle_mm = radius_mm + thickness_mm / 2
    lost = curvature * (middle_mm * 2 * half + flank_mm)
    kept = 1.0 - curvature * (
        middle_mm + (sheets.shoulder_centre_mm * sine - roll_mm) / cosine**2 / 2
    )
    tangent = sine / cosine
    lost_per_thickness = -lost / thickness_mm + curvature * (half - tangent)
    degrees = np.degrees
    return BendResponse(
        bend_angle_deg=np.maximum(0.0, degrees(2 * half - lost)),
        loaded_bend_angle_deg=degrees(2 * half),
        springback_deg=degrees(lost),
        per_travel=degrees(kept / depth_per_rad),
        per_radius=degrees(
            radius_mm * (kept * rise / depth_per_rad - curvature * (2 * half - tangent))
        ),
        per_springback=degrees(-lost),
        per_thickness=degrees(kept * rise / depth_per_rad - lost_per_thickness),
    )


def _half_angle(centre_mm: FloatArray, roll_mm: FloatArray, depth_mm: FloatArray) -> FloatArray:
    """Half the angle under load; the travel is held where hardly any flank is left."""
    under = roll_mm**2 - (1.0 - LEAST_FLANK_RATIO**2) * centre_mm**2
    deepest_mm = np.where(under > 0.0, roll_mm - np.sqrt(np.maximum(under, 0.0)), np.inf)
    travel_mm = np.clip(depth_mm, 0.0, deepest_mm)
    flank_mm = np.sqrt(centre_mm**2 + travel_mm * (travel_mm - 2.0 * roll_mm))
    half: FloatArray = np.arctan2(roll_mm, flank_mm) - np.arctan2(roll_mm - travel_mm, centre_mm)
    return half
