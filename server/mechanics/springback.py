"""How much a bend opens when the punch lets go."""

import itertools
import math
from collections.abc import Mapping

from server.errors import ShopError, say
from server.mechanics.elementary import Number, degrees, need_above, need_between, radians

MODEL_ERROR_LEAST_RATIO = 0.99
MODEL_ERROR_MOST_RATIO = 1.44
MODEL_ERROR_MEDIAN_RATIO = 1.20
"""How far the model may be off: a numerical strip's springback / `springback` with `flow_stress`.

Measured, not estimated: `tests/unit/mechanics/test_strip_yardstick.py` integrates an elastic-plastic
strip numerically (moment falling from punch to shoulder, power-law hardening, friction 0 and 0.15,
plane strain) for 12 metals of the material table, V = 6, 8 and 12 t, bend angles 30, 90 and 135, and
divides its springback by the closed form's: 0.99 to 1.44, median 1.20, largest for metals that
harden much in a narrow V, because a tight bend hardens beyond the mean of yield and tensile strength.
The strip itself leaves out the neutral line's shift, thinning and the Bauschinger effect, and a
sheet's strength varies by lot: a trial is worth more than either."""

MODEL_ERROR_HARDENED_LEAST_RATIO = 0.71
MODEL_ERROR_HARDENED_MOST_RATIO = 0.99
"""The same with `hardening.bending_flow_stress` in place of the mean of yield and tensile
strength, for materials whose hardening exponent is known: the model then errs the other way."""


def flow_stress(*, yield_strength_mpa: Number, tensile_strength_mpa: Number) -> Number:
    """Mean flow stress of a sheet whose hardening data are not known.

    Formula: Y = (Re + Rm) / 2

    Args:
        yield_strength_mpa: yield or 0.2 % proof strength [mpa].
        tensile_strength_mpa: tensile strength [mpa].

    Returns: the flow stress [mpa].

    References: common practice, no source.

    >>> flow_stress(yield_strength_mpa=235.0, tensile_strength_mpa=360.0)
    297.5
    """
    return (yield_strength_mpa + tensile_strength_mpa) / 2


def unloading_curvature(
    *,
    flow_stress_mpa: Number,
    youngs_modulus_mpa: Number,
    poisson_ratio: Number,
    thickness_mm: Number,
) -> Number:
    """Curvature a fully plastic section loses when its bending moment is taken away.

    Formula: M/(E' I) with M = Y' t^2/4, I = t^3/12, Y' = (2/sqrt 3) Y, E' = E/(1 - nu^2);
        that is 3 Y' / (E' t)

    Args:
        flow_stress_mpa: flow stress in simple tension [mpa], above 0.
        youngs_modulus_mpa: Young's modulus [mpa], above 0.
        poisson_ratio: Poisson's ratio [ratio], 0 or more, below 0.5.
        thickness_mm: sheet thickness [mm], above 0.

    Returns: the lost curvature, radians for each mm of length [per mm].

    Raises: ShopError `out_of_range` outside the stated ranges.

    References: elementary theory of plastic bending in plane strain, e.g. Z. Marciniak, J. L.
        Duncan, S. J. Hu, Mechanics of Sheet Metal Forming, 2nd ed., ch. 6 (from memory).

    >>> round(unloading_curvature(flow_stress_mpa=300.0, youngs_modulus_mpa=210000.0,
    ...                           poisson_ratio=0.3, thickness_mm=2.0), 6)
    0.002252
    """
    need_above("material.flow_stress_mpa", flow_stress_mpa, 0.0, "mpa")
    need_above("material.youngs_modulus_mpa", youngs_modulus_mpa, 0.0, "mpa")
    need_between("material.poisson_ratio", poisson_ratio, 0.0, 0.499, "ratio")
    need_above("thickness_mm", thickness_mm, 0.0, "mm")
    plane_strain = (2.0 / math.sqrt(3.0)) * (1.0 - poisson_ratio * poisson_ratio)
    return 3.0 * plane_strain * flow_stress_mpa / (youngs_modulus_mpa * thickness_mm)


def springback(
    *,
    loaded_bend_angle_deg: Number,
    loaded_inside_radius_mm: Number,
    thickness_mm: Number,
    straight_flank_mm: Number,
    unloading_curvature_per_mm: Number,
) -> Number:
    """Bend angle lost on release: arc and both straight flanks unload elastically.

    Formula: dA = M/(E' I) [ (ri + t/2) A + 2 f/2 ]: full moment along the arc, falling linearly to
        nothing at the shoulder along each flank f.

    Args:
        loaded_bend_angle_deg: bend angle under load [deg].
        loaded_inside_radius_mm: inside radius under load [mm].
        thickness_mm: sheet thickness [mm].
        straight_flank_mm: straight sheet between arc and shoulder, each side [mm].
        unloading_curvature_per_mm: M/(E' I) of `unloading_curvature` [per mm].

    Returns: the springback [deg].

    References: derived here from elementary beam theory; held in the tests against a numerically
        integrated elastic-plastic strip, which also gives its error band.

    >>> round(springback(loaded_bend_angle_deg=91.5, loaded_inside_radius_mm=2.56,
    ...     thickness_mm=2.0, straight_flank_mm=6.2, unloading_curvature_per_mm=0.002252), 2)
    1.53
    """
    arc_mm = (loaded_inside_radius_mm + thickness_mm / 2) * radians(loaded_bend_angle_deg)
    return degrees(unloading_curvature_per_mm * (arc_mm + straight_flank_mm))


