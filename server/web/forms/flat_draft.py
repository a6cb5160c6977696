"""What is typed on the drawing board of a flat part: dimensions or a pattern, cut-outs, bends."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import TypeVar, cast

from server.geometry.cutout import Cutout, CutoutKind
from server.geometry.generator import Wall
from server.geometry.outline import Point
from server.geometry.part import MOST_BENDS
from server.planning.blank import DrawnBend
from server.planning.drawn_flat import (
    BracketSizes,
    DrawnFlat,
    DrawnFlatPart,
    FlatForm,
    Grain,
    PanelSizes,
    Pattern,
    PatternIs,
    PatternLine,
    SteppedSizes,
    Tab,
)
from server.units.sheet_gauge import GaugeFamily
from server.web.display import Display
from server.web.forms.form import Form
from server.web.forms.outline import read_points, typed_points
from server.web.forms.way import ALL_WAYS, MADE_WAYS, typed_way, with_way

SIDES = ("front", "right", "back", "left")
GRAINS: tuple[Grain, ...] = ("any", "u", "v")
CUTOUT_KINDS: tuple[CutoutKind, ...] = ("round", "rectangle", "slot")
MOST_ROWS = 40
MOST_CUTOUTS = 60
MOST_LINES = MOST_BENDS - 1
NO_LINE: tuple[Point, Point] = ((0.0, 0.0), (1.0, 0.0))
"""Stands in for a line that could not be read."""
T = TypeVar("T")


def read_flat_draft(form: Form, now: DrawnFlatPart, *, family: GaugeFamily | None) -> DrawnFlatPart:
    """The flat part as typed; look at `form.ok` before using it."""
    form_now = now.flat.form
    flat = DrawnFlat(
        form=_read_shape(form, form_now),
        cutouts=_rows(form, "cut_count", MOST_CUTOUTS, _cutout),
        bend=now.flat.bend if isinstance(form_now, Pattern) else _common_bend(form, now.flat.bend),
        grain=cast("Grain", form.choice("grain", GRAINS, "any")),
    )
    return replace(
        now,
        flat=flat,
        number=form.code("number", needed=False),
        name=form.text("name", most=120),
        material_code=form.text("material_code", needed=True, most=40),
        thickness_mm=form.need_length_mm("thickness", most_mm=60.0, family=family),
        die_code=form.text("die_code", most=40) or None,
        punch_code=form.text("punch_code", most=40) or None,
        k_factor=form.number("k_factor", least=0.0, most=0.6, needed=False),
    )


def typed_of_flat_draft(
    part: DrawnFlatPart, show: Display, *, each_wall: bool = False
) -> dict[str, str]:
    """A flat part's values as they stand in the fields; `each_wall` shows equal walls one by one."""
    typed = {
        "number": part.number,
        "name": part.name,
        "material_code": part.material_code,
        "thickness": show.typed(part.thickness_mm),
        "die_code": part.die_code or "",
        "punch_code": part.punch_code or "",
        "k_factor": "" if part.k_factor is None else f"{part.k_factor:g}",
        "grain": part.flat.grain,
        "angle": f"{abs(part.flat.bend.bend_angle_deg):g}",
        "side": "down" if part.flat.bend.bend_angle_deg < 0 else "up",
        **typed_way(part.flat.bend, "", show),
        "cut_count": str(len(part.flat.cutouts)),
        **_typed_shape(part.flat.form, show, each_wall=each_wall),
    }
    for number, cut in enumerate(part.flat.cutouts, 1):
        typed[f"cut_{number}_kind"] = cut.kind
        typed[f"cut_{number}_u"] = show.typed(cut.at_mm[0]) or "0"
        typed[f"cut_{number}_v"] = show.typed(cut.at_mm[1]) or "0"
        typed[f"cut_{number}_length"] = show.typed(cut.length_mm)
        typed[f"cut_{number}_width"] = show.typed(cut.width_mm)
        typed[f"cut_{number}_turn"] = f"{cut.turn_deg:g}"
    return typed


