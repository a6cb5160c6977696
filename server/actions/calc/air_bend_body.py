"""The part of a request that describes one sheet in one pair of tools."""

from collections.abc import Iterable
from typing import Literal

from server.actions.calc.body import Body, Real
from server.errors import ShopError
from server.findings import Finding
from server.mechanics.air_bend import Bending, bending, need_springback
from server.mechanics.elementary import need_above, need_between
from server.mechanics.inside_radius import DEFAULT_RADIUS_RATIO
from server.mechanics.material import Material
from server.mechanics.tooling import Die, Punch


class MaterialBody(Body):
    """A sheet metal by its numbers."""

    youngs_modulus_mpa: Real
    poisson_ratio: Real = 0.3
    yield_strength_mpa: Real
    tensile_strength_mpa: Real
    radius_ratio: Real = DEFAULT_RADIUS_RATIO

    def material(self) -> Material:
        """The mechanics' own material."""
        return Material(**self.model_dump())


class DieBody(Body):
    """A lower tool by its numbers."""

    v_opening_mm: Real
    angle_deg: Real
    shoulder_radius_mm: Real

    def die(self) -> Die:
        """The mechanics' own die."""
        return Die("the die", **self.model_dump())


class PunchBody(Body):
    """An upper tool by its numbers."""

    tip_radius_mm: Real
    angle_deg: Real

    def punch(self) -> Punch:
        """The mechanics' own punch."""
        return Punch("the punch", **self.model_dump())


class AirBendBody(Body):
    """One sheet in one pair of tools; the wanted angle or depth is added by each calculation."""

    thickness_mm: Real
    bend_length_mm: Real
    material: MaterialBody
    die: DieBody
    punch: PunchBody
    loaded_inside_radius_mm: Real | None = None
    springback_deg: Real | Literal["model"] = "model"
    force_rule: Literal["lange", "groover", "us_chart"] = "lange"

    def bending(self) -> Bending:
        """The bend's constant lengths.

        Raises: ShopError `out_of_range` naming the field.
        """
        need_springback(self.springback_deg)
        need_above("bend_length_mm", self.bend_length_mm, 0.0, "mm")
        return bending(
            thickness_mm=self.thickness_mm,
            material=self.material.material(),
            die=self.die.die(),
            punch=self.punch.punch(),
            loaded_inside_radius_mm=self.loaded_inside_radius_mm,
        )


def need_bend_angle(bend_angle_deg: float) -> None:
    """Refuse a wanted bend angle that is no bend.

    Raises: ShopError `out_of_range` below 0, or `not_an_air_bend` at 180.
    """
    need_between("bend_angle_deg", bend_angle_deg, 0.0, 180.0, "deg")
    if bend_angle_deg >= 180.0:
        raise ShopError(
            "not_an_air_bend",
            "A bend of 180° cannot be air bent.",
            remedy="Bend to at most about 150° and flatten as a hem.",
            where="bend_angle_deg",
        )


def findings_as_json(findings: Iterable[Finding]) -> list[dict[str, object]]:
    """Findings in the contract's shape."""
    return [
        {
            "code": finding.code,
            "message": str(finding.what),
            "hint": str(finding.frees) if finding.frees else "",
            "source": finding.source,
            **({"tool": finding.tool} if finding.tool else {}),
            **({"bend": finding.bend} if finding.bend is not None else {}),
        }
        for finding in findings
    ]
