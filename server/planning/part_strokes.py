"""Every stroke of a flat part in every folded state: gauge contact, support, tools, clearance.

What is met is in `part_meeting`, the stations made around it in `part_staging`, the ways in and out
in `part_rest`; here they are asked in the order of what they cost.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from shapely.geometry import Polygon

from server.findings import Finding
from server.geometry.clearance import Obstacles
from server.geometry.outline import convex_parts
from server.geometry.part import FlatPart
from server.geometry.solid import Span
from server.geometry.thick_part import ThickPart
from server.mechanics.tooling import Punch
from server.planning.gauging import Contact, nearest_finger_x, rounded_x
from server.planning.making import Making
from server.planning.part_block import Met
from server.planning.part_gauging import FreeEdges, PartGauge
from server.planning.part_half import PartHalf, subsets
from server.planning.part_meeting import PartMeetings
from server.planning.part_report import part_findings
from server.planning.part_rest import FIRST, LAST, PartRest
from server.planning.part_staging import Needs, PartStaging, runs_of
from server.planning.placed_element import Element, PlacedElement
from server.planning.plan_task import PlanTask
from server.planning.stroke import Stroke
from server.planning.stroke_tests import Ask, Offer, Stop, lower_prisms, opening_finding
from server.planning.taking_out import WayOut
from server.planning.tool_staging import Station, Stock, run_needs

SAME_WAY_DEG = 0.5
MOST_FREE_STROKES = 6


class PartStrokes:
    """The strokes of a flat part; see `StrokeTests`."""

    def __init__(self, task: PlanTask, making: Making) -> None:
        assert isinstance(making.sheet, FlatPart)
        self.task = task
        self.making = making
        self.thick = ThickPart(making.sheet)
        self._halves = [
            (
                PartHalf(making, self.thick, stroke, 0),
                PartHalf(making, self.thick, stroke, 1),
            )
            for stroke in making.strokes
        ]
        self.directions = _directions(self._halves)
        self.gauge = PartGauge(FreeEdges(making.sheet, self.thick), task.brake.finger)
        self.rest = PartRest(task)
        self.meetings = PartMeetings(task, making, self.thick, self.rest)
        self.staging = PartStaging(task)
        self._asked_here = 0
        self._contacts: dict[tuple[int, int, int], Contact | None] = {}
        self._possible: dict[tuple[object, ...], tuple[int, ...]] = {}
        self._alone: dict[tuple[int, int, int, str], bool] = {}
        self._nearest: dict[str, float] = {}
        self._ways: dict[tuple[object, ...], tuple[WayOut, WayOut]] = {}

    @property
    def tests_made(self) -> int:
        """Tests asked for so far, each counted once."""
        return self._asked_here + self.meetings.made

    @property
    def stations_of(self) -> dict[str, list[Station]]:
        """The stations so far, by their tools."""
        return self.staging.stations_of

    def contact(self, done: int, stroke: int, rear: int) -> Contact | None:
        """The gauge contact when it is allowed and the sheet rests on both shoulders."""
        behind, front = self.sides(stroke, rear)
        key = (stroke, rear, done & (behind.mask | front.mask))
        if key not in self._contacts:
            self._contacts[key] = self._contact(done, stroke, behind, front)
        return self._contacts[key]

    def possible(self, done: int, stroke: int, rear: int, punch: Punch) -> bool:
        """Whether nothing blocks the stroke; only asked where there is a contact."""
        return bool(self.stations(done, stroke, rear, punch))

    def contacts(
        self, done: Sequence[int], stroke: int, rear: int, punches: Sequence[Punch]
    ) -> list[Offer | None]:
        """For each of many states the contact, and the punches not known to be blocked."""
        behind, front = self.sides(stroke, rear)
        mask = behind.mask | front.mask
        found: list[Offer | None] = []
        for one in done:
            contact = self.contact(one, stroke, rear)
            some = tuple(
                punch
                for punch in punches
                if self._possible.get((stroke, rear, punch.name, one & mask)) != ()
            )
            found.append((contact, some) if contact is not None and some else None)
        return found

    def offers(
        self,
        sets: Sequence[int],
        asks: Sequence[Ask],
        punches: Sequence[Sequence[Punch]],
    ) -> list[list[Offer | None]]:
        """`contacts` for many strokes and sets, one stroke after another."""
        return [
            self.contacts(
                [sets[place] & ~(1 << ask.stroke) for place in ask.places],
                ask.stroke,
                ask.rear,
                punches[ask.stroke],
            )
            for ask in asks
        ]

    def stations(self, done: int, stroke: int, rear: int, punch: Punch) -> tuple[int, ...]:
        """Numbers of the tool stations that serve a stroke, none when it is blocked."""
        behind, front = self.sides(stroke, rear)
        key = (stroke, rear, punch.name, done & (behind.mask | front.mask))
        if key not in self._possible:
            self._possible[key] = self._stations(done, stroke, rear, punch)
        return self._possible[key]

    def station(self, tools: str, number: int) -> Station:
        """A station by its tools and number."""
        return self.stations_of[tools][number]

    def needs(
        self, done: int, stroke: int, rear: int, punch: Punch, over: Sequence[Span] = ()
    ) -> Needs | None:
        """The runs of punch and die a stroke needs, None when the part stands in their way.

        `over` are stretches the punch has to leave out as well.
        """
        upper, lower = list(over), list[Span]()
        for half, is_front in self.tested(stroke, rear):
            met = self.meetings.half(half, done, punch, front=is_front)
            if met.blocked:
                return None
            upper += met.punch
            lower += met.die
        spans = self._halves[stroke][0].spans
        punch_needs, die_needs = (
            self.staging.runs(spans, tuple(blocked)) for blocked in (upper, lower)
        )
        return None if punch_needs is None or die_needs is None else (punch_needs, die_needs)

    def prepare_stations(self, punch: Punch, rears: tuple[int, ...] = (0, 1)) -> None:
        """Choose stations that serve many strokes, before the search asks for one at a time.

        The narrowest need of each stroke is that with every other bend made.
        """
        narrow: list[tuple[Needs, Stroke]] = []
        full = (1 << len(self.making.strokes)) - 1
        for stroke in self.making.strokes:
            for done in (full & ~(1 << stroke.index), 0):
                found = next(
                    (
                        needs
                        for rear in rears
                        for needs in (self.needs(done, stroke.index, rear, punch),)
                        if needs is not None
                    ),
                    None,
                )
                if found is not None:
                    narrow.append((found, stroke))
                    break
        self.staging.prepare(narrow, punch)

    def stand_together(self, tools: str, punch: Punch, stroke: Stroke) -> bool:
        """Whether all stations of a pair of tools can be set up at once."""
        return self.staging.stand_together(tools, punch, stroke)

    def longest_reach(self, stroke: int, done: int) -> float:
        """Farthest sheet from the bend line on either side [mm]."""
        return max(
            math.hypot(float(abs(solid.corners[:, 0]).max()), float(abs(solid.corners[:, 1]).max()))
            for half in self._halves[stroke]
            for element in half.elements
            for solid in half.solids(element, done)
        )

    def cautions(self, done: int, stroke: int, rear: int, punch: Punch) -> tuple[Finding, ...]:
        """Taking out is tested for every stroke of a flat part: nothing is left to say."""
        del done, stroke, rear, punch
        return ()

    def half(self, stroke: int, which: int) -> PartHalf:
        """One of the two halves of a stroke: of the bend's first face, or of its second."""
        return self._halves[stroke][which]

    def always_blocked(
        self, stroke: int, other: int, punches: Sequence[Punch], rears: Sequence[int]
    ) -> bool:
        """Whether another stroke made before blocks a stroke, whatever else is made.

        Only what that stroke alone puts in its place counts, and the sheet it takes from under the
        shoulders.
        """
        bit = 1 << other
        if any(len(self.making.zone_states[zone]) > 1 for zone in self._zones_of(other)):
            return False  # what else is made of these zones may make room again
        halves = self._halves[stroke]
        if not all(half.rests(bit) for half in halves):
            return True
        return not any(
            self._alone_clear(stroke, bit, rear, punch) for rear in rears for punch in punches
        )

    def _zones_of(self, stroke: int) -> tuple[int, ...]:
        return self.making.strokes[stroke].zones

    def _alone_clear(self, stroke: int, bit: int, rear: int, punch: Punch) -> bool:
        key = (stroke, bit, rear, punch.name)
        if key not in self._alone:
            self._alone[key] = self._clear_of(stroke, bit, rear, punch)
        return self._alone[key]

    def _clear_of(self, stroke: int, bit: int, rear: int, punch: Punch) -> bool:
        one, behind = self.making.strokes[stroke], self.sides(stroke, rear)[0]
        blocked: dict[str, list[Span]] = {punch.name: [], one.die.name: []}
        for half, is_front in self.tested(stroke, rear):
            for placed in half.placed_elements(bit):
                if placed.element.mask != bit:
                    continue
                for met in self.element_met(half, placed, punch, front=is_front):
                    if met.tool not in blocked:
                        return False
                    blocked[met.tool] += met.spans
        return all(run_needs(behind.spans, spans) is not None for spans in blocked.values())

    def possible_stops(
        self, stroke: int, rear: int, before: int, later: int
    ) -> tuple[Stop, ...] | None:
        """Every X at which a stroke may be gauged with `before` made and `later` not made."""
        behind, _ = self.sides(stroke, rear)
        axis = self.task.brake.x_axis
        still = self.making.strokes[stroke].still
        if still is not None and (rear not in still.rears or still.fold_x_mm is not None):
            fold_x_mm = still.fold_x_mm if rear in still.rears else None
            return () if fold_x_mm is None else (Stop(fold_x_mm, 0, 0),)
        from_line_mm = 0.0 if still is None else still.from_line_mm
        least_mm = max(axis.least_mm, self.nearest_x(self.making.strokes[stroke]) - 1e-9)
        found: dict[Stop, None] = {}
        for number, element in enumerate(behind.elements):
            free = element.mask & ~before & ~later
            if free.bit_count() > MOST_FREE_STROKES:
                return None
            for some in subsets(free):
                done = element.mask & before | some
                x_mm = self.gauge.offered_x(behind, behind.placed(number, done), done)
                x_mm = [rounded_x(x + from_line_mm) for x in x_mm] if from_line_mm else x_mm
                stops = (Stop(x, element.mask, done) for x in x_mm if least_mm <= x <= axis.most_mm)
                found.update(dict.fromkeys(stops))
        return tuple(found)

    def findings(self, done: int, stroke: int, rear: int, punch: Punch) -> tuple[Finding, ...]:
        """Everything that blocks the stroke, each with what would free it."""
        return part_findings(self, done, stroke, rear, punch)

    def sides(self, stroke: int, rear: int) -> tuple[PartHalf, PartHalf]:
        """The half behind the die, then the half in front."""
        halves = self._halves[stroke]
        return halves[rear], halves[1 - rear]

    def tested(self, stroke: int, rear: int) -> Iterator[tuple[PartHalf, bool]]:
        """The halves that are held against the tools, each with whether it lies in front."""
        for half, is_front in zip(self.sides(stroke, rear), (False, True), strict=True):
            if half.is_tested:
                yield half, is_front

    def _contact(self, done: int, stroke: int, behind: PartHalf, front: PartHalf) -> Contact | None:
        one = self.making.strokes[stroke]
        if not behind.on_one_line(done) or not front.on_one_line(done):
            return None
        if not behind.rests(done) or not front.rests(done):
            return None
        self._asked_here += 1
        axis = self.task.brake.x_axis
        for found in self.touching(behind, done):
            if axis.least_mm <= found.x_mm <= axis.most_mm and (
                found.x_mm >= self.nearest_x(one) - 1e-9
            ):
                return found
        return None

    def touching(self, behind: PartHalf, done: int) -> list[Contact]:
        """Every allowed contact of the half behind the die, the best first."""
        still = behind.stroke.still
        if still is None:
            return self.gauge.contacts(behind, done)
        if behind.which not in still.rears:
            return []
        if still.fold_x_mm is not None:
            low, high = max(behind.spans, key=lambda span: span[1] - span[0])
            at = (still.fold_x_mm, self.task.thickness_mm)
            fold_mm, middle = still.fold_x_mm, ((low + high) / 2,)
            return [Contact("edge", fold_mm, behind.root, at, middle, high - low)]
        moved = []
        for found in self.gauge.contacts(behind, done):
            x_mm = rounded_x(found.x_mm + still.from_line_mm)
            moved.append(replace(found, x_mm=x_mm, at_mm=(x_mm, found.at_mm[1])))
        return moved

    def _stations(self, done: int, stroke: int, rear: int, punch: Punch) -> tuple[int, ...]:
        one = self.making.strokes[stroke]
        contact = self.contact(done, stroke, rear)
        if contact is None or opening_finding(self.task, one, punch) is not None:
            return ()
        needs = self.needs(done, stroke, rear, punch)
        if needs is None:
            return ()
        if one.still is None and (
            self.meetings.finger(self.sides(stroke, rear)[0], done, contact) is not None
            or self.self_met(done, stroke) is not None
        ):
            return ()
        wanted = self._asked(done, stroke, rear, punch, needs)
        return self.staging.numbers(
            one,
            punch,
            wanted,
            lambda station, asked: self.comes_out_of(done, stroke, rear, punch, station, asked),
        )

    def _asked(
        self, done: int, stroke: int, rear: int, punch: Punch, needs: Needs
    ) -> tuple[Needs, ...]:
        """What a stroke needs, and after it what also lets the punch rise past what stands over
        it.
        """
        over = [
            span
            for way in self._ways_out(done, stroke, rear, punch)
            for span in way.over_the_punch()
        ]
        shorter = self.needs(done, stroke, rear, punch, over) if over else None
        return (needs,) if shorter is None else (needs, shorter)

    def stock(self, kind: str, name: str, segments_mm: tuple[float, ...]) -> Stock:
        """What can be put together from a tool's segments."""
        return self.staging.stock(kind, name, segments_mm)

    def nearest_x(self, stroke: Stroke) -> float:
        """Smallest X at which the finger clears die and bed."""
        name = stroke.die.name
        if name not in self._nearest:
            standing = [
                part
                for prism in lower_prisms(self.task, stroke.die)
                for part in convex_parts(Polygon(prism.outline_mm))
            ]
            self._nearest[name] = nearest_finger_x(self.task.brake.finger, standing)
        return self._nearest[name]

    def tools(self, half: PartHalf, punch: Punch, *, front: bool) -> tuple[Obstacles, Obstacles]:
        """Upper and lower tools as one half sees them."""
        return self.meetings.tools(half, punch, front=front)

    def element_met(
        self, half: PartHalf, placed: PlacedElement, punch: Punch, *, front: bool
    ) -> tuple[Met, ...]:
        """What one element meets through the stroke."""
        return self.meetings.element(half, placed, punch, front=front)

    def finger_met(
        self, done: int, stroke: int, rear: int, contact: Contact
    ) -> tuple[Element, float, int] | None:
        """The first element that meets a finger, with depth and sample."""
        behind = self.sides(stroke, rear)[0]
        met = self.meetings.finger(behind, done, contact)
        if met is None:
            return None
        return (met.element, *self.meetings.finger_depth(behind, met, contact))

    def self_met(self, done: int, stroke: int) -> tuple[Element, Element] | None:
        """Two elements of different halves that share space at the end of the stroke."""
        return self.meetings.itself(self._halves[stroke], done)

    def comes_out_of(
        self, done: int, stroke: int, rear: int, punch: Punch, station: Station, needs: Needs
    ) -> bool:
        """Whether the part can be put in before the stroke and taken out after it."""
        runs = runs_of(station, needs)
        return all(way.comes_out(*runs) for way in self._ways_out(done, stroke, rear, punch))

    def _ways_out(self, done: int, stroke: int, rear: int, punch: Punch) -> tuple[WayOut, WayOut]:
        """The part before and after the stroke, as it goes in and comes out."""
        behind, front = self.sides(stroke, rear)
        key = (stroke, rear, punch.name, done & (behind.mask | front.mask))
        if key not in self._ways:
            self._asked_here += 1
            halves = list(self.tested(stroke, rear))
            before, after = (
                self.rest.way_out(halves, done, punch, sample) for sample in (FIRST, LAST)
            )
            self._ways[key] = (before, after)
        return self._ways[key]


def _directions(halves: list[tuple[PartHalf, PartHalf]]) -> tuple[tuple[int, int], ...]:
    """Numbers for the ways the rear may point on the flat sheet, equal within half a degree."""
    known: list[tuple[float, float]] = []
    cos = math.cos(math.radians(SAME_WAY_DEG))

    def number(way: tuple[float, float]) -> int:
        for index, other in enumerate(known):
            if way[0] * other[0] + way[1] * other[1] >= cos:
                return index
        known.append(way)
        return len(known) - 1

    return tuple((number(first.outward), number(second.outward)) for first, second in halves)
