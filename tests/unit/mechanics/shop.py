"""A sheet, tools and a brake that the mechanics' own tests share; invented, like no machine."""

from dataclasses import replace

from server.findings import Finding
from server.mechanics.air_bend import air_bend
from server.mechanics.bend_limits import BendCase
from server.mechanics.material import Material
from server.mechanics.tooling import Axis, Brake, Die, Finger, Punch

STEEL = Material(
    youngs_modulus_mpa=210_000.0,
    yield_strength_mpa=290.0,
    tensile_strength_mpa=420.0,
    tensile_max_mpa=510.0,
    code="S235JR",
)
DIE = Die("V16", 16.0, 85.0, 1.5, rating_kn_per_m=1000.0)
PUNCH = Punch("P85", 1.5, 85.0, rating_kn_per_m=1000.0)
ACUTE_DIE = Die("V12-30", 12.0, 30.0, 1.0, rating_kn_per_m=500.0)
ACUTE_PUNCH = Punch("P30", 1.0, 30.0, rating_kn_per_m=500.0)
BRAKE = Brake(
    "the brake",
    max_force_kn=800.0,
    bed_length_mm=2600.0,
    opening_mm=350.0,
    x_axis=Axis(0.0, 600.0, 0.05),
    y_axis=Axis(0.0, 200.0, 0.01),
    y_sense=1,
    finger=Finger(0.0, 40.0, 60.0),
)


def case(*, bend_angle_deg: float = 90.0, **changes: object) -> BendCase:
    """An ordinary bend, 2 mm over V16 on a metre, with some of it changed."""
    plain = BendCase(
        bend=air_bend(
            thickness_mm=2.0,
            bend_length_mm=1000.0,
            bend_angle_deg=bend_angle_deg,
            material=STEEL,
            die=DIE,
            punch=PUNCH,
        ),
        thickness_mm=2.0,
        bend_length_mm=1000.0,
        material=STEEL,
        die=DIE,
        punch=PUNCH,
        brake=BRAKE,
    )
    return replace(plain, **changes)  # type: ignore[arg-type]


def rebent(changed: BendCase, *, bend_angle_deg: float = 90.0) -> BendCase:
    """The case with its bend worked out again for its own sheet and tools."""
    return replace(
        changed,
        bend=air_bend(
            thickness_mm=changed.thickness_mm,
            bend_length_mm=changed.bend_length_mm,
            bend_angle_deg=bend_angle_deg,
            material=changed.material,
            die=changed.die,
            punch=changed.punch,
        ),
    )


def stops(findings: tuple[Finding, ...]) -> set[str]:
    return {finding.code for finding in findings if finding.level == "stop"}


def cautions(findings: tuple[Finding, ...]) -> set[str]:
    return {finding.code for finding in findings if finding.level == "caution"}
