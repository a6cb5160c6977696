"""What a measured sheet thickness says: how far from nominal, how even, and whether to believe it.

Thickness is the largest angle error at the brake, so every lot is measured before it is bent.
"""

import math
from collections.abc import Iterator, Sequence

from server.errors import Amount, ShopError, say
from server.findings import Finding, sorted_by_level
from server.mechanics.elementary import need_above
from server.mechanics.sheet_tolerance import TABLES, SheetStandard, thickness_tolerance
from server.units.sheet_gauge import RANGE, GaugeFamily, gauge_thickness_mm

UNKNOWN_TOLERANCE_RATIO = 0.12
"""How far a sheet may be from nominal where no standard is named: about one gauge number. Common
practice, no source."""
ANGLE_PER_RATIO_DEG = 34.0
"""Bend angle lost for a relative change of thickness at a fixed Y, at V = 8 t: derived here."""
MENTION_DEG = 0.25


def mean_thickness(*, readings_mm: Sequence[float]) -> float:
    """Thickness of a sheet from readings at its edges.

    Formula: arithmetic mean

    Args:
        readings_mm: the readings [mm], one or more, each above 0.

    Returns: the mean [mm].

    Raises: ShopError `out_of_range` for a reading that is not above 0 or when there is none.

    References: definition.

    >>> mean_thickness(readings_mm=(2.0, 2.02, 1.98, 2.0))
    2.0
    """
    if not readings_mm:
        raise ShopError(
            "out_of_range",
            "There is no thickness reading.",
            remedy="Measure the sheet at its four edges.",
            where="readings_mm",
        )
    for reading_mm in readings_mm:
        need_above("readings_mm", reading_mm, 0.0, "mm")
    return math.fsum(readings_mm) / len(readings_mm)


def angle_error_from_thickness(*, thickness_mm: float, difference_mm: float) -> float:
    """Bend angle that a difference of thickness costs when Y stays as it is.

    Formula: 34 deg x difference / t, at V = 8 t

    Args:
        thickness_mm: thickness Y was set for [mm], above 0.
        difference_mm: how much thicker the sheet is [mm], negative when thinner.

    Returns: the change of the bend angle [deg], positive for a thicker sheet.

    Raises: ShopError `out_of_range` for a thickness that is not above 0.

    References: derived here from the depth of a 90 degree bend at V = 8 t, touched off on the die.

    >>> round(angle_error_from_thickness(thickness_mm=2.0, difference_mm=0.1), 2)
    1.7
    """
    need_above("thickness_mm", thickness_mm, 0.0, "mm")
    return ANGLE_PER_RATIO_DEG * difference_mm / thickness_mm


def check_measured_thickness(
    *,
    thickness_mm: float,
    readings_mm: Sequence[float],
    standard: SheetStandard | None = None,
    sheet_width_mm: float | None = None,
    gauge_family: GaugeFamily | None = None,
) -> tuple[Finding, ...]:
    """Whether a measured sheet is what it was bought as, and how even it is.

    Args:
        thickness_mm: nominal thickness [mm], above 0.
        readings_mm: readings at the edges [mm], one or more.
        standard: product standard the sheet was ordered to, None when not known.
        sheet_width_mm: width of the sheet [mm], None when not known.
        gauge_family: family whose gauge table names the nearest gauge, None for none.

    Returns: cautions first, then notes.

    Raises: ShopError `out_of_range` outside the stated ranges.
    """
    need_above("thickness_mm", thickness_mm, 0.0, "mm")
    mean_mm = mean_thickness(readings_mm=readings_mm)
    allowed_mm, source = allowed_deviation(
        thickness_mm=thickness_mm, standard=standard, sheet_width_mm=sheet_width_mm
    )
    return sorted_by_level(
        (
            *_deviation(thickness_mm, mean_mm, allowed_mm, source, gauge_family),
            *_evenness(mean_mm, readings_mm),
        )
    )