def _read_shape(form: Form, now: FlatForm) -> FlatForm:
    match now:
        case PanelSizes():
            return _panel(form)
        case BracketSizes():
            return BracketSizes(
                form.need_length_mm("width"),
                form.need_length_mm("depth"),
                _rows(form, "tab_count", MOST_ROWS, _tab),
                form.need_length_mm("relief", most_mm=200.0, above=False),
            )
        case SteppedSizes():
            return SteppedSizes(
                form.need_length_mm("depth"), _rows(form, "step_count", MOST_ROWS, _step)
            )
        case Pattern():
            kinds = ("outside", "blank")
            return Pattern(
                read_points(form, "outline"),
                _rows(form, "line_count", MOST_LINES, _line),
                cast("PatternIs", form.choice("pattern_is", kinds, "outside")),
            )


def _typed_shape(shape: FlatForm, show: Display, *, each_wall: bool) -> dict[str, str]:
    typed: dict[str, str] = {}
    match shape:
        case PanelSizes():
            typed = {
                "width": show.typed(shape.width_mm),
                "depth": show.typed(shape.depth_mm),
                "relief": show.typed(shape.relief_mm),
                "relief_shape": "round" if shape.round_relief else "square",
                "walls": "alike" if shape.alike and not each_wall else "each",
            }
            for number, wall in enumerate(shape.walls, 1):
                typed[f"height_{number}"] = show.typed(wall.height_mm)
                typed[f"return_{number}"] = show.typed(wall.return_mm)
                typed[f"return_side_{number}"] = "out" if wall.return_out else "in"
        case BracketSizes():
            typed = {
                "width": show.typed(shape.width_mm),
                "depth": show.typed(shape.depth_mm),
                "relief": show.typed(shape.relief_mm),
                "tab_count": str(len(shape.tabs)),
            }
            for number, tab in enumerate(shape.tabs, 1):
                typed[f"tab_{number}_from"] = show.typed(tab.start_mm) or "0"
                typed[f"tab_{number}_to"] = show.typed(tab.end_mm)
                typed[f"tab_{number}_height"] = show.typed(tab.height_mm)
        case SteppedSizes():
            typed = {"depth": show.typed(shape.depth_mm), "step_count": str(len(shape.steps))}
            for number, (length_mm, height_mm) in enumerate(shape.steps, 1):
                typed[f"step_{number}_length"] = show.typed(length_mm)
                typed[f"step_{number}_height"] = show.typed(height_mm)
        case Pattern():
            typed = {
                "outline": typed_points(shape.outline_mm, show),
                "pattern_is": shape.pattern_is,
                "line_count": str(len(shape.lines)),
            }
            for number, line in enumerate(shape.lines, 1):
                typed[f"line_{number}"] = typed_points(line.line_mm, show)
                typed[f"bend_{number}"] = f"{abs(line.bend.bend_angle_deg):g}"
                typed[f"side_{number}"] = "down" if line.bend.bend_angle_deg < 0 else "up"
                typed |= typed_way(line.bend, f"_{number}", show)
    return typed


def _panel(form: Form) -> PanelSizes:
    alike = form.choice("walls", ("alike", "each"), "alike") == "alike"
    alike = alike or "height_2" not in form.typed  # the page showed one wall for all until now
    walls = [_wall(form, 1 if alike else number) for number in range(1, 5)]
    return PanelSizes(
        form.need_length_mm("width"),
        form.need_length_mm("depth"),
        (walls[0], walls[1], walls[2], walls[3]),
        form.need_length_mm("relief", most_mm=200.0, above=False),
        form.choice("relief_shape", ("square", "round"), "square") == "round",
    )


