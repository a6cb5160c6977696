"""What the formulas need to know of a sheet metal."""

from dataclasses import dataclass, replace
from typing import Literal

from server.errors import ShopError
from server.mechanics.elementary import need_above, need_between
from server.mechanics.inside_radius import DEFAULT_RADIUS_RATIO
from server.mechanics.springback import flow_stress

Family = Literal["steel", "galvanized", "stainless", "aluminium", "copper", "brass"]


@dataclass(frozen=True, slots=True)
class Material:
    """A sheet metal. Strengths are what this sheet is expected to have, not the least allowed.

    `tensile_max_mpa` is the standard's upper bound where it has one; limits are checked against
    it as a caution. `flow_stress_mpa` and `k_factor` are given only when known for the material.
    """

    youngs_modulus_mpa: float
    yield_strength_mpa: float
    tensile_strength_mpa: float
    poisson_ratio: float = 0.3
    radius_ratio: float = DEFAULT_RADIUS_RATIO
    density_kg_m3: float = 7850.0
    family: Family = "steel"
    code: str = ""
    tensile_max_mpa: float | None = None
    flow_stress_mpa: float | None = None
    k_factor: float | None = None
    minimum_radius_ratio: float | None = None
    source: str = ""

    def __post_init__(self) -> None:
        need_above("material.youngs_modulus_mpa", self.youngs_modulus_mpa, 0.0, "mpa")
        need_above("material.yield_strength_mpa", self.yield_strength_mpa, 0.0, "mpa")
        need_above("material.tensile_strength_mpa", self.tensile_strength_mpa, 0.0, "mpa")
        need_between("material.poisson_ratio", self.poisson_ratio, 0.0, 0.499, "ratio")
        need_above("material.radius_ratio", self.radius_ratio, 0.0, "ratio")
        need_between("material.radius_ratio", self.radius_ratio, 0.0, 1.0, "ratio")
        need_above("material.density_kg_m3", self.density_kg_m3, 0.0, "ratio")
        if self.tensile_strength_mpa < self.yield_strength_mpa:
            raise ShopError(
                "strengths_swapped",
                "The tensile strength is below the yield strength.",
                remedy="Check whether the two were exchanged.",
                where="material.tensile_strength_mpa",
            )

    @property
    def bending_flow_stress_mpa(self) -> float:
        """Flow stress in simple tension that the bend is taken to work at."""
        if self.flow_stress_mpa is not None:
            return self.flow_stress_mpa
        return flow_stress(
            yield_strength_mpa=self.yield_strength_mpa,
            tensile_strength_mpa=self.tensile_strength_mpa,
        )

    def with_strengths(
        self, *, yield_strength_mpa: float, tensile_strength_mpa: float
    ) -> "Material":
        """The same metal with the strengths of one lot's certificate."""
        return replace(
            self,
            yield_strength_mpa=yield_strength_mpa,
            tensile_strength_mpa=tensile_strength_mpa,
            tensile_max_mpa=None,
            flow_stress_mpa=None,
        )
