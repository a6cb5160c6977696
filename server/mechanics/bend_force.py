"""Bending force in a V die, by several published rules, side by side."""

from dataclasses import dataclass
from typing import Literal

from server.mechanics.elementary import Number, need_above, need_between

ForceRule = Literal["lange", "groover", "us_chart"]

GROOVER_V_COEFFICIENT = 1.33
GROOVER_EDGE_COEFFICIENT = 0.33
US_CHART_COEFFICIENT = 575 * 2000 / (12 * 60000)
"""575 t^2/V short tons per foot at 60 ksi, written as F/L = C Rm t^2/V: C = 1.597."""

BOTTOMING_FORCE_RATIO = 4.0
COINING_FORCE_RATIO = 9.0
"""Multiples of the air bending force: bottoming 3 to 5, coining 8 to 10. Common practice, no
source."""


def v_bending_coefficient(*, rule: ForceRule, thickness_mm: Number, v_opening_mm: Number) -> Number:
    """Coefficient C of F/L = C Rm t^2 / V.

    Formula: lange 1 + 4 t/V; groover 1.33; us_chart 1.597

    Args:
        rule: which published rule.
        thickness_mm: sheet thickness [mm], above 0.
        v_opening_mm: V opening [mm], above 0.

    Returns: the coefficient [ratio].

    References: K. Lange (ed.), Umformtechnik, Blechbearbeitung, Springer, 2nd ed. 1990 (Oehler's
        force); M. P. Groover, Fundamentals of Modern Manufacturing, 4th ed., sec. 20.2; the US
        chart 575 t^2/V (in, ton/ft, 60 ksi) is common practice, no source.

    >>> v_bending_coefficient(rule="lange", thickness_mm=1.0, v_opening_mm=10.0)
    1.4
    """
    if rule == "lange":
        return 1.0 + 4.0 * thickness_mm / v_opening_mm
    constant = GROOVER_V_COEFFICIENT if rule == "groover" else US_CHART_COEFFICIENT
    return constant + 0.0 * thickness_mm


def bending_line_load(
    *,
    coefficient_ratio: Number,
    tensile_strength_mpa: Number,
    thickness_mm: Number,
    v_opening_mm: Number,
) -> Number:
    """Largest bending force of an air bend for each metre of bend.

    Formula: F/L = C Rm t^2 / V

    Args:
        coefficient_ratio: C of `v_bending_coefficient` [ratio], above 0.
        tensile_strength_mpa: tensile strength [mpa], above 0.
        thickness_mm: sheet thickness [mm], above 0.
        v_opening_mm: V opening [mm], above 0.

    Returns: the line load [kn_per_m] (the same number as N/mm).

    Raises: ShopError `out_of_range` outside the stated ranges. The Lange rule is stated for steel,
        0.5 to 10 mm thick, V/t from 5 to 20; outside it the caller adds a note.

    References: as `v_bending_coefficient`.

    >>> round(bending_line_load(coefficient_ratio=1.4, tensile_strength_mpa=310.0,
    ...                         thickness_mm=1.0, v_opening_mm=10.0), 6)
    43.4
    """
    need_above("coefficient_ratio", coefficient_ratio, 0.0, "ratio")
    need_above("material.tensile_strength_mpa", tensile_strength_mpa, 0.0, "mpa")
    need_above("thickness_mm", thickness_mm, 0.0, "mm")
    need_above("die.v_opening_mm", v_opening_mm, 0.0, "mm")
    return coefficient_ratio * tensile_strength_mpa * thickness_mm * thickness_mm / v_opening_mm


def governing_line_load(
    *, tensile_strength_mpa: float, thickness_mm: float, v_opening_mm: float
) -> float:
    """Line load that limits are checked against: the highest of the published rules.

    Formula: max over rules of C Rm t^2 / V

    Args:
        tensile_strength_mpa: tensile strength [mpa], above 0.
        thickness_mm: sheet thickness [mm], above 0.
        v_opening_mm: V opening [mm], above 0.

    Returns: the line load [kn_per_m].

    Raises: ShopError `out_of_range` for a value that is not above 0.

    References: as `v_bending_coefficient`; taking the highest is our choice, on the safe side.

    >>> round(governing_line_load(tensile_strength_mpa=413.685, thickness_mm=6.35,
    ...                           v_opening_mm=50.8), 1)
    524.5
    """
    need_above("thickness_mm", thickness_mm, 0.0, "mm")
    need_above("die.v_opening_mm", v_opening_mm, 0.0, "mm")
    coefficient = max(
        v_bending_coefficient(rule="lange", thickness_mm=thickness_mm, v_opening_mm=v_opening_mm),
        US_CHART_COEFFICIENT,
    )
    return bending_line_load(
        coefficient_ratio=coefficient,
        tensile_strength_mpa=tensile_strength_mpa,
        thickness_mm=thickness_mm,
        v_opening_mm=v_opening_mm,
    )