def allowed_deviation(
    *, thickness_mm: float, standard: SheetStandard | None, sheet_width_mm: float | None
) -> tuple[float, str]:
    """How far a sheet may be from nominal, either way, and where that is from.

    Formula: the standard's table; 12 % of nominal where no standard is known or it has no row

    Args:
        thickness_mm: nominal thickness [mm], above 0.
        standard: product standard the sheet was ordered to, None when not known.
        sheet_width_mm: width of the sheet [mm], None when not known: the table's middle width.

    Returns: the deviation [mm] and its source.

    References: the standards of `sheet_tolerance`; else common practice, no source.

    >>> allowed_deviation(thickness_mm=2.0, standard="EN 10131", sheet_width_mm=1250.0)
    (0.11, 'EN 10131')
    >>> round(allowed_deviation(thickness_mm=2.0, standard=None, sheet_width_mm=None)[0], 3)
    0.24
    """
    if standard is not None:
        width_mm = sheet_width_mm or TABLES[standard].widths_mm[1]
        try:
            return (
                thickness_tolerance(
                    standard=standard, thickness_mm=thickness_mm, width_mm=width_mm
                ),
                standard,
            )
        except ShopError:
            pass  # the table has no such row: the rule of thumb says so in its source
    return (
        UNKNOWN_TOLERANCE_RATIO * thickness_mm,
        "12 % of nominal, about one gauge number: common practice, no source",
    )


def nearest_gauge(*, family: GaugeFamily, thickness_mm: float) -> int:
    """The gauge number whose thickness is nearest.

    Formula: least |t(gauge) - t| over the family's table

    Args:
        family: the sheet family whose table is meant.
        thickness_mm: thickness [mm].

    Returns: the gauge number.

    References: the gauge tables of `units.sheet_gauge`.

    >>> nearest_gauge(family="steel", thickness_mm=1.52)
    16
    """
    least, most = RANGE[family]
    return min(
        range(least, most + 1),
        key=lambda gauge: abs(gauge_thickness_mm(family=family, gauge=gauge) - thickness_mm),
    )


def _deviation(
    thickness_mm: float,
    mean_mm: float,
    allowed_mm: float,
    source: str,
    gauge_family: GaugeFamily | None,
) -> Iterator[Finding]:
    off_mm = mean_mm - thickness_mm
    percent = Amount(100 * off_mm / thickness_mm, "percent")
    if abs(off_mm) > allowed_mm * (1 + 1e-9):
        near = ""
        if gauge_family is not None:
            gauge = nearest_gauge(family=gauge_family, thickness_mm=mean_mm)
            near = f" It is nearest to {gauge} gauge {gauge_family}."
        yield Finding(
            "caution",
            "thickness_outside_tolerance",
            say(
                "Measured {mean}, {percent} from {nominal}: more than the {allowed} allowed.",
                mean=Amount(mean_mm, "mm"),
                percent=percent,
                nominal=Amount(thickness_mm, "mm"),
                allowed=Amount(allowed_mm, "mm"),
            ),
            say(
                "Measure again, and check whether it is the sheet its label says.{near}",
                near=near,
            ),
            source=source,
            amount=Amount(off_mm, "mm"),
        )
    elif off_mm:
        yield Finding(
            "note",
            "thickness_differs",
            say(
                "Measured {mean}, {percent} from nominal and within {allowed}. Set-ups with this "
                "lot compute X, Y and stroke heights for it.",
                mean=Amount(mean_mm, "mm"),
                percent=percent,
                allowed=Amount(allowed_mm, "mm"),
            ),
            source=source,
            amount=Amount(off_mm, "mm"),
        )


def _evenness(mean_mm: float, readings_mm: Sequence[float]) -> Iterator[Finding]:
    spread_mm = max(readings_mm) - min(readings_mm)
    angle_deg = angle_error_from_thickness(thickness_mm=mean_mm, difference_mm=spread_mm)
    if angle_deg >= MENTION_DEG:
        yield Finding(
            "caution" if angle_deg >= 1.0 else "note",
            "thickness_uneven",
            say(
                "The edges differ by {spread}: about {angle} of bend angle at one Y.",
                spread=Amount(spread_mm, "mm"),
                angle=Amount(angle_deg, "deg"),
            ),
            say("Keep blanks from one side of the sheet together, and check angles more often."),
            source="34° x dt/t at V = 8 t, derived here",
            amount=Amount(spread_mm, "mm"),
        )
