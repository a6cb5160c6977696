"""General tolerances of lengths, angles and squareness, for drawings that name only a class.

ISO 2768-1:1989 gives lengths and angles (classes f, m, c, v), ISO 2768-2:1989 squareness (H, K, L),
DIN 6935 the bend angle of cold bent steel. ISO 2768-2 was withdrawn in 2021 and replaced by
ISO 22081, which has no tables: the table stays for the drawings that still name it.
"""

from collections.abc import Mapping, Sequence
from typing import Literal, TypeVar

from server.errors import Amount, ShopError, say
from server.findings import Finding
from server.mechanics.elementary import need_above

ToleranceClass = Literal["f", "m", "c", "v"]
SquarenessClass = Literal["H", "K", "L"]
Class = TypeVar("Class", bound=str)
Row = TypeVar("Row")
Cell = TypeVar("Cell")

LENGTH_TO_MM = (3.0, 6.0, 30.0, 120.0, 400.0, 1000.0, 2000.0, 4000.0)
LENGTH_LEAST_MM = 0.5
LINEAR_MM: Mapping[ToleranceClass, tuple[float | None, ...]] = {
    "f": (0.05, 0.05, 0.1, 0.15, 0.2, 0.3, 0.5, None),
    "m": (0.1, 0.1, 0.2, 0.3, 0.5, 0.8, 1.2, 2.0),
    "c": (0.2, 0.3, 0.5, 0.8, 1.2, 2.0, 3.0, 4.0),
    "v": (None, 0.5, 1.0, 1.5, 2.5, 4.0, 6.0, 8.0),
}
LEG_TO_MM = (10.0, 50.0, 120.0, 400.0)
ANGULAR_ARC_MINUTES: Mapping[ToleranceClass, tuple[int, ...]] = {
    "f": (60, 30, 20, 10, 5),
    "m": (60, 30, 20, 10, 5),
    "c": (90, 60, 30, 15, 10),
    "v": (180, 120, 60, 30, 20),
}
SIDE_TO_MM = (100.0, 300.0, 1000.0, 3000.0)
SQUARENESS_MM: Mapping[SquarenessClass, tuple[float, ...]] = {
    "H": (0.2, 0.3, 0.4, 0.5),
    "K": (0.4, 0.6, 0.8, 1.0),
    "L": (0.6, 1.0, 1.5, 2.0),
}
DIN6935_LEG_TO_MM = (30.0, 50.0, 80.0, 120.0)
DIN6935_ANGLE_DEG = (2.0, 1.75, 1.5, 1.25, 1.0)
"""Cells not printed in the published cases stand between checked ones and are from memory; the
angles of DIN 6935 are from memory throughout."""

ORDINARY_BRAKE_DEG = 1.0
"""What an ordinary press brake holds, either way. Common practice, no source."""


def linear_tolerance(*, length_mm: float, tolerance_class: ToleranceClass) -> float:
    """Permissible deviation of a length, either way.

    Formula: table look-up by ranges over .. to, the lower end not included except 0.5

    Args:
        length_mm: nominal length [mm], 0.5 to 4000.
        tolerance_class: f fine, m medium, c coarse, v very coarse.

    Returns: the deviation [mm], to be read as plus or minus.

    Raises: ShopError `unknown_class`, or `out_of_table` where the class has no value: the
        drawing has to give the tolerance itself there.

    References: ISO 2768-1:1989, table 1.

    >>> linear_tolerance(length_mm=30.0, tolerance_class="m")
    0.2
    >>> linear_tolerance(length_mm=30.1, tolerance_class="m")
    0.3
    """
    row = _row(LINEAR_MM, tolerance_class, "ISO 2768-1")
    value_mm = None if not length_mm >= LENGTH_LEAST_MM else _cell(length_mm, LENGTH_TO_MM, row)
    if value_mm is None:
        raise _out_of_table("ISO 2768-1", tolerance_class, length_mm, "length_mm")
    return value_mm


def angular_tolerance(*, shorter_leg_mm: float, tolerance_class: ToleranceClass) -> float:
    """Permissible deviation of an angle, either way.

    Formula: table look-up by the length of the shorter leg

    Args:
        shorter_leg_mm: length of the shorter leg of the angle [mm], above 0.
        tolerance_class: f fine, m medium, c coarse, v very coarse.

    Returns: the deviation [deg], to be read as plus or minus.

    Raises: ShopError `unknown_class`, `out_of_range` for a leg that is not above 0.

    References: ISO 2768-1:1989, table 3.

    >>> angular_tolerance(shorter_leg_mm=40.0, tolerance_class="m")
    0.5
    """
    need_above("shorter_leg_mm", shorter_leg_mm, 0.0, "mm")
    row = _row(ANGULAR_ARC_MINUTES, tolerance_class, "ISO 2768-1")
    minutes = _cell(shorter_leg_mm, LEG_TO_MM, row[:-1])
    return (row[-1] if minutes is None else minutes) / 60


