"""What an order of strokes costs: the seconds of handling between them.

Choices left open by the documents: a turn in the plane by any angle counts as a turn end for end;
turning the sheet over keeps the same edge to the rear, so turning over and turning round are
counted separately; after a change of tools no station is counted on top.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

from server.mechanics.tooling import Punch
from server.planning.gauging import Contact
from server.settings import HandlingSeconds


@dataclass(frozen=True, slots=True)
class Pose:
    """How the sheet lies and what it is bent with, as far as the next stroke's cost depends on it."""

    side: int
    direction: int
    x_mm: float
    tools: str
    station: int


@dataclass(frozen=True, slots=True)
class OrderCost:
    """Seconds of a bend sequence and what they are made of."""

    seconds: float = 0.0
    turns_over: int = 0
    turns_end_for_end: int = 0
    gauge_moves: int = 0
    tool_changes: int = 0
    station_changes: int = 0
    flange_contacts: int = 0


@dataclass(frozen=True, slots=True)
class Costs:
    """Handling seconds for one part: turning weighs more the heavier it is."""

    handling: HandlingSeconds
    mass_kg: float
    over_s: float = field(init=False)
    turn_s: float = field(init=False)

    def __post_init__(self) -> None:
        ratio = 1.0 + self.mass_kg / self.handling.mass_for_double_kg
        object.__setattr__(self, "over_s", self.handling.turn_over_s * ratio)
        object.__setattr__(self, "turn_s", self.handling.turn_end_for_end_s * ratio)

    def stroke_s(self, contact: Contact) -> float:
        """Seconds of the stroke itself."""
        extra = self.handling.gauge_on_flange_s if contact.kind == "flange" else 0.0
        return self.handling.stroke_s + extra

    def gauge_s(self, from_mm: float, to_mm: float) -> float:
        """Seconds for moving the gauge."""
        if from_mm == to_mm:
            return 0.0
        return self.handling.gauge_move_s + abs(to_mm - from_mm) / (
            self.handling.gauge_speed_mm_per_s
        )

    def move_s(self, before: Pose, after: Pose) -> float:
        """Seconds between two strokes."""
        seconds = self.gauge_s(before.x_mm, after.x_mm)
        if before.side != after.side:
            seconds += self.over_s
        if before.direction != after.direction:
            seconds += self.turn_s
        if before.tools != after.tools:
            seconds += self.handling.change_tools_s
        elif before.station != after.station:
            seconds += self.handling.other_station_s
        return seconds


@dataclass(frozen=True, slots=True)
class PlacedStroke:
    """One stroke of an order: how it is placed, gauged and tooled."""

    stroke: int
    rear: int
    punch: Punch
    contact: Contact
    pose: Pose


def order_cost(order: Sequence[PlacedStroke], costs: Costs) -> OrderCost:
    """The cost of an order, counted afresh from its strokes."""
    total = OrderCost()
    before: Pose | None = None
    for placed in order:
        flange = placed.contact.kind == "flange"
        after = placed.pose
        moved = OrderCost() if before is None else _between(before, after, costs)
        total = OrderCost(
            total.seconds + moved.seconds + costs.stroke_s(placed.contact),
            total.turns_over + moved.turns_over,
            total.turns_end_for_end + moved.turns_end_for_end,
            total.gauge_moves + moved.gauge_moves,
            total.tool_changes + moved.tool_changes,
            total.station_changes + moved.station_changes,
            total.flange_contacts + flange,
        )
        before = after
    return total


def _between(before: Pose, after: Pose, costs: Costs) -> OrderCost:
    other_tools = before.tools != after.tools
    return OrderCost(
        costs.move_s(before, after),
        int(before.side != after.side),
        int(before.direction != after.direction),
        int(before.x_mm != after.x_mm),
        int(other_tools),
        int(not other_tools and before.station != after.station),
    )
