"""How a metal hardens while it is bent: sigma = K eps^n, and what that means for the bend.

Textbooks differ by a quarter for the same metal: these data describe a kind of metal, a tension
test describes a lot.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from server.errors import ShopError, say
from server.mechanics.elementary import Number, need_above, need_between

PLANE_STRAIN = 2.0 / math.sqrt(3.0)


@dataclass(frozen=True, slots=True)
class Hardening:
    """Strength coefficient K and hardening exponent n of sigma = K eps^n."""

    strength_coefficient_mpa: float
    exponent_ratio: float
    source: str


_WEB_TABLE = "table of strain hardening exponents in a public encyclopedia, seen"
_CALLISTER = "W. D. Callister, Fundamentals of Materials Science and Engineering, 2nd ed., p. 199"
_KALPAKJIAN = (
    "S. Kalpakjian, S. R. Schmid, Manufacturing Processes for Engineering Materials, table 2.3, "
    "from memory"
)
HARDENING: Mapping[str, Hardening] = {
    "1100-O": Hardening(180.0, 0.20, _WEB_TABLE),
    "5052-O": Hardening(210.0, 0.13, _WEB_TABLE),
    "6061-T6": Hardening(410.0, 0.05, _WEB_TABLE),
    "brass 70-30 annealed": Hardening(900.0, 0.49, _WEB_TABLE),
    "low-carbon steel annealed": Hardening(600.0, 0.21, _CALLISTER),
    "copper annealed": Hardening(530.0, 0.44, _CALLISTER),
    "low-carbon steel annealed (second source)": Hardening(530.0, 0.26, _KALPAKJIAN),
    "copper annealed (second source)": Hardening(315.0, 0.54, _KALPAKJIAN),
    "304 stainless annealed": Hardening(1275.0, 0.45, _KALPAKJIAN),
}
"""Two sources are kept where we have two, to show how far apart they are."""


def get_hardening(name: str) -> Hardening:
    """The hardening data of a metal.

    Raises: ShopError `unknown_material`.
    """
    if name not in HARDENING:
        raise ShopError(
            "unknown_material",
            say("There are no hardening data for '{name}'.", name=name),
            remedy=say("Known: {names}.", names=", ".join(HARDENING)),
            where="material",
        )
    return HARDENING[name]


def hardened_flow_stress(
    *, strength_coefficient_mpa: Number, exponent_ratio: Number, strain_ratio: Number
) -> Number:
    """Flow stress after a plastic strain.

    Formula: sigma = K eps^n

    Args:
        strength_coefficient_mpa: K [mpa], above 0.
        exponent_ratio: n [ratio], 0 to 1.
        strain_ratio: true strain [ratio], above 0.

    Returns: the flow stress [mpa].

    Raises: ShopError `out_of_range` outside the stated ranges.

    References: J. H. Hollomon, "Tensile deformation", Trans. AIME 162 (1945) 268-290.

    >>> round(hardened_flow_stress(strength_coefficient_mpa=600.0, exponent_ratio=0.21,
    ...                            strain_ratio=0.1), 1)
    370.0
    """
    need_above("strength_coefficient_mpa", strength_coefficient_mpa, 0.0, "mpa")
    need_between("exponent_ratio", exponent_ratio, 0.0, 1.0, "ratio")
    need_above("strain_ratio", strain_ratio, 0.0, "ratio")
    flow_mpa: Number = strength_coefficient_mpa * strain_ratio**exponent_ratio
    return flow_mpa


def tensile_strength_from_hardening(
    *, strength_coefficient_mpa: float, exponent_ratio: float
) -> float:
    """Tensile strength that a hardening law implies: the strip necks at the true strain n.

    Formula: Rm = K (n/e)^n

    Args:
        strength_coefficient_mpa: K [mpa], above 0.
        exponent_ratio: n [ratio], above 0, to 1.

    Returns: the tensile strength [mpa].

    Raises: ShopError `out_of_range` outside the stated ranges.

    References: Considere's condition d(sigma)/d(eps) = sigma applied to Hollomon's law.

    >>> round(tensile_strength_from_hardening(strength_coefficient_mpa=600.0,
    ...                                       exponent_ratio=0.21))
    350
    """
    need_above("strength_coefficient_mpa", strength_coefficient_mpa, 0.0, "mpa")
    need_above("exponent_ratio", exponent_ratio, 0.0, "ratio")
    need_between("exponent_ratio", exponent_ratio, 0.0, 1.0, "ratio")
    return strength_coefficient_mpa * math.pow(exponent_ratio / math.e, exponent_ratio)


def strength_coefficient(*, tensile_strength_mpa: float, exponent_ratio: float) -> float:
    """Strength coefficient of a sheet whose tensile strength and hardening exponent are known.

    Formula: K = Rm (e/n)^n

    Args:
        tensile_strength_mpa: tensile strength [mpa], above 0.
        exponent_ratio: n [ratio], above 0, to 1.

    Returns: K [mpa].

    Raises: ShopError `out_of_range` outside the stated ranges.

    References: `tensile_strength_from_hardening`, solved for K.

    >>> round(strength_coefficient(tensile_strength_mpa=350.44, exponent_ratio=0.21))
    600
    """
    need_above("tensile_strength_mpa", tensile_strength_mpa, 0.0, "mpa")
    need_above("exponent_ratio", exponent_ratio, 0.0, "ratio")
    need_between("exponent_ratio", exponent_ratio, 0.0, 1.0, "ratio")
    return tensile_strength_mpa * math.pow(math.e / exponent_ratio, exponent_ratio)


def bending_flow_stress(
    *,
    strength_coefficient_mpa: float,
    exponent_ratio: float,
    inside_radius_mm: float,
    thickness_mm: float,
) -> float:
    """Constant flow stress that gives a bend of this radius the same moment as the hardening law.

    Formula: Y = 2 K eps^n / (n + 2), eps = (2/sqrt 3) (t/2)/(r + t/2), so that M = Y' t^2/4

    Args:
        strength_coefficient_mpa: K [mpa], above 0.
        exponent_ratio: n [ratio], 0 to 1.
        inside_radius_mm: inside radius under load [mm], 0 or more.
        thickness_mm: sheet thickness [mm], above 0.

    Returns: the flow stress in simple tension [mpa], for `springback.unloading_curvature`.

    Raises: ShopError `out_of_range` outside the stated ranges.

    References: moment of a fully plastic plane-strain section with stress K eps^n, integrated
        here; Z. Marciniak, J. L. Duncan, S. J. Hu, Mechanics of Sheet Metal Forming, 2nd ed.,
        ch. 6 (from memory).

    >>> round(bending_flow_stress(strength_coefficient_mpa=600.0, exponent_ratio=0.21,
    ...                           inside_radius_mm=2.56, thickness_mm=2.0), 1)
    428.7
    """
    need_above("thickness_mm", thickness_mm, 0.0, "mm")
    need_between("inside_radius_mm", inside_radius_mm, 0.0, 1e5, "mm")
    outer = PLANE_STRAIN * (thickness_mm / 2) / (inside_radius_mm + thickness_mm / 2)
    outer_mpa = hardened_flow_stress(
        strength_coefficient_mpa=strength_coefficient_mpa,
        exponent_ratio=exponent_ratio,
        strain_ratio=outer,
    )
    return 2.0 * outer_mpa / (exponent_ratio + 2.0)
