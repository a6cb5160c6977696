"""How a bend is made, with the numbers of its way: the same fields on both drawing boards."""

from dataclasses import replace
from typing import cast

from server.mechanics.bump_bend import SMOOTH_STEP_DEG
from server.planning.blank import DrawnBend
from server.planning.plan_task import Way
from server.web.display import Display
from server.web.forms.form import Form

MADE_WAYS: tuple[Way, ...] = ("air", "bottoming", "coining", "hem", "bump")
ALL_WAYS: tuple[Way, ...] = (*MADE_WAYS, "offset")
CURVE_RADIUS_MM, OFFSET_MM = 15.0, 8.0
"""What a curve and an offset begin with, until somebody types their own."""


def typed_way(bend: DrawnBend, end: str, show: Display) -> dict[str, str]:
    """How a bend is made, with the numbers of its way."""
    return {
        f"way{end}": bend.way,
        f"gap{end}": show.typed(bend.gap_mm) or "0",
        f"curve{end}": show.typed(bend.inside_radius_mm or CURVE_RADIUS_MM),
        f"hit{end}": f"{bend.step_deg:g}",
        f"offset{end}": show.typed(bend.outside_offset_mm or OFFSET_MM),
    }


def with_way(form: Form, bend: DrawnBend, end: str, ways: tuple[Way, ...]) -> DrawnBend:
    """A bend made the way that is chosen; numbers the page has not asked for yet begin as usual."""
    way = cast("Way", form.choice(f"way{end}", ways, "air"))
    match way:
        case "hem":
            gap_mm = form.length_mm(f"gap{end}", most_mm=200.0, above=False, needed=False)
            return replace(bend, way=way, gap_mm=gap_mm or 0.0)
        case "bump":
            return replace(
                bend,
                way=way,
                inside_radius_mm=_asked_mm(form, f"curve{end}", CURVE_RADIUS_MM, 5000.0),
                step_deg=form.number(f"hit{end}", least=0.5, most=45.0, needed=False)
                or SMOOTH_STEP_DEG,
            )
        case "offset":
            offset_mm = _asked_mm(form, f"offset{end}", OFFSET_MM, 500.0)
            return replace(bend, way=way, outside_offset_mm=offset_mm)
        case _:
            return replace(bend, way=way)


def _asked_mm(form: Form, name: str, usual_mm: float, most_mm: float) -> float:
    if name not in form.typed:
        return usual_mm
    return form.need_length_mm(name, most_mm=most_mm)