def released_inside_radius(
    *,
    loaded_inside_radius_mm: Number,
    thickness_mm: Number,
    lost_curvature_per_mm: Number,
) -> Number:
    """Inside radius after release.

    Formula: 1/(r + t/2) = 1/(ri + t/2) - lost curvature

    Args:
        loaded_inside_radius_mm: inside radius under load [mm].
        thickness_mm: sheet thickness [mm].
        lost_curvature_per_mm: curvature the arc loses [per mm].

    Returns: the inside radius [mm].

    Raises: ShopError `all_springs_back` where the arc would spring back flat.

    References: derived here from elementary beam theory.

    >>> round(released_inside_radius(loaded_inside_radius_mm=2.56, thickness_mm=2.0,
    ...                              lost_curvature_per_mm=0.002252), 4)
    2.5888
    """
    centre_mm = loaded_inside_radius_mm + thickness_mm / 2
    kept = 1.0 - centre_mm * lost_curvature_per_mm
    if not bool((kept > 0.0) if isinstance(kept, float) else (kept > 0.0).all()):
        raise ShopError(
            "all_springs_back",
            "The sheet would spring back flat: the radius is far too large for this thickness.",
            remedy="Use a narrower V, or make the radius by bump bending.",
            where="loaded_inside_radius_mm",
        )
    return centre_mm / kept - thickness_mm / 2


def elastic_plastic_radius_ratio(
    *,
    loaded_inside_radius_mm: float,
    thickness_mm: float,
    yield_strength_mpa: float,
    youngs_modulus_mpa: float,
) -> float:
    """Radius under load / radius after release of an elastic-perfectly-plastic strip.

    Formula: Ri/Rf = 4 x^3 - 3 x + 1, x = Ri Y/(E t)

    Args:
        loaded_inside_radius_mm: radius under load [mm], above 0.
        thickness_mm: sheet thickness [mm], above 0.
        yield_strength_mpa: yield strength [mpa], above 0.
        youngs_modulus_mpa: Young's modulus [mpa], above 0.

    Returns: the ratio [ratio], 0 to 1; 0 when the strip stayed elastic (x = 0.5 and above).

    Raises: ShopError `out_of_range` for a value that is not above 0.

    References: F. J. Gardiner, "The springback of metals", Trans. ASME 79 (1957) 1-9;
        S. Kalpakjian, S. R. Schmid, Manufacturing Processes for Engineering Materials, ch. 7.

    >>> round(elastic_plastic_radius_ratio(loaded_inside_radius_mm=12.7, thickness_mm=0.91186,
    ...     yield_strength_mpa=275.79, youngs_modulus_mpa=199948.0), 4)
    0.9424
    """
    need_above("loaded_inside_radius_mm", loaded_inside_radius_mm, 0.0, "mm")
    need_above("thickness_mm", thickness_mm, 0.0, "mm")
    need_above("yield_strength_mpa", yield_strength_mpa, 0.0, "mpa")
    need_above("youngs_modulus_mpa", youngs_modulus_mpa, 0.0, "mpa")
    x = loaded_inside_radius_mm * yield_strength_mpa / (youngs_modulus_mpa * thickness_mm)
    return 0.0 if x >= 0.5 else 4 * x**3 - 3 * x + 1


def springback_factor_from_radii(
    *, loaded_inside_radius_mm: float, released_inside_radius_mm: float, thickness_mm: float
) -> float:
    """Bend angle after release / under load of an arc whose middle length is kept.

    Formula: Ks = (2 Ri/t + 1) / (2 Rf/t + 1)

    Args:
        loaded_inside_radius_mm: inside radius under load [mm].
        released_inside_radius_mm: inside radius after release [mm].
        thickness_mm: sheet thickness [mm].

    Returns: the factor [ratio].

    References: S. Kalpakjian, S. R. Schmid, Manufacturing Processes for Engineering Materials.

    >>> round(springback_factor_from_radii(loaded_inside_radius_mm=3.2,
    ...     released_inside_radius_mm=3.21838, thickness_mm=2.0), 4)
    0.9956
    """
    return (2 * loaded_inside_radius_mm / thickness_mm + 1) / (
        2 * released_inside_radius_mm / thickness_mm + 1
    )


