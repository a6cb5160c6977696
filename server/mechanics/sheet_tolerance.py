"""How far a delivered sheet may be from its nominal thickness, by product standard.

Thickness is the largest angle error at the brake, so the page shows what the mill may deliver
beside what was measured. The tables hold only rows that were read in a copy of the standard, and
one that is marked as from memory; anywhere else the look-up says so instead of guessing.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from server.errors import Amount, ShopError, say
from server.mechanics.elementary import need_above
from server.units.length import mm_from_inches

SheetStandard = Literal["EN 10131", "EN 10051", "EN 10259", "EN 485-4"]
MillProduct = Literal["hot rolled", "cold rolled"]


@dataclass(frozen=True, slots=True)
class ToleranceRow:
    """One thickness range; `deviations_mm` by sheet width, `special_mm` the tighter order."""

    over_mm: float
    to_mm: float
    deviations_mm: tuple[float, float, float]
    special_mm: float | None = None
    from_memory: bool = False


@dataclass(frozen=True, slots=True)
class ToleranceTable:
    """A standard's table; widths up to the first, the second, and above or up to the third.

    `lower_included` says whether a thickness on the border belongs to the upper range.
    """

    widths_mm: tuple[float, float, float]
    rows: tuple[ToleranceRow, ...]
    lower_included: bool
    about: str


UNLIMITED_MM = 1e9
TABLES: Mapping[SheetStandard, ToleranceTable] = {
    "EN 10131": ToleranceTable(
        (1200.0, 1500.0, UNLIMITED_MM),
        (
            ToleranceRow(0.60, 0.80, (0.04, 0.05, 0.06), 0.030),
            ToleranceRow(0.80, 1.00, (0.05, 0.06, 0.07), 0.035),
            ToleranceRow(1.00, 1.20, (0.06, 0.07, 0.08), 0.040),
            ToleranceRow(1.20, 1.60, (0.08, 0.09, 0.10), 0.050),
            ToleranceRow(1.60, 2.00, (0.10, 0.11, 0.12), 0.060),
            ToleranceRow(2.00, 2.50, (0.12, 0.13, 0.14), 0.080),
            ToleranceRow(2.50, 3.00, (0.15, 0.15, 0.16), 0.100),
        ),
        lower_included=False,
        about="cold rolled steel with a yield strength below 260 MPa",
    ),
    "EN 10051": ToleranceTable(
        (1200.0, 1500.0, UNLIMITED_MM),
        (
            ToleranceRow(0.0, 2.00, (0.17, 0.19, 0.21)),
            ToleranceRow(2.00, 2.50, (0.18, 0.21, 0.23), from_memory=True),
            ToleranceRow(2.50, 3.00, (0.20, 0.22, 0.24)),
            ToleranceRow(3.00, 4.00, (0.22, 0.24, 0.26)),
            ToleranceRow(4.00, 5.00, (0.24, 0.26, 0.28)),
            ToleranceRow(5.00, 6.00, (0.26, 0.28, 0.29)),
        ),
        lower_included=False,
        about="hot rolled steel, category A",
    ),
    "EN 10259": ToleranceTable(
        (1000.0, 1250.0, 1500.0),
        (
            ToleranceRow(1.00, 1.20, (0.06, 0.07, 0.07)),
            ToleranceRow(1.50, 2.00, (0.08, 0.09, 0.10)),
            ToleranceRow(2.00, 2.50, (0.09, 0.10, 0.11)),
            ToleranceRow(3.00, 4.00, (0.13, 0.14, 0.14)),
        ),
        lower_included=True,
        about="cold rolled stainless wide strip, now ISO 9445-2",
    ),
    "EN 485-4": ToleranceTable(
        (1000.0, 1250.0, 1600.0),
        (
            ToleranceRow(0.8, 1.0, (0.05, 0.08, 0.09)),
            ToleranceRow(1.2, 1.5, (0.07, 0.11, 0.12)),
            ToleranceRow(1.8, 2.0, (0.09, 0.13, 0.14)),
            ToleranceRow(2.5, 3.0, (0.11, 0.15, 0.17)),
        ),
        lower_included=False,
        about="cold rolled aluminium, alloys of group II",
    ),
}
"""EN 10131:2006 table 1; EN 10051 category A; EN 10259 / ISO 9445 as a stockholder summarises it;
EN 485-4:1994 table 1. Rows marked from memory were not read in a copy."""

MILL_RANGE_IN: Mapping[MillProduct, Mapping[int, tuple[float, float]]] = {
    "hot rolled": {10: (0.126, 0.142), 12: (0.097, 0.113), 14: (0.068, 0.082)},
    "cold rolled": {10: (0.128, 0.140), 12: (0.099, 0.112), 14: (0.070, 0.080)},
}
"""Least and greatest thickness of steel sheet by gauge number, in inches: a gauge table with mill
tolerances, values as in the older ASTM A568."""


def thickness_tolerance(
    *,
    standard: SheetStandard,
    thickness_mm: float,
    width_mm: float,
    special: bool = False,
) -> float:
    """Permissible deviation of a sheet from its nominal thickness, either way.

    Formula: table look-up by nominal thickness and by the width the mill rolled

    Args:
        standard: the product standard the sheet was ordered to.
        thickness_mm: nominal thickness [mm], above 0.
        width_mm: nominal width of the wide strip or sheet [mm], above 0.
        special: whether the standard's special (tighter) deviation was ordered.

    Returns: the deviation [mm], to be read as plus or minus.

    Raises: ShopError `unknown_standard`, `out_of_range`, or `out_of_table` where no row was read.

    References: EN 10131:2006, EN 10051, EN 10259 / ISO 9445-2, EN 485-4:1994, as each row says.

    >>> thickness_tolerance(standard="EN 10131", thickness_mm=2.0, width_mm=1250.0)
    0.11
    """
    need_above("thickness_mm", thickness_mm, 0.0, "mm")
    need_above("width_mm", width_mm, 0.0, "mm")
    table = TABLES.get(standard)
    if table is None:
        raise ShopError(
            "unknown_standard",
            say("There is no thickness table for '{standard}'.", standard=str(standard)),
            remedy=say("Tables: {names}.", names=", ".join(TABLES)),
            where="standard",
        )
    for row in table.rows:
        if not _holds(row, thickness_mm, lower_included=table.lower_included):
            continue
        if special:
            if row.special_mm is not None and width_mm <= table.widths_mm[0]:
                return row.special_mm
            break
        for width_to_mm, deviation_mm in zip(table.widths_mm, row.deviations_mm, strict=True):
            if width_mm <= width_to_mm:
                return deviation_mm
    raise ShopError(
        "out_of_table",
        say(
            "Our table of {standard} has no value for {thickness} at {width} width.",
            standard=standard,
            thickness=Amount(thickness_mm, "mm"),
            width=Amount(width_mm, "mm"),
        ),
        remedy="Look it up in the standard, and measure the sheet in any case.",
        where="thickness_mm",
    )


def gauge_thickness_range(*, gauge_count: int, product: MillProduct) -> tuple[float, float]:
    """Least and greatest thickness a mill may deliver for a steel gauge number.

    Formula: table look-up

    Args:
        gauge_count: gauge number [count].
        product: hot rolled (also pickled and oiled) or cold rolled sheet.

    Returns: (least, greatest) thickness [mm].

    Raises: ShopError `out_of_table` where the number has no row.

    References: a gauge table with mill tolerance ranges, as in the older ASTM A568.

    >>> [round(limit, 3) for limit in gauge_thickness_range(gauge_count=10, product="hot rolled")]
    [3.2, 3.607]
    """
    limits = MILL_RANGE_IN.get(product, {}).get(gauge_count)
    if limits is None:
        raise ShopError(
            "out_of_table",
            say("There is no mill range for gauge {gauge}.", gauge=str(gauge_count)),
            remedy="Measure the sheet.",
            where="gauge_count",
        )
    return mm_from_inches(limits[0]), mm_from_inches(limits[1])


def _holds(row: ToleranceRow, thickness_mm: float, *, lower_included: bool) -> bool:
    if lower_included:
        return row.over_mm <= thickness_mm < row.to_mm
    return row.over_mm < thickness_mm <= row.to_mm