def _wall(form: Form, number: int) -> Wall:
    """One wall; empty or 0 leaves it out."""
    return Wall(
        form.length_mm(f"height_{number}", above=False, needed=False) or 0.0,
        form.length_mm(f"return_{number}", above=False, needed=False) or 0.0,
        form.typed.get(f"return_side_{number}") == "out",
    )


def _tab(form: Form, number: int) -> Tab:
    return Tab(
        form.need_length_mm(f"tab_{number}_from", above=False),
        form.need_length_mm(f"tab_{number}_to"),
        form.need_length_mm(f"tab_{number}_height"),
    )


def _step(form: Form, number: int) -> tuple[float, float]:
    return (
        form.need_length_mm(f"step_{number}_length"),
        form.need_length_mm(f"step_{number}_height"),
    )


def _cutout(form: Form, number: int) -> Cutout:
    kind = cast("CutoutKind", form.choice(f"cut_{number}_kind", CUTOUT_KINDS))
    length_mm = form.need_length_mm(f"cut_{number}_length", most_mm=10_000.0)
    return Cutout(
        kind,
        (
            form.need_length_mm(f"cut_{number}_u", least_mm=-20_000.0, above=False),
            form.need_length_mm(f"cut_{number}_v", least_mm=-20_000.0, above=False),
        ),
        length_mm,
        length_mm
        if kind == "round"
        else form.need_length_mm(f"cut_{number}_width", most_mm=10_000.0),
        0.0
        if kind == "round"
        else form.number(f"cut_{number}_turn", least=-360.0, most=360.0, needed=False) or 0.0,
    )


def _line(form: Form, number: int) -> PatternLine:
    """A bend line: two points typed like an outline."""
    name = f"line_{number}"
    points = read_points(form, name)
    if len(points) != 2:
        form.trouble(name, "A bend line is two points.", "Type them like 0 30; 160 30.")
        points = NO_LINE
    return PatternLine(
        (points[0], points[1]),
        with_way(form, _bend(form, f"bend_{number}", f"side_{number}"), f"_{number}", ALL_WAYS),
    )


def _common_bend(form: Form, now: DrawnBend) -> DrawnBend:
    """The bend of a part made by dimensions; a box keeps its square corners."""
    if "angle" in form.typed:
        return with_way(form, _bend(form, "angle", "side"), "", MADE_WAYS)
    side = -1.0 if form.typed.get("side") == "down" else 1.0
    bend = DrawnBend(side * abs(now.bend_angle_deg))
    return with_way(form, bend, "", MADE_WAYS)


def _bend(form: Form, angle: str, side: str) -> DrawnBend:
    angle_deg = form.number(angle, least=-180.0, most=180.0)
    if angle_deg == 0.0:
        form.trouble(angle, "0° is no bend.", "Remove the line, or type an angle.")
    sign = -1.0 if form.typed.get(side) == "down" else 1.0
    return DrawnBend(sign * (angle_deg or 1.0))


def _rows(form: Form, count: str, most: int, read: Callable[[Form, int], T]) -> tuple[T, ...]:
    total = form.whole(count, least=0, most=most, default=0)
    return tuple(read(form, number) for number in range(1, total + 1))


def field_of_flat(where: str | None, typed: Mapping[str, str]) -> str:
    """The field for a place in the geometry, such as lines.1 -> line_2."""
    parts = (where or "").split(".")
    number = int(parts[1]) + 1 if len(parts) > 1 and parts[1].isdecimal() else 1
    size = parts[-1].removesuffix("_mm")
    one_for_all = f"height_{number}" not in typed  # every wall is alike, and typed once
    named = {
        "walls": f"{size}_{1 if one_for_all else number}",
        "lines": f"line_{number}",
        "cutouts": f"cut_{number}_u",
        "outline_mm": "outline",
        "tabs": f"tab_{number}_to",
        "steps": f"step_{number}_height",
    }.get(parts[0], parts[0].removesuffix("_mm"))
    return named if named in typed else "form"