def edge_bending_force(
    *,
    tensile_strength_mpa: float,
    bend_length_mm: float,
    thickness_mm: float,
    die_opening_mm: float,
) -> float:
    """Force of wiping a flange over an edge, for comparison.

    Formula: F = 0.33 Rm L t^2 / D

    Args:
        tensile_strength_mpa: tensile strength [mpa], above 0.
        bend_length_mm: length of the bend [mm], above 0.
        thickness_mm: sheet thickness [mm], above 0.
        die_opening_mm: die opening [mm], above 0.

    Returns: the force [n].

    Raises: ShopError `out_of_range` for a value that is not above 0.

    References: M. P. Groover, Fundamentals of Modern Manufacturing, 4th ed., sec. 20.2.

    >>> edge_bending_force(tensile_strength_mpa=600.0, bend_length_mm=35.0, thickness_mm=5.0,
    ...                    die_opening_mm=28.0)
    6187.5
    """
    need_above("bend_length_mm", bend_length_mm, 0.0, "mm")
    return bend_length_mm * bending_line_load(
        coefficient_ratio=GROOVER_EDGE_COEFFICIENT,
        tensile_strength_mpa=tensile_strength_mpa,
        thickness_mm=thickness_mm,
        v_opening_mm=die_opening_mm,
    )


def bending_work(*, force_n: float, travel_mm: float, mean_ratio: float) -> float:
    """Work of one stroke in joules.

    Formula: W = F h m

    Args:
        force_n: largest force [n].
        travel_mm: travel under load [mm].
        mean_ratio: mean force / largest force [ratio], 0 to 1.

    Returns: the work in joules [j].

    Raises: ShopError `out_of_range` for a ratio outside 0 to 1.

    References: K. Lange (ed.), Umformtechnik, Blechbearbeitung, Springer, 2nd ed. 1990.

    >>> round(bending_work(force_n=4340.0, travel_mm=15.0, mean_ratio=0.75), 2)
    48.82
    """
    need_between("mean_ratio", mean_ratio, 0.0, 1.0, "ratio")
    return force_n * travel_mm / 1000 * mean_ratio


@dataclass(frozen=True, slots=True)
class ForceComparison:
    """One rule's answer beside the others [kn_per_m]."""

    rule: ForceRule
    line_load_kn_per_m: float


def compare_force_rules(
    *, tensile_strength_mpa: float, thickness_mm: float, v_opening_mm: float
) -> tuple[ForceComparison, ...]:
    """All three rules' line loads for the same bend, for the page that explains the number.

    Formula: C Rm t^2 / V with each C

    Args:
        tensile_strength_mpa: tensile strength [mpa], above 0.
        thickness_mm: sheet thickness [mm], above 0.
        v_opening_mm: V opening [mm], above 0.

    Returns: one entry for each rule.

    Raises: ShopError `out_of_range` for a value that is not above 0.

    References: as `v_bending_coefficient`.

    >>> [round(row.line_load_kn_per_m) for row in compare_force_rules(
    ...     tensile_strength_mpa=400.0, thickness_mm=2.0, v_opening_mm=16.0)]
    [150, 133, 160]
    """
    rules: tuple[ForceRule, ...] = ("lange", "groover", "us_chart")
    return tuple(
        ForceComparison(
            rule,
            bending_line_load(
                coefficient_ratio=v_bending_coefficient(
                    rule=rule, thickness_mm=thickness_mm, v_opening_mm=v_opening_mm
                ),
                tensile_strength_mpa=tensile_strength_mpa,
                thickness_mm=thickness_mm,
                v_opening_mm=v_opening_mm,
            ),
        )
        for rule in rules
    )
