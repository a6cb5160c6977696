"""What may be off on a set-up, from what is known of it: touch-off, sheet measured or not, standard."""

import math
from dataclasses import replace

from server.mechanics.control_reading import TouchOffOn
from server.mechanics.elementary import need_above
from server.mechanics.measured_thickness import allowed_deviation
from server.mechanics.setup_fit import SetupScatter
from server.mechanics.sheet_tolerance import SheetStandard

MEAN_TO_TOLERANCE_RATIO = 1 / 2.5
PIECE_TO_TOLERANCE_RATIO = 0.10
"""A mill's sheets lie within the standard's tolerance: their mean is taken normal with the tolerance
at 2.5 standard deviations, and pieces of one sheet differ from each other by a tenth of the
tolerance. The tolerance is the standard's, the shares are our estimate."""
UNCHECKED_TOUCH_OFF_SD_MM = 0.30
"""A touch-off predicted from tool heights that nobody looked at: our estimate."""
MICROMETER_STEP_MM = 0.01


def setup_scatter(
    *,
    usual: SetupScatter,
    touch_off_on: TouchOffOn,
    touch_off_checked: bool,
    thickness_mm: float,
    thickness_measured: bool,
    standard: SheetStandard | None = None,
    sheet_width_mm: float | None = None,
) -> SetupScatter:
    """The scatter of one set-up.

    Formula: thickness: the reading's own deviation and the micrometer's step where the sheet was
        measured, else a 2.5th of the standard's tolerance; pieces: a tenth of the tolerance;
        touch-off: the usual, or 0.30 mm where it was only predicted

    Args:
        usual: the shop's settings; give the answer to `scatter_seen` afterwards.
        touch_off_on: the job's own sheet, or the die.
        touch_off_checked: whether somebody touched off on this set-up.
        thickness_mm: the sheet's thickness [mm], above 0.
        thickness_measured: whether it was measured.
        standard: product standard of the sheet, None when not known.
        sheet_width_mm: width of the sheet [mm], None when not known.

    Returns: a `SetupScatter`.

    Raises: ShopError `out_of_range` for a thickness that is not above 0.

    References: tolerances of `sheet_tolerance`; the shares are our estimate.

    >>> told = setup_scatter(usual=SetupScatter(), touch_off_on="die", touch_off_checked=True,
    ...     thickness_mm=2.0, thickness_measured=False, standard="EN 10131", sheet_width_mm=1250.0)
    >>> round(told.thickness_sd_mm, 3), round(told.piece_thickness_sd_mm, 3)
    (0.044, 0.011)
    """
    need_above("thickness_mm", thickness_mm, 0.0, "mm")
    tolerance_mm = allowed_deviation(
        thickness_mm=thickness_mm, standard=standard, sheet_width_mm=sheet_width_mm
    )[0]
    read_mm = math.hypot(usual.thickness_sd_mm, MICROMETER_STEP_MM / math.sqrt(12))
    touch_off_mm = usual.touch_off_sd_mm
    return replace(
        usual,
        touch_off_on=touch_off_on,
        touch_off_sd_mm=(
            touch_off_mm if touch_off_checked else max(touch_off_mm, UNCHECKED_TOUCH_OFF_SD_MM)
        ),
        thickness_sd_mm=read_mm if thickness_measured else tolerance_mm * MEAN_TO_TOLERANCE_RATIO,
        piece_thickness_sd_mm=tolerance_mm * PIECE_TO_TOLERANCE_RATIO,
    )
