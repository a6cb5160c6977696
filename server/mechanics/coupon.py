"""The bend deduction and K-factor that measured test strips give."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from server.errors import Amount, ShopError, say
from server.findings import Finding
from server.mechanics.bend_allowance import outside_setback
from server.mechanics.elementary import need_above
from server.mechanics.k_factor import k_factor_from_allowance

SPREAD_TO_THICKNESS = 0.1
STRIPS_ENOUGH_AT_SPREAD_MM = 0.1
TWO_SIDED_95 = {
    2: 12.706,
    3: 4.303,
    4: 3.182,
    5: 2.776,
    6: 2.571,
    7: 2.447,
    8: 2.365,
    9: 2.306,
    10: 2.262,
}
"""Student's t, two-sided 95 %, by number of strips (n - 1 degrees of freedom): standard table."""


@dataclass(frozen=True, slots=True)
class Strip:
    """A measured coupon: flat length before, both outside legs after [mm]."""

    flat_length_mm: float
    leg_a_mm: float
    leg_b_mm: float

    @property
    def bend_deduction_mm(self) -> float:
        """BD = a + b - L of this strip alone."""
        return self.leg_a_mm + self.leg_b_mm - self.flat_length_mm


@dataclass(frozen=True, slots=True)
class CouponResult:
    """Mean deduction of the strips, the spread between them, and the K-factor it means.

    `uncertain_by_mm` is the half width of the mean's 95 % interval, None for a single strip.
    """

    bend_deduction_mm: float
    spread_mm: float
    k_factor: float
    uncertain_by_mm: float | None
    findings: tuple[Finding, ...]


def coupon_result(
    *,
    thickness_mm: float,
    inside_radius_mm: float,
    bend_angle_deg: float,
    strips: Sequence[Strip],
    to_tangent: bool = True,
) -> CouponResult:
    """Bend deduction and K-factor from one or more test strips.

    Formula: BD = a + b - L for each strip; mean; K = ((2 OSSB - BD)/(pi A/180) - r)/t

    Args:
        thickness_mm: measured sheet thickness [mm], above 0.
        inside_radius_mm: measured inside radius [mm], 0 or more.
        bend_angle_deg: measured bend angle [deg], above 0, to 180.
        strips: the measured strips, at least one.
        to_tangent: whether legs beside a bend over 90 were measured to the tangent plane.

    Returns: a `CouponResult`; `spread_mm` is largest less smallest deduction [mm].

    Raises: ShopError `no_strips`, `out_of_range`.

    References: definition of the bend deduction.

    >>> result = coupon_result(thickness_mm=3.0, inside_radius_mm=4.0, bend_angle_deg=90.0,
    ...                        strips=[Strip(100.0, 53.4, 52.5)])
    >>> round(result.bend_deduction_mm, 6), round(result.k_factor, 3)
    (5.9, 0.386)
    """
    if not strips:
        raise ShopError(
            "no_strips",
            "No strip was measured.",
            remedy="Bend and measure at least one.",
            where="strips",
        )
    for index, strip in enumerate(strips):
        need_above(f"strips.{index}.flat_length_mm", strip.flat_length_mm, 0.0, "mm")
        need_above(f"strips.{index}.leg_a_mm", strip.leg_a_mm, 0.0, "mm")
        need_above(f"strips.{index}.leg_b_mm", strip.leg_b_mm, 0.0, "mm")
    deductions = [strip.bend_deduction_mm for strip in strips]
    mean_mm = math.fsum(deductions) / len(deductions)
    spread_mm = max(deductions) - min(deductions)
    setback_mm = outside_setback(
        bend_angle_deg=bend_angle_deg,
        inside_radius_mm=inside_radius_mm,
        thickness_mm=thickness_mm,
        to_tangent=to_tangent,
    )
    k_factor = k_factor_from_allowance(
        bend_allowance_mm=2 * setback_mm - mean_mm,
        bend_angle_deg=bend_angle_deg,
        inside_radius_mm=inside_radius_mm,
        thickness_mm=thickness_mm,
    )
    return CouponResult(
        bend_deduction_mm=mean_mm,
        spread_mm=spread_mm,
        k_factor=k_factor,
        uncertain_by_mm=_uncertain_by(deductions, mean_mm),
        findings=_findings(k_factor, spread_mm, thickness_mm),
    )


def _uncertain_by(deductions: Sequence[float], mean_mm: float) -> float | None:
    count = len(deductions)
    if count < 2:
        return None
    variance = math.fsum((value - mean_mm) ** 2 for value in deductions) / (count - 1)
    return TWO_SIDED_95.get(count, 2.0) * math.sqrt(variance / count)


def _findings(k_factor: float, spread_mm: float, thickness_mm: float) -> tuple[Finding, ...]:
    found = []
    if not 0.0 <= k_factor <= 0.6:
        found.append(
            Finding(
                "caution",
                "k_factor_unlikely",
                say("The strips give a K-factor of {k}.", k=Amount(k_factor, "ratio")),
                say("Measure thickness, radius and legs again; 0.25 to 0.5 is usual."),
                source="common practice, no source",
            )
        )
    if spread_mm > SPREAD_TO_THICKNESS * thickness_mm:
        found.append(
            Finding(
                "caution",
                "strips_spread",
                say("The strips differ by {spread}.", spread=Amount(spread_mm, "mm")),
                say("Measure again, or bend another strip."),
                source="spread above a tenth of the thickness (common practice, no source)",
            )
        )
    return tuple(found)
