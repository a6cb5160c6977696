"""What every kind of bend tells the planner: its strokes, flange, force, deduction and tools."""

from dataclasses import dataclass
from typing import Literal

from server.errors import Sentence
from server.findings import Finding

Kind = Literal["bottoming", "coining", "hem", "offset", "bump"]


@dataclass(frozen=True, slots=True)
class Hit:
    """One stroke of a bend; `depth_mm` None where the tools and not the ram fix the shape."""

    what: str
    bend_angle_deg: float
    loaded_bend_angle_deg: float
    depth_mm: float | None
    line_load_kn_per_m: float


@dataclass(frozen=True, slots=True)
class FormedBend:
    """A bend made another way than by one air bend.

    `bend_deduction_mm` is what the flat loses against the outside legs, `minimum_flange_mm` the
    shortest outside flange without the shop's margin, `line_load_kn_per_m` the greatest of all
    strokes by the highest published rule, which the limits are checked with.
    """

    kind: Kind
    hits: tuple[Hit, ...]
    inside_radius_mm: float
    bend_allowance_mm: float
    bend_deduction_mm: float
    minimum_flange_mm: float
    line_load_kn_per_m: float
    force_kn: float
    tools: tuple[Sentence, ...]
    findings: tuple[Finding, ...]
