"""One stroke: its numbers, its limits, and how punch and sheet move through it.

Choices left open by the documents: the least straight a bend rests on is the shortest flange of the
mechanics, with the shop's margin, measured from the bend line on the flat.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from server.findings import Finding, has_stop
from server.geometry.clearance import Swing
from server.mechanics.air_bend import AirBend
from server.mechanics.bend_limits import BendCase, check_bend
from server.mechanics.elementary import radians
from server.mechanics.hem import HEM_K_FACTOR
from server.mechanics.ram_depth import ram_depth, shoulder_centre
from server.mechanics.tooling import Die, Punch
from server.planning.bend_way import Fit, Hit, use_for
from server.planning.plan_task import PlanTask, ShapeBend, shape_bends

if TYPE_CHECKING:
    from server.planning.still_stroke import Still

SAMPLES = 33
"""Samples of a stroke: the documents' quarters and seven between each two of them, so that the edge
of a 300 mm leg moves less than 8 mm between samples of a right angle."""


@dataclass(frozen=True, slots=True)
class Stroke:
    """One stroke as it will be made, whichever punch of its fit is used.

    `bends` are indexes of the shape, `zones` indexes of the sheet's own bends; `angle_deg` (signed,
    of each zone) after the stroke, `loaded_deg` unsigned. `least_flat_mm` is the straight needed
    from the bend line outward on both sides. `after` are strokes that come first. `still` says how the
    sheet lies in a stroke that does not swing it. `run_mask` has the strokes of one bumped radius,
    which are made side by side.
    """

    index: int
    bends: tuple[int, ...]
    zones: tuple[int, ...]
    what: str
    sign: int
    bend_angle_deg: float
    loaded_deg: float
    inside_radius_mm: float
    loaded_radius_mm: float
    k_factor: float
    depth_mm: float | None
    force_kn: float
    line_load_kn_per_m: float
    length_mm: float
    least_flat_mm: float
    least_flange_mm: float
    swing: Swing
    die: Die
    punches: tuple[Punch, ...]
    findings: tuple[Finding, ...]
    findings_of_punch: Mapping[str, tuple[Finding, ...]]
    after: tuple[int, ...] = ()
    angles_after: Mapping[int, float] = field(default_factory=dict)
    still: "Still | None" = None
    run_mask: int = 0

    def stops(self, punch: Punch) -> tuple[Finding, ...]:
        """What blocks the stroke by itself with a punch, whatever the order."""
        found = (*self.findings, *self.findings_of_punch.get(punch.name, ()))
        return tuple(finding for finding in found if finding.level == "stop")

    @property
    def moving(self) -> Swing:
        """How the punch moves through the stroke."""
        if self.still is None:
            return self.swing
        return next(swing for swing in self.still.swings if swing is not None)

    def angle_at(self, sample: int) -> float:
        """How far the stroke has bent at a sample [deg]; one without a swing is told by its end."""
        return self.loaded_deg if self.still else math.degrees(2 * self.swing.half_rad[sample])

    @property
    def free_punches(self) -> tuple[Punch, ...]:
        """Punches that nothing blocks for this stroke by itself."""
        if has_stop(self.findings):
            return ()
        return tuple(
            punch for punch in self.punches if not has_stop(self.findings_of_punch[punch.name])
        )


def stroke_of_hit(
    task: PlanTask,
    bends: tuple[int, ...],
    hit: Hit,
    number: int,
    zones: tuple[int, ...],
    length_mm: float,
    fit: Fit,
    after: tuple[int, ...] = (),
) -> Stroke:
    """The stroke that makes one hit over a length of bend in its fit, or in its own tools."""
    die, punches = (hit.pair.die, (hit.pair.punch,)) if hit.pair else (fit.die, fit.punches)
    bend = shape_bends(task)[bends[0]]
    sign = 1 if bend.bend_angle_deg > 0 else -1
    of_punch: dict[str, tuple[Finding, ...]] = {punch.name: () for punch in punches}
    findings = hit.findings
    if hit.air is None:
        zero = np.zeros(1)
        swing = Swing(zero, zero, zero, 0.0, np.array([task.thickness_mm]))
        least_flat_mm, radius_mm, k_factor = hit.least_flange_mm, 0.0, HEM_K_FACTOR
        depth_mm, loaded_deg, inside_mm = None, abs(bend.bend_angle_deg), 0.0
    else:
        air = hit.air
        use = use_for(task, ShapeBend(air.bend_angle_deg), air.inside_radius_mm)
        k_factor, radius_mm = use.k_factor, air.loaded_inside_radius_mm
        swing = stroke_swing(
            thickness_mm=task.thickness_mm,
            die=die,
            loaded_deg=air.loaded_bend_angle_deg,
            loaded_radius_mm=radius_mm,
            k_factor=k_factor,
        )
        half_rad = radians(air.loaded_bend_angle_deg) / 2
        least_flat_mm = (
            hit.least_flange_mm * (1.0 + task.flange_margin)
            - math.tan(half_rad) * (radius_mm + task.thickness_mm)
            + half_rad * (radius_mm + k_factor * task.thickness_mm)
        )
        depth_mm, loaded_deg = air.depth_mm, air.loaded_bend_angle_deg
        inside_mm = air.inside_radius_mm
        if not findings:
            findings, of_punch = _limits(task, air, length_mm, die, punches, bends[0])
    return Stroke(
        index=number,
        bends=bends,
        zones=zones,
        what=hit.what,
        sign=sign,
        bend_angle_deg=hit.air.bend_angle_deg if hit.air else abs(bend.bend_angle_deg),
        loaded_deg=loaded_deg,
        inside_radius_mm=inside_mm,
        loaded_radius_mm=radius_mm,
        k_factor=k_factor,
        depth_mm=depth_mm,
        force_kn=hit.line_load_kn_per_m * length_mm / 1000,
        line_load_kn_per_m=hit.line_load_kn_per_m,
        length_mm=length_mm,
        least_flat_mm=max(0.0, least_flat_mm),
        least_flange_mm=hit.least_flange_mm * (1.0 + task.flange_margin),
        swing=swing,
        die=die,
        punches=punches,
        findings=findings,
        findings_of_punch=of_punch,
        after=after,
    )


def _limits(
    task: PlanTask,
    air: AirBend,
    length_mm: float,
    die: Die,
    punches: Sequence[Punch],
    bend: int,
) -> tuple[tuple[Finding, ...], dict[str, tuple[Finding, ...]]]:
    """Findings that hold for every punch, and those of each punch alone."""
    each = {
        punch.name: check_bend(
            BendCase(
                bend=air,
                thickness_mm=task.thickness_mm,
                bend_length_mm=length_mm,
                material=task.material,
                die=die,
                punch=punch,
                brake=task.brake,
                index=bend,
            )
        )
        for punch in punches
    }
    common = tuple(
        finding
        for finding in next(iter(each.values()))
        if all(finding in others for others in each.values())
    )
    own = {
        name: tuple(finding for finding in found if finding not in common)
        for name, found in each.items()
    }
    return common, own


def stroke_swing(
    *,
    thickness_mm: float,
    die: Die,
    loaded_deg: float,
    loaded_radius_mm: float,
    k_factor: float,
    samples: int = SAMPLES,
) -> Swing:
    """Where punch and both halves of the sheet are through an air bend.

    Formula: tip at t - D(a); both halves turn by a/2 about the arc's centre, tip + ri, having
        rolled a/2 (ri + K t) of the sheet each

    Args:
        thickness_mm: sheet thickness [mm].
        die: the lower tool.
        loaded_deg: bend angle under load [deg].
        loaded_radius_mm: inside radius under load [mm].
        k_factor: K-factor [ratio].
        samples: how many, from flat to the full angle [count].

    Returns: a `Swing`.

    References: `mechanics.ram_depth`; derived here.
    """
    angles = np.linspace(0.0, loaded_deg, samples)
    depths = ram_depth(
        loaded_bend_angle_deg=angles,
        shoulder_centre_mm=np.full_like(
            angles,
            shoulder_centre(
                v_opening_mm=die.v_opening_mm,
                die_angle_deg=die.angle_deg,
                shoulder_radius_mm=die.shoulder_radius_mm,
            ),
        ),
        roll_radius_mm=np.full_like(
            angles, die.shoulder_radius_mm + thickness_mm + loaded_radius_mm
        ),
    )
    half = np.radians(angles) / 2
    tip = thickness_mm - depths
    return Swing(
        half_rad=half,
        centre_mm=tip + loaded_radius_mm,
        rolled_mm=half * (loaded_radius_mm + k_factor * thickness_mm),
        pivot_mm=thickness_mm + loaded_radius_mm,
        tip_mm=tip,
    )