RADIUS_TO_THICKNESS_RATIO = (1.0, 1.6, 2.5, 4.0, 6.3, 10.0, 16.0, 25.0, 40.0, 63.0, 100.0)
HANDBOOK_FACTOR: Mapping[str, tuple[float | None, ...]] = {
    "DC04": (0.99, 0.99, 0.99, 0.98, 0.97, 0.97, 0.96, 0.94, 0.91, 0.87, 0.83),
    "DC01": (0.99, 0.99, 0.99, 0.97, 0.96, 0.96, 0.93, 0.90, 0.85, 0.77, 0.66),
    "X12CrNi18-8": (0.99, 0.98, 0.97, 0.95, 0.93, 0.89, 0.84, 0.76, 0.63, None, None),
    "E-Cu-R20": (0.98, 0.97, 0.97, 0.96, 0.95, 0.93, 0.90, 0.85, 0.79, 0.72, 0.60),
    "CuZn33-R29": (0.97, 0.97, 0.96, 0.95, 0.94, 0.93, 0.89, 0.86, 0.83, 0.77, 0.73),
    "CuNi18Zn20": (None, None, None, 0.97, 0.96, 0.95, 0.92, 0.87, 0.82, 0.72, None),
    "EN AW-Al99,0": (0.99, 0.99, 0.99, 0.99, 0.98, 0.98, 0.97, 0.97, 0.96, 0.95, 0.93),
    "EN AW-AlCuMg1": (0.98, 0.98, 0.98, 0.98, 0.97, 0.97, 0.96, 0.95, 0.93, 0.91, 0.87),
    "EN AW-AlSiMgMn": (0.98, 0.98, 0.97, 0.96, 0.95, 0.93, 0.90, 0.86, 0.82, 0.76, 0.72),
}
"""kR of Tabellenbuch Metall, "Rückfedern beim Biegen", by r2/s. Columns r2/s = 1, 4, 10, 25 and 63
are checked where the published cases print them; the others are from memory."""


def handbook_springback_factor(*, material: str, radius_to_thickness_ratio: float) -> float:
    """Springback factor kR of the handbook table, interpolated on the logarithm of r/s.

    Formula: kR = alpha2 / alpha1, table look-up

    Args:
        material: a row of the table, such as "DC01".
        radius_to_thickness_ratio: finished inside radius / thickness [ratio], 1 to 100.

    Returns: the factor [ratio].

    Raises: ShopError `unknown_material`, or `out_of_table` where the table has no value.

    References: Tabellenbuch Metall, Europa-Lehrmittel, "Rückfedern beim Biegen".

    >>> handbook_springback_factor(material="DC01", radius_to_thickness_ratio=10.0)
    0.96
    """
    row = HANDBOOK_FACTOR.get(material)
    if row is None:
        raise ShopError(
            "unknown_material",
            say("The springback table has no row '{material}'.", material=material),
            remedy=say("Rows: {rows}.", rows=", ".join(HANDBOOK_FACTOR)),
            where="material",
        )
    steps = list(zip(RADIUS_TO_THICKNESS_RATIO, row, strict=True))
    for (low, first), (high, second) in itertools.pairwise(steps):
        if low <= radius_to_thickness_ratio <= high and first is not None and second is not None:
            share = math.log(radius_to_thickness_ratio / low) / math.log(high / low)
            return first + share * (second - first)
    raise ShopError(
        "out_of_table",
        say("The table has no value for {material} at this radius.", material=material),
        remedy="Measure a test strip.",
        where="radius_to_thickness_ratio",
    )


def loaded_angle_by_factor(*, bend_angle_deg: float, springback_factor: float) -> float:
    """Bend angle under load for a wanted angle and a springback factor.

    Formula: alpha1 = alpha2 / kR

    Args:
        bend_angle_deg: angle wanted after release [deg].
        springback_factor: springback factor kR [ratio], above 0, to 1.

    Returns: the angle under load [deg].

    Raises: ShopError `out_of_range` for a factor outside 0 to 1.

    References: Tabellenbuch Metall, Europa-Lehrmittel.

    >>> loaded_angle_by_factor(bend_angle_deg=90.0, springback_factor=0.96)
    93.75
    """
    need_above("springback_factor", springback_factor, 0.0, "ratio")
    need_between("springback_factor", springback_factor, 0.0, 1.0, "ratio")
    return bend_angle_deg / springback_factor


def tool_radius_by_factor(
    *, inside_radius_mm: float, springback_factor: float, thickness_mm: float
) -> float:
    """Inside radius under load for a wanted radius and a springback factor.

    Formula: r1 = kR (r2 + 0.5 s) - 0.5 s

    Args:
        inside_radius_mm: radius wanted after release [mm].
        springback_factor: springback factor kR [ratio].
        thickness_mm: sheet thickness [mm].

    Returns: the radius under load [mm].

    References: Tabellenbuch Metall, Europa-Lehrmittel.

    >>> round(tool_radius_by_factor(inside_radius_mm=10.0, springback_factor=0.96,
    ...                             thickness_mm=1.0), 2)
    9.58
    """
    return springback_factor * (inside_radius_mm + thickness_mm / 2) - thickness_mm / 2
