"""A flat part on the drawing board: made by dimensions, or drawn as a pattern with bend lines.

What is asked for are the folded outside dimensions, so the blank follows from the die. A pattern may
also be the blank itself, as it was cut or sent by somebody else: then the folded part follows.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Literal, cast

from server.geometry.cutout import Cutout, CutoutKind
from server.geometry.generator import Wall
from server.geometry.outline import Loop, Point
from server.planning.blank import DrawnBend
from server.planning.drawn_part import bend_of_plain, plain_bend

SQUARE = DrawnBend(90.0)
PatternIs = Literal["outside", "blank"]
Grain = Literal["any", "u", "v"]
NO_WALL = Wall(0.0)


@dataclass(frozen=True, slots=True)
class PanelSizes:
    """A box, tray or panel: its base and a wall on each side; a wall of height 0 is none.

    Sides in the order front (v = 0), right, back, left. `relief_mm` is the room beside a bend's end.
    """

    width_mm: float
    depth_mm: float
    walls: tuple[Wall, Wall, Wall, Wall]
    relief_mm: float
    round_relief: bool = False

    @property
    def standing(self) -> tuple[Wall | None, ...]:
        """The walls as the generator takes them."""
        return tuple(wall if wall.height_mm > 0.0 else None for wall in self.walls)

    @property
    def alike(self) -> bool:
        """Whether all four walls are the same."""
        return len(set(self.walls)) == 1


@dataclass(frozen=True, slots=True)
class Tab:
    """A tab on a bracket's edge: from, to, and its outside height."""

    start_mm: float
    end_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True)
class BracketSizes:
    """A plate with tabs bent up along its front edge."""

    width_mm: float
    depth_mm: float
    tabs: tuple[Tab, ...]
    relief_mm: float


@dataclass(frozen=True, slots=True)
class SteppedSizes:
    """A plate with one front flange whose height changes in steps: (length, outside height)."""

    depth_mm: float
    steps: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class PatternLine:
    """A bend line drawn on a pattern, and the bend along it."""

    line_mm: tuple[Point, Point]
    bend: DrawnBend


@dataclass(frozen=True, slots=True)
class Pattern:
    """An outline with bend lines, in outside dimensions or as the blank itself."""

    outline_mm: Loop
    lines: tuple[PatternLine, ...]
    pattern_is: PatternIs = "outside"


Made = PanelSizes | BracketSizes | SteppedSizes
FlatForm = Made | Pattern


@dataclass(frozen=True, slots=True)
class DrawnFlat:
    """A flat part as drawn. `bend` is every bend of a part made by dimensions.

    Cut-outs of a part made by dimensions lie in its base, measured from the base's outside corner;
    those of a pattern lie anywhere and may run over its edge. `grain` is the way the sheet was
    rolled, along u or v of the drawing, where the part asks for one.
    """

    form: FlatForm
    cutouts: tuple[Cutout, ...] = ()
    bend: DrawnBend = SQUARE
    grain: Grain = "any"


@dataclass(frozen=True, slots=True)
class DrawnFlatPart:
    """A flat part being drawn, with its sheet and tools. No die or punch: the best of the shop."""

    flat: DrawnFlat
    number: str = ""
    name: str = ""
    material_code: str = ""
    thickness_mm: float = 1.5
    die_code: str | None = None
    punch_code: str | None = None
    k_factor: float | None = None

    def with_flat(self, flat: DrawnFlat) -> "DrawnFlatPart":
        """The same sheet and tools, another shape."""
        return replace(self, flat=flat)


def _box(return_mm: float = 0.0) -> PanelSizes:
    wall = Wall(40.0, return_mm)
    return PanelSizes(200.0, 120.0, (wall, Wall(40.0), wall, Wall(40.0)), 2.0)


FLAT_STARTERS: Mapping[str, DrawnFlat] = {
    "box": DrawnFlat(_box()),
    "box with returns": DrawnFlat(_box(12.0)),
    "panel": DrawnFlat(
        PanelSizes(400.0, 250.0, (Wall(25.0, 12.0), NO_WALL, Wall(25.0, 12.0), NO_WALL), 2.0)
    ),
    "bracket with tabs": DrawnFlat(
        BracketSizes(160.0, 90.0, (Tab(10.0, 50.0, 30.0), Tab(110.0, 150.0, 30.0)), 2.0)
    ),
    "stepped flange": DrawnFlat(SteppedSizes(80.0, ((50.0, 30.0), (60.0, 20.0)))),
    "free pattern": DrawnFlat(
        Pattern(
            ((0.0, 0.0), (160.0, 0.0), (160.0, 120.0), (0.0, 120.0)),
            (PatternLine(((0.0, 30.0), (160.0, 30.0)), SQUARE),),
        )
    ),
}
"""Shapes to start from, with sizes of our own."""


