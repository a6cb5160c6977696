"""How tall a box the tools let through: its standing sides swing up beside the holder."""

import math

from server.errors import Amount, say
from server.findings import Finding
from server.mechanics.elementary import need_above, need_between


def box_clear_height(*, side_height_mm: float, holder_width_mm: float = 0.0) -> float:
    """Clear height needed over the die for the last side of a box.

    Formula: h = sqrt(2) H + w/2: at 90 degrees the sides stand at 45 to the ram

    Args:
        side_height_mm: height H of the standing sides [mm], above 0.
        holder_width_mm: width w of punch holder or ram where the sides come up [mm], 0 or more.

    Returns: the height from the die top to whatever is wide above the punch [mm].

    Raises: ShopError `out_of_range` outside the stated ranges.

    References: common practice, no source; the factor is the diagonal of a square.

    >>> round(box_clear_height(side_height_mm=100.0))
    141
    """
    need_above("side_height_mm", side_height_mm, 0.0, "mm")
    need_between("holder_width_mm", holder_width_mm, 0.0, 1e4, "mm")
    return math.sqrt(2.0) * side_height_mm + holder_width_mm / 2


def tallest_box_side(*, clear_height_mm: float, holder_width_mm: float = 0.0) -> float:
    """Tallest side of a box under a clear height: `box_clear_height` inverted.

    Formula: H = (h - w/2) / sqrt(2), not below 0

    Args:
        clear_height_mm: height from the die top to what is wide above the punch [mm], above 0.
        holder_width_mm: width w of punch holder or ram [mm], 0 or more.

    Returns: the height of the sides [mm].

    Raises: ShopError `out_of_range` outside the stated ranges.

    References: `box_clear_height`.

    >>> round(tallest_box_side(clear_height_mm=141.42136), 3)
    100.0
    """
    need_above("clear_height_mm", clear_height_mm, 0.0, "mm")
    need_between("holder_width_mm", holder_width_mm, 0.0, 1e4, "mm")
    return max(0.0, (clear_height_mm - holder_width_mm / 2) / math.sqrt(2.0))


def check_box_height(
    *,
    side_height_mm: float,
    clear_height_mm: float,
    holder_width_mm: float = 0.0,
    bend: int | None = None,
) -> tuple[Finding, ...]:
    """Whether the sides of a box clear the holder in the last bends.

    A quick rule before tools are drawn; with drawn tools the clearance search decides.

    Args:
        side_height_mm: height of the standing sides [mm], above 0.
        clear_height_mm: height from the die top to what is wide above the punch [mm], above 0.
        holder_width_mm: width of punch holder or ram [mm], 0 or more.
        bend: index of the bend, for the finding.

    Returns: a caution when the sides would touch, else nothing.

    Raises: ShopError `out_of_range` from the formulas used.
    """
    needed_mm = box_clear_height(side_height_mm=side_height_mm, holder_width_mm=holder_width_mm)
    tallest_mm = tallest_box_side(clear_height_mm=clear_height_mm, holder_width_mm=holder_width_mm)
    if clear_height_mm >= needed_mm:
        return ()
    return (
        Finding(
            "caution",
            "box_too_tall",
            say(
                "Sides of {side} need {needed} clear over the die; there is {room}.",
                side=Amount(side_height_mm, "mm"),
                needed=Amount(needed_mm, "mm"),
                room=Amount(clear_height_mm, "mm"),
            ),
            say(
                "Use a taller punch, or sides of at most {tallest}.",
                tallest=Amount(tallest_mm, "mm"),
            ),
            source="sqrt(2) H + half the holder (common practice, no source)",
            bend=bend,
            amount=Amount(needed_mm - clear_height_mm, "mm"),
        ),
    )