def squareness_tolerance(*, shorter_side_mm: float, tolerance_class: SquarenessClass) -> float:
    """Permissible deviation from a right angle, over the length of the shorter side.

    Formula: table look-up by the shorter side

    Args:
        shorter_side_mm: length of the shorter side of the right angle [mm], above 0, to 3000.
        tolerance_class: H, K or L.

    Returns: the width of the tolerance zone [mm].

    Raises: ShopError `unknown_class`, `out_of_range`, or `out_of_table` above 3000 mm.

    References: ISO 2768-2:1989, table 2, withdrawn 2021 and replaced by ISO 22081 (from memory).

    >>> squareness_tolerance(shorter_side_mm=250.0, tolerance_class="K")
    0.6
    """
    need_above("shorter_side_mm", shorter_side_mm, 0.0, "mm")
    row = _row(SQUARENESS_MM, tolerance_class, "ISO 2768-2")
    value_mm = _cell(shorter_side_mm, SIDE_TO_MM, row)
    if value_mm is None:
        raise _out_of_table("ISO 2768-2", tolerance_class, shorter_side_mm, "shorter_side_mm")
    return value_mm


def din6935_angle_tolerance(*, shorter_leg_mm: float) -> float:
    """Permissible deviation of a bend angle of cold bent steel, either way.

    Formula: table look-up by the length of the shorter leg

    Args:
        shorter_leg_mm: length of the shorter leg of the bend [mm], above 0.

    Returns: the deviation [deg], to be read as plus or minus.

    Raises: ShopError `out_of_range` for a leg that is not above 0.

    References: DIN 6935 (1975-10), permissible angle deviations (from memory, moderately sure).

    >>> din6935_angle_tolerance(shorter_leg_mm=60.0)
    1.5
    """
    need_above("shorter_leg_mm", shorter_leg_mm, 0.0, "mm")
    value_deg = _cell(shorter_leg_mm, DIN6935_LEG_TO_MM, DIN6935_ANGLE_DEG[:-1])
    return DIN6935_ANGLE_DEG[-1] if value_deg is None else value_deg


def check_angle_tolerance(*, tolerance_deg: float, bend: int | None = None) -> tuple[Finding, ...]:
    """Whether an ordinary press brake holds an angle tolerance.

    Args:
        tolerance_deg: permissible deviation either way [deg], above 0.
        bend: index of the bend, for the finding.

    Returns: a caution when the tolerance is tighter than a brake holds, else nothing.

    Raises: ShopError `out_of_range` for a tolerance that is not above 0.
    """
    need_above("tolerance_deg", tolerance_deg, 0.0, "deg")
    if tolerance_deg >= ORDINARY_BRAKE_DEG - 1e-9:
        return ()
    return (
        Finding(
            "caution",
            "angle_tolerance_tight",
            say(
                "The angle may be {tolerance} off; an ordinary brake holds {usual}.",
                tolerance=Amount(tolerance_deg, "deg"),
                usual=Amount(ORDINARY_BRAKE_DEG, "deg"),
            ),
            say("Measure every piece, or ask the customer for a wider tolerance."),
            source="common practice, no source",
            bend=bend,
            amount=Amount(ORDINARY_BRAKE_DEG - tolerance_deg, "deg"),
        ),
    )


def _row(table: Mapping[Class, Row], wanted: Class, standard: str) -> Row:
    if wanted not in table:
        raise ShopError(
            "unknown_class",
            say("{standard} has no class '{wanted}'.", standard=standard, wanted=str(wanted)),
            remedy=say("Classes: {classes}.", classes=", ".join(str(name) for name in table)),
            where="tolerance_class",
        )
    return table[wanted]


def _cell(size_mm: float, ranges_to_mm: Sequence[float], row: Sequence[Cell]) -> Cell | None:
    """The cell of the first range that reaches the size; None beyond the last."""
    for to_mm, cell in zip(ranges_to_mm, row, strict=True):
        if size_mm <= to_mm:
            return cell
    return None


def _out_of_table(standard: str, tolerance_class: str, size_mm: float, where: str) -> ShopError:
    return ShopError(
        "out_of_table",
        say(
            "{standard} class {wanted} has no value at {size}.",
            standard=standard,
            wanted=tolerance_class,
            size=Amount(size_mm, "mm"),
        ),
        remedy="Ask for the tolerance: the drawing has to give it here.",
        where=where,
    )