def with_line_added(pattern: Pattern, line_mm: tuple[Point, Point], bend: DrawnBend) -> Pattern:
    """The pattern with one more bend line."""
    return replace(pattern, lines=(*pattern.lines, PatternLine(line_mm, bend)))


def with_line_removed(pattern: Pattern, index: int) -> Pattern:
    """The pattern without one of its bend lines."""
    return replace(pattern, lines=(*pattern.lines[:index], *pattern.lines[index + 1 :]))


def plain_of_flat(part: DrawnFlatPart) -> dict[str, Any]:
    """The part as plain values, for keeping."""
    return {
        "kind": "flat",
        "number": part.number,
        "name": part.name,
        "material_code": part.material_code,
        "thickness_mm": part.thickness_mm,
        "die_code": part.die_code,
        "punch_code": part.punch_code,
        "k_factor": part.k_factor,
        "grain": part.flat.grain,
        "bend": plain_bend(part.flat.bend),
        "form": _plain_form(part.flat.form),
        "cutouts": [
            {
                "kind": one.kind,
                "at_mm": list(one.at_mm),
                "length_mm": one.length_mm,
                "width_mm": one.width_mm,
                "turn_deg": one.turn_deg,
            }
            for one in part.flat.cutouts
        ],
    }


def drawn_flat_of(plain: Mapping[str, Any]) -> DrawnFlatPart:
    """The part from plain values that `plain_of_flat` made."""
    return DrawnFlatPart(
        flat=DrawnFlat(
            form=_form_of(plain["form"]),
            bend=bend_of_plain(plain["bend"]),
            grain=cast("Grain", plain["grain"]),
            cutouts=tuple(
                Cutout(
                    cast("CutoutKind", one["kind"]),
                    _point(one["at_mm"]),
                    float(one["length_mm"]),
                    float(one["width_mm"]),
                    float(one["turn_deg"]),
                )
                for one in plain["cutouts"]
            ),
        ),
        number=str(plain["number"]),
        name=str(plain["name"]),
        material_code=str(plain["material_code"]),
        thickness_mm=float(plain["thickness_mm"]),
        die_code=plain["die_code"],
        punch_code=plain["punch_code"],
        k_factor=plain["k_factor"],
    )


def _plain_form(form: FlatForm) -> dict[str, Any]:
    match form:
        case PanelSizes():
            return {
                "shape": "panel",
                "width_mm": form.width_mm,
                "depth_mm": form.depth_mm,
                "walls": [
                    [wall.height_mm, wall.return_mm, "out" if wall.return_out else "in"]
                    for wall in form.walls
                ],
                "relief_mm": form.relief_mm,
                "relief": "round" if form.round_relief else "square",
            }
        case BracketSizes():
            return {
                "shape": "bracket",
                "width_mm": form.width_mm,
                "depth_mm": form.depth_mm,
                "tabs_mm": [[tab.start_mm, tab.end_mm, tab.height_mm] for tab in form.tabs],
                "relief_mm": form.relief_mm,
            }
        case SteppedSizes():
            return {
                "shape": "stepped",
                "depth_mm": form.depth_mm,
                "steps_mm": [list(step) for step in form.steps],
            }
        case Pattern():
            return {
                "shape": "pattern",
                "pattern_is": form.pattern_is,
                "outline_mm": [list(point) for point in form.outline_mm],
                "lines": [
                    {"line_mm": [list(point) for point in line.line_mm], **plain_bend(line.bend)}
                    for line in form.lines
                ],
            }


def _form_of(plain: Mapping[str, Any]) -> FlatForm:
    match plain["shape"]:
        case "panel":
            front, right, back, left = (
                Wall(float(height), float(back_mm), side == "out")
                for height, back_mm, side in plain["walls"]
            )
            return PanelSizes(
                float(plain["width_mm"]),
                float(plain["depth_mm"]),
                (front, right, back, left),
                float(plain["relief_mm"]),
                plain["relief"] == "round",
            )
        case "bracket":
            return BracketSizes(
                float(plain["width_mm"]),
                float(plain["depth_mm"]),
                tuple(Tab(float(a), float(b), float(height)) for a, b, height in plain["tabs_mm"]),
                float(plain["relief_mm"]),
            )
        case "stepped":
            return SteppedSizes(
                float(plain["depth_mm"]),
                tuple((float(length), float(height)) for length, height in plain["steps_mm"]),
            )
        case _:
            return Pattern(
                tuple(_point(point) for point in plain["outline_mm"]),
                tuple(
                    PatternLine(
                        (_point(line["line_mm"][0]), _point(line["line_mm"][1])),
                        bend_of_plain(line),
                    )
                    for line in plain["lines"]
                ),
                cast("PatternIs", plain["pattern_is"]),
            )


def _point(plain: Any) -> Point:
    return (float(plain[0]), float(plain[1]))
