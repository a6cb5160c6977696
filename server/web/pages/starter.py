"""The shapes a new part may start from, each with a small picture."""

from dataclasses import dataclass
from functools import cache

from server.drawings.folded import draw_folded
from server.drawings.section import draw_section
from server.geometry.profile import section_outline
from server.mechanics.material import Material
from server.mechanics.tooling import Die, Punch
from server.planning.blank import SheetInTools, as_drawn, profile_blank
from server.planning.drawn_flat import FLAT_STARTERS
from server.planning.drawn_part import STARTERS
from server.planning.flat_blank import flat_blank

MILD_STEEL = Material(
    youngs_modulus_mpa=210_000.0, yield_strength_mpa=280.0, tensile_strength_mpa=380.0
)
"""Round values from memory, for pictures only: nothing is worked out with them."""
SHEET = SheetInTools(2.0, MILD_STEEL, Die("any", 12.0, 86.0, 1.0), Punch("any", 1.0, 86.0))


@dataclass(frozen=True, slots=True)
class Starter:
    """A shape to start from; `is_flat` tells which drawing board it goes to."""

    name: str
    picture: str
    is_flat: bool


@cache
def starters() -> tuple[Starter, ...]:
    """Every shape to start from: profiles first, then parts with bends across each other."""
    found = []
    for name, profile in STARTERS.items():
        blank = profile_blank(drawn=profile, sheet=SHEET)
        section = as_drawn(section_outline(blank.profile), profile.bends)
        found.append(Starter(name, draw_section(section, title=name), is_flat=False))
    for name, flat in FLAT_STARTERS.items():
        part = flat_blank(flat, SHEET).part
        found.append(Starter(name, draw_folded(part, title=name), is_flat=True))
    return tuple(found)
