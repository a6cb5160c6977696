"""A numerically integrated elastic-plastic strip: the yardstick for the closed-form springback.

The strip lies on two shoulder arcs and is pressed down in the middle by a round punch tip. Its
bending moment comes from the shoulder's normal force and friction in the bent shape itself, so it
falls from punch to shoulder as it has to; each section answers with the curvature that an
elastic-plastic, power-law hardening sheet in plane strain has under that moment, but never more
than the punch tip allows. Starting at the shoulder with a sheet angle, the strip is integrated
inwards until it is level; the force is right when that happens on the centre line.

What it leaves out: the neutral line's shift in tight bends, thinning, shear, the Bauschinger effect,
and the loading history (each section is taken to be loaded only once, up to its present moment).
"""

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from server.mechanics.material import Material

PLANE_STRAIN = 2.0 / math.sqrt(3.0)
LARGEST_PLASTIC_STRAIN = 3.0


@dataclass(frozen=True)
class SwiftSheet:
    """Flow stress Y = K (e0 + p)^n, with e0 such that it begins at the yield strength."""

    youngs_modulus_mpa: float
    poisson_ratio: float
    yield_strength_mpa: float
    strength_coefficient_mpa: float
    exponent: float
    thickness_mm: float

    @property
    def plane_modulus_mpa(self) -> float:
        return self.youngs_modulus_mpa / (1.0 - self.poisson_ratio**2)

    @property
    def bending_stiffness(self) -> float:
        """E' I for each millimetre of width [N mm]."""
        return self.plane_modulus_mpa * self.thickness_mm**3 / 12.0

    def flow_stress_mpa(self, plastic_strain: NDArray[np.float64]) -> NDArray[np.float64]:
        if self.exponent == 0.0:
            return np.full_like(plastic_strain, self.yield_strength_mpa)
        start = (self.yield_strength_mpa / self.strength_coefficient_mpa) ** (1.0 / self.exponent)
        flow = self.strength_coefficient_mpa * (start + plastic_strain) ** self.exponent
        return np.asarray(flow, dtype=np.float64)

    @cached_property
    def _stress_strain(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Bending strain and stress along the sheet, from nothing to far beyond any bend."""
        yield_mpa = PLANE_STRAIN * self.yield_strength_mpa
        elastic = np.linspace(0.0, yield_mpa / self.plane_modulus_mpa, 200)
        plastic = np.concatenate(([0.0], np.geomspace(1e-7, LARGEST_PLASTIC_STRAIN, 4000)))
        stress = PLANE_STRAIN * self.flow_stress_mpa(plastic)
        strain = plastic / PLANE_STRAIN + stress / self.plane_modulus_mpa
        return (
            np.concatenate((elastic[:-1], strain)),
            np.concatenate((elastic[:-1] * self.plane_modulus_mpa, stress)),
        )

    @cached_property
    def moment_curve(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Curvature [1/mm] and moment [N mm/mm]: M(k) = 2/k^2 x integral of s e de to k t/2."""
        strain, stress = self._stress_strain
        slope = np.diff(stress) / np.diff(strain)  # linear between points: exact from there on
        start = stress[:-1] - slope * strain[:-1]
        pieces = start * np.diff(strain**2) / 2.0 + slope * np.diff(strain**3) / 3.0
        integral = np.concatenate(([0.0], np.cumsum(pieces)))
        curvature = 2.0 * strain / self.thickness_mm
        moment = np.zeros_like(curvature)
        moment[1:] = 2.0 * integral[1:] / curvature[1:] ** 2
        return curvature, moment

    def moment(self, curvature_per_mm: float) -> float:
        curvature, moment = self.moment_curve
        return float(np.interp(curvature_per_mm, curvature, moment))

    def curvature(self, moment_n: float) -> float:
        """Curvature under a moment; infinite where the section cannot carry it."""
        curvature, moment = self.moment_curve
        if moment_n >= moment[-1]:
            return math.inf
        return float(np.interp(moment_n, moment, curvature))


def swift_sheet(material: Material, *, exponent: float, thickness_mm: float) -> SwiftSheet:
    """A sheet with a material's yield and tensile strength and a given hardening exponent.

    The tensile strength is where the strip necks, d(sigma)/d(eps) = sigma: Rm = K n^n e^(e0 - n).
    """
    strength = material.tensile_strength_mpa
    coefficient = strength * (math.e / exponent) ** exponent
    for _ in range(200):
        start = (material.yield_strength_mpa / coefficient) ** (1.0 / exponent)
        coefficient = strength / (exponent**exponent * math.exp(start - exponent))
    return SwiftSheet(
        material.youngs_modulus_mpa,
        material.poisson_ratio,
        material.yield_strength_mpa,
        coefficient,
        exponent,
        thickness_mm,
    )


@dataclass(frozen=True)
class Tools:
    """Shoulder arc centre, radii of shoulder and punch tip [mm], friction coefficient."""

    shoulder_centre_mm: float
    shoulder_radius_mm: float
    punch_tip_radius_mm: float
    friction: float = 0.0


@dataclass(frozen=True)
class BentStrip:
    """What the strip does at one bend angle under load; force is one shoulder's normal force."""

    loaded_bend_angle_deg: float
    springback_deg: float
    depth_mm: float
    shoulder_force_n_per_mm: float
    loaded_inside_radius_mm: float


def bent_strip(sheet: SwiftSheet, tools: Tools, loaded_bend_angle_deg: float) -> BentStrip:
    """The strip at a bend angle under load: the force with which it is level on the centre line."""

    def off_centre_mm(log_force: float) -> float:
        force = math.exp(log_force)
        return _integrated(sheet, tools, loaded_bend_angle_deg, force)[0]

    plastic_mpa = PLANE_STRAIN * sheet.yield_strength_mpa
    guess = math.log(plastic_mpa * sheet.thickness_mm**2 / (4.0 * tools.shoulder_centre_mm))
    least = most = guess
    while off_centre_mm(least) > 0.0:
        least -= 1.0
    while off_centre_mm(most) < 0.0:
        most += 1.0
    found: float = brentq(off_centre_mm, least, most, xtol=1e-12, rtol=1e-12)
    force = math.exp(found)
    _, height_mm, recovered_rad, curvature = _integrated(sheet, tools, loaded_bend_angle_deg, force)
    return BentStrip(
        loaded_bend_angle_deg=loaded_bend_angle_deg,
        springback_deg=math.degrees(2.0 * recovered_rad),
        depth_mm=sheet.thickness_mm / 2 - height_mm,
        shoulder_force_n_per_mm=force,
        loaded_inside_radius_mm=1.0 / curvature - sheet.thickness_mm / 2,
    )


def _integrated(
    sheet: SwiftSheet, tools: Tools, loaded_bend_angle_deg: float, force: float
) -> tuple[float, float, float, float]:
    """From the shoulder inwards until the strip is level: (x, y, recovered angle, curvature) there.

    x comes out negative when the strip has passed the centre line before it was level: too little
    force.
    """
    half_mm = sheet.thickness_mm / 2
    angle = math.radians(loaded_bend_angle_deg) / 2
    sine, cosine = math.sin(angle), math.cos(angle)
    reach_mm = tools.shoulder_radius_mm + half_mm
    x = tools.shoulder_centre_mm - reach_mm * sine
    y = -tools.shoulder_radius_mm + reach_mm * cosine
    touch_x, touch_y = x + half_mm * sine, y - half_mm * cosine
    force_x = force * (-sine + tools.friction * cosine)
    force_y = force * (cosine + tools.friction * sine)
    tightest = 1.0 / (tools.punch_tip_radius_mm + half_mm)
    longest_mm = tools.shoulder_centre_mm / 400.0
    recovered = 0.0
    curvature = 0.0

    def at(px: float, py: float) -> tuple[float, float]:
        """Curvature and moment of the section at a place."""
        moment = (touch_x - px) * force_y - (touch_y - py) * force_x
        bent = sheet.curvature(moment)
        if bent > tightest:
            return tightest, sheet.moment(tightest)
        return bent, moment

    while angle > 0.0:
        if x < -tools.shoulder_centre_mm:
            return x, y, recovered, curvature
        curvature, moment = at(x, y)
        step = min(longest_mm, 0.01 / max(curvature, 1e-12))
        middle_angle = angle - curvature * step / 2
        mid_x = x - math.cos(angle) * step / 2
        mid_y = y - math.sin(angle) * step / 2
        curvature, moment = at(mid_x, mid_y)
        if curvature > 0.0 and angle - curvature * step < 0.0:
            step = angle / curvature
            middle_angle = angle / 2
        x -= math.cos(middle_angle) * step
        y -= math.sin(middle_angle) * step
        angle -= curvature * step
        if angle < 1e-15:
            angle = 0.0
        recovered += moment / sheet.bending_stiffness * step
    return x, y, recovered, curvature
