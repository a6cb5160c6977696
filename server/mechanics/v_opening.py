"""Which V a sheet wants, and why each other die the shop owns loses."""

from collections.abc import Sequence
from dataclasses import dataclass

from server.errors import Amount, Sentence, ShopError, say
from server.findings import Finding, has_stop
from server.mechanics.air_bend import AirBend, air_bend
from server.mechanics.bend_limits import DEFAULT_FLANGE_MARGIN, BendCase, check_bend
from server.mechanics.elementary import need_above
from server.mechanics.material import Material
from server.mechanics.tooling import Brake, Die, Punch


def advised_v_opening(*, thickness_mm: float) -> float:
    """V opening of common practice for a thickness.

    Formula: 6 t below 3 mm, 8 t from 3 to 10 mm, 10 t above

    Args:
        thickness_mm: sheet thickness [mm], above 0.

    Returns: the V opening [mm].

    Raises: ShopError `out_of_range` for a thickness that is not above 0.

    References: common practice, no source.

    >>> advised_v_opening(thickness_mm=2.0), advised_v_opening(thickness_mm=4.0)
    (12.0, 32.0)
    """
    need_above("thickness_mm", thickness_mm, 0.0, "mm")
    if thickness_mm < 3.0:
        return 6.0 * thickness_mm
    return (8.0 if thickness_mm <= 10.0 else 10.0) * thickness_mm


@dataclass(frozen=True, slots=True)
class VWish:
    """What the die has to serve; `inside_radius_mm` None when the drawing leaves it open.

    `others` are more bends of the same part as (bend angle, shortest flange or None): a die that
    cannot make one of them is no die for the part.
    """

    thickness_mm: float
    bend_length_mm: float
    bend_angle_deg: float
    material: Material
    punch: Punch
    brake: Brake | None = None
    shortest_flange_mm: float | None = None
    inside_radius_mm: float | None = None
    flange_margin: float = DEFAULT_FLANGE_MARGIN
    others: tuple[tuple[float, float | None], ...] = ()


@dataclass(frozen=True, slots=True)
class RankedDie:
    """One die in the ranking: how far from the wish, what it would give, what speaks against it."""

    die: Die
    bend: AirBend | None
    penalty_ratio: float
    reason: Sentence
    findings: tuple[Finding, ...]

    @property
    def possible(self) -> bool:
        """Whether nothing blocks this die."""
        return self.bend is not None and not has_stop(self.findings)


def rank_dies(*, wish: VWish, dies: Sequence[Die]) -> tuple[RankedDie, ...]:
    """The shop's dies for one bend, best first, each with its reason.

    Formula: penalty = larger/smaller - 1 of radius and wanted radius, else of V and advised V;
        dies with a stop come last, in the same order

    Args:
        wish: thickness, length, angle, material, punch and limits to serve.
        dies: the dies the shop owns.

    Returns: one `RankedDie` for each die, best first; ties by name.

    References: ranking by radius asked, flange room and tonnage is common practice, no source.

    >>> steel = Material(youngs_modulus_mpa=210000, yield_strength_mpa=280, tensile_strength_mpa=400)
    >>> wish = VWish(2.0, 500.0, 90.0, steel, Punch("P", tip_radius_mm=1.0, angle_deg=80.0))
    >>> dies = [Die(f"V{v}", float(v), 85.0, 1.0) for v in (8, 12, 16, 25)]
    >>> [ranked.die.name for ranked in rank_dies(wish=wish, dies=dies)]
    ['V12', 'V16', 'V8', 'V25']
    """
    ranked = [_ranked(wish, die) for die in dies]
    ranked.sort(key=lambda entry: (not entry.possible, entry.penalty_ratio, entry.die.name))
    return tuple(ranked)


def _ranked(wish: VWish, die: Die) -> RankedDie:
    advised_mm = advised_v_opening(thickness_mm=wish.thickness_mm)
    try:
        bend, findings = _tried(wish, die, wish.bend_angle_deg, wish.shortest_flange_mm)
        for angle_deg, flange_mm in wish.others:
            findings = (*findings, *_tried(wish, die, angle_deg, flange_mm)[1])
    except ShopError as trouble:
        return RankedDie(die, None, _distance(die.v_opening_mm, advised_mm), trouble.what, ())
    if wish.inside_radius_mm is not None:
        penalty = _distance(bend.inside_radius_mm, wish.inside_radius_mm)
        reason = say(
            "Gives an inside radius of {radius}; {wanted} is wanted.",
            radius=Amount(bend.inside_radius_mm, "mm"),
            wanted=Amount(wish.inside_radius_mm, "mm"),
        )
    else:
        penalty = _distance(die.v_opening_mm, advised_mm)
        reason = say(
            "V is {ratio} times the thickness; {advised} would be the usual V.",
            ratio=Amount(die.v_opening_mm / wish.thickness_mm, "ratio"),
            advised=Amount(advised_mm, "mm"),
        )
    stop = next((finding for finding in findings if finding.level == "stop"), None)
    return RankedDie(die, bend, penalty, stop.what if stop else reason, findings)


def _tried(
    wish: VWish, die: Die, bend_angle_deg: float, flange_mm: float | None
) -> tuple[AirBend, tuple[Finding, ...]]:
    bend = air_bend(
        thickness_mm=wish.thickness_mm,
        bend_length_mm=wish.bend_length_mm,
        bend_angle_deg=bend_angle_deg,
        material=wish.material,
        die=die,
        punch=wish.punch,
    )
    case = BendCase(
        bend=bend,
        thickness_mm=wish.thickness_mm,
        bend_length_mm=wish.bend_length_mm,
        material=wish.material,
        die=die,
        punch=wish.punch,
        brake=wish.brake,
        flange_mm=flange_mm,
        flange_margin=wish.flange_margin,
    )
    return bend, check_bend(case)


def _distance(first: float, second: float) -> float:
    return max(first, second) / max(min(first, second), 1e-9) - 1.0
