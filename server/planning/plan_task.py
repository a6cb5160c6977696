"""What the planner is asked: a part, a sheet, the tools and the brake, and the shop's wishes."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

from server.errors import ShopError, place, say
from server.geometry.outline import Point
from server.geometry.part import Face
from server.geometry.profile import Rear
from server.mechanics.air_bend import SpringbackGiven
from server.mechanics.bend_limits import DEFAULT_FLANGE_MARGIN
from server.mechanics.bump_bend import SMOOTH_STEP_DEG
from server.mechanics.control_reading import TouchOff
from server.mechanics.flat_length import DimensionTo, LegsAre
from server.mechanics.general_tolerance import ToleranceClass
from server.mechanics.material import Material
from server.mechanics.tooling import Brake, Die, Punch
from server.settings import HandlingSeconds

Way = Literal["air", "bottoming", "coining", "hem", "offset", "bump"]


@dataclass(frozen=True, slots=True)
class ShapeBend:
    """One bend as drawn; the sign says which side closes.

    `inside_radius_mm` is the whole curve's for a bumped bend, and is not used else. `gap_mm` is
    left inside a hem, `step_deg` the largest hit of a bumped bend, `outside_offset_mm` outer face
    to opposite outer face of an offset, whose two bends have the angle given.
    """

    bend_angle_deg: float
    way: Way = "air"
    inside_radius_mm: float | None = None
    gap_mm: float = 0.0
    step_deg: float = SMOOTH_STEP_DEG
    outside_offset_mm: float | None = None
    dimension_to: DimensionTo | None = None


@dataclass(frozen=True, slots=True)
class ProfileShape:
    """A constant-section part: legs and bends in order from its first edge."""

    width_mm: float
    legs_mm: tuple[float, ...]
    bends: tuple[ShapeBend, ...]
    legs_are: LegsAre = "outside"


@dataclass(frozen=True, slots=True)
class FlatShapeBend:
    """One bend of a flat part: its centre line, the two faces it joins, and how it is bent."""

    line_mm: tuple[Point, Point]
    faces: tuple[int, int]
    bend: ShapeBend


@dataclass(frozen=True, slots=True)
class FlatShape:
    """A part as faces and bends on the flat."""

    faces: tuple[Face, ...]
    bends: tuple[FlatShapeBend, ...]


Shape = ProfileShape | FlatShape


@dataclass(frozen=True, slots=True)
class ToolPair:
    """A punch over a die."""

    punch: Punch
    die: Die

    @property
    def name(self) -> str:
        """Both names."""
        return f"{self.punch.name} / {self.die.name}"


@dataclass(frozen=True, slots=True)
class Wishes:
    """What a shop fixes. Bends are named by index.

    `before` says (this, that): this bend is made before that one. `fixed_order` names bends in the
    order they are to be made in; bends not named stay free. `gauge_from` names the half that is
    behind the die for a bend, and so the edge it is gauged from.
    """

    before: tuple[tuple[int, int], ...] = ()
    fixed_order: tuple[int, ...] = ()
    gauge_from: Mapping[int, Rear] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class PlanTask:
    """Everything the planner needs.

    `flattening` presses hems flat and `offset_tools` make offsets in one stroke; both are None in a
    shop that has none. `y_resolution_mm` and the X axis of the brake round what is keyed in.
    `keyed_exactly` leaves X and Y unrounded; `split_groups` makes every bend a stroke of its own.
    `shapes_in_dies` is a flat part's blank for dies (by name) other than the one of `shape`.
    """

    shape: Shape
    thickness_mm: float
    material: Material
    brake: Brake
    punches: tuple[Punch, ...]
    dies: tuple[Die, ...]
    touch_off: TouchOff
    k_factor: float | None = None
    springback_deg: SpringbackGiven = "model"
    handling: HandlingSeconds = field(default_factory=HandlingSeconds)
    flange_margin: float = DEFAULT_FLANGE_MARGIN
    tolerance_class: ToleranceClass = "m"
    wishes: Wishes = field(default_factory=Wishes)
    flattening: ToolPair | None = None
    offset_tools: ToolPair | None = None
    keyed_exactly: bool = False
    split_groups: bool = False
    shapes_in_dies: tuple[tuple[str, FlatShape], ...] = ()

    @property
    def bend_count(self) -> int:
        """How many bends the shape has."""
        return len(self.shape.bends)

    def in_die(self, die: Die) -> "PlanTask":
        """The task with one die only, and the flat part's blank for it."""
        return replace(self, dies=(die,), shape=dict(self.shapes_in_dies).get(die.name, self.shape))


def checked_wishes(wishes: Wishes, bend_count: int) -> Wishes:
    """Wishes that name bends of the part and do not contradict each other.

    Raises: ShopError `no_such_bend`, `bend_named_twice`, `orders_contradict`.
    """
    named = (
        *((bend, "fixed_order") for bend in wishes.fixed_order),
        *((bend, "before") for pair in wishes.before for bend in pair),
        *((bend, "gauge_from") for bend in wishes.gauge_from),
    )
    for bend, where in named:
        if not 0 <= bend < bend_count:
            raise ShopError(
                "no_such_bend",
                say(
                    "There is no bend {bend}; the part has {count}, counted from {first}.",
                    bend=place(bend),
                    count=str(bend_count),
                    first=place(0),
                ),
                remedy="Name bends of this part.",
                where=where,
            )
    if len(set(wishes.fixed_order)) != len(wishes.fixed_order):
        raise ShopError(
            "bend_named_twice",
            "The fixed order names a bend twice.",
            remedy="Name each bend once.",
            where="fixed_order",
        )
    after: dict[int, set[int]] = {bend: set() for bend in range(bend_count)}
    for first, second in pairs_in_order(wishes):
        after[first].add(second)
    waiting = {bend: sum(bend in later for later in after.values()) for bend in after}
    free = [bend for bend, count in waiting.items() if count == 0]
    placed = 0
    while free:
        placed += 1
        for later in after[free.pop()]:
            waiting[later] -= 1
            if waiting[later] == 0:
                free.append(later)
    if placed < bend_count:
        raise ShopError(
            "orders_contradict",
            "The wishes for the order contradict each other: no bend could be first.",
            remedy="Take one of them back.",
            where="before" if wishes.before else "fixed_order",
        )
    return wishes


def pairs_in_order(wishes: Wishes) -> tuple[tuple[int, int], ...]:
    """Every (earlier, later) pair the wishes ask for."""
    chain = tuple(zip(wishes.fixed_order, wishes.fixed_order[1:], strict=False))
    return (*wishes.before, *chain)


def shape_bends(task: PlanTask) -> tuple[ShapeBend, ...]:
    """The bends of the task's shape, whatever its kind."""
    return bends_of(task.shape)


def bends_of(shape: Shape) -> tuple[ShapeBend, ...]:
    """The bends of a shape, whatever its kind."""
    if isinstance(shape, ProfileShape):
        return shape.bends
    return tuple(bend.bend for bend in shape.bends)
