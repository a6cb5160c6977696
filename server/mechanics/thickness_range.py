"""The thicknesses a keyed Y is good for: where the predicted angle leaves its tolerance."""

import numpy as np

from server.mechanics.air_bend import Bending
from server.mechanics.bend_response import bend_response, stacked
from server.mechanics.control_reading import TouchOffOn
from server.mechanics.elementary import FloatArray, need_above

WIDEST_RATIO = 0.4
GRID_COUNT = 401


def thickness_range(
    *,
    sheet: Bending,
    depth_mm: float,
    tolerance_deg: float,
    touch_off_on: TouchOffOn,
    angle_off_deg: float = 0.0,
) -> tuple[float, float]:
    """Least and greatest thickness for which a keyed travel still bends within tolerance.

    Formula: |A(t + dt) - A(t) + off| <= tolerance; touched off on the sheet the travel stays, on
        the die the position, so that a sheet thicker by dt is bent with dt more travel

    Args:
        sheet: the bend's constants at the thickness the travel is for, learned or not.
        depth_mm: punch tip travel from first touch of that sheet [mm].
        tolerance_deg: tolerance of the bend angle, either way [deg], above 0.
        touch_off_on: what each new sheet is touched off on: itself, or the die.
        angle_off_deg: how far off the bend is expected to be already [deg].

    Returns: (least, greatest) thickness [mm], at most 40 % from the sheet's; both its own thickness
        where the bend is outside its tolerance already.

    Raises: ShopError `out_of_range` for a tolerance that is not above 0.

    References: `bend_response`.

    >>> sheet = Bending(2.0, 8.6522, 6.06, 2.56, 0.0025)
    >>> least, most = thickness_range(sheet=sheet, depth_mm=6.27, tolerance_deg=1.0,
    ...                               touch_off_on="die")
    >>> round(least, 2), round(most, 2)
    (1.95, 2.05)
    """
    need_above("tolerance_deg", tolerance_deg, 0.0, "deg")
    steps = np.linspace(-WIDEST_RATIO, WIDEST_RATIO, GRID_COUNT) * sheet.thickness_mm
    off_deg = _angles(sheet, depth_mm, steps, touch_off_on)
    middle = GRID_COUNT // 2
    off_deg = off_deg - off_deg[middle] + angle_off_deg
    if abs(off_deg[middle]) > tolerance_deg:
        return sheet.thickness_mm, sheet.thickness_mm
    least = _last_within(off_deg[middle::-1], steps[middle::-1], tolerance_deg)
    most = _last_within(off_deg[middle:], steps[middle:], tolerance_deg)
    return sheet.thickness_mm + least, sheet.thickness_mm + most


def _angles(
    sheet: Bending, depth_mm: float, steps_mm: FloatArray, touch_off_on: TouchOffOn
) -> FloatArray:
    """Bend angles of sheets thicker by the steps."""
    moved = [
        Bending(
            sheet.thickness_mm + step,
            sheet.shoulder_centre_mm,
            sheet.roll_radius_mm + step,
            sheet.loaded_inside_radius_mm,
            sheet.unloading_curvature_per_mm * sheet.thickness_mm / (sheet.thickness_mm + step),
        )
        for step in steps_mm.tolist()
    ]
    travel_mm = depth_mm + (steps_mm if touch_off_on == "die" else 0.0 * steps_mm)
    return bend_response(sheets=stacked(moved), depth_mm=travel_mm).bend_angle_deg


def _last_within(off_deg: FloatArray, steps_mm: FloatArray, tolerance_deg: float) -> float:
    """How far the steps go before the angle leaves the tolerance, between two of them by line."""
    outside = np.abs(off_deg) > tolerance_deg
    if not outside.any():
        return float(steps_mm[-1])
    first = int(np.argmax(outside))
    inside_deg, outside_deg = float(off_deg[first - 1]), float(off_deg[first])
    edge_deg = tolerance_deg if outside_deg > 0 else -tolerance_deg
    share = (edge_deg - inside_deg) / (outside_deg - inside_deg)
    return float(steps_mm[first - 1] + share * (steps_mm[first] - steps_mm[first - 1]))
