"""Every stroke of a flat part in every folded state: gauge contact, support, tools, clearance.

Tools are prisms along the bed. Instead of clipping every face to every possible set of tools, each
element of the part is held against the endless prism of punch and die, and where it would be met is
kept as a stretch of the bed that the tool has to leave out. Tools are then staged around these
stretches: what clears by the documents' 1 mm at each end is clear when clipped too. Holder and bed
are as long as the brake.

Choices left open by the documents: the flat sheet in the plane of the bend line may touch the die's
top and is not tested against it; the face whose free edge touches a finger is not tested against
that finger.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from shapely.geometry import Polygon

from server.findings import Finding
from server.geometry.clearance import Obstacles, Prism, Swing, seen_in_machine
from server.geometry.outline import Loop, convex_parts, shifted
from server.geometry.part import FlatPart
from server.geometry.solid import Solid, Span, solids_overlap
from server.geometry.thick_part import ThickPart
from server.mechanics.tooling import Punch
from server.planning.gauging import Contact, finger_outline, nearest_finger_x, rounded_x
from server.planning.making import Making, open_tip_height
from server.planning.part_block import Met, deepest, meetings, shadows_of
from server.planning.part_gauging import FreeEdges, PartGauge
from server.planning.part_half import Element, PartHalf, PlacedElement
from server.planning.part_report import part_findings
from server.planning.plan_task import PlanTask
from server.planning.stroke import Stroke
from server.planning.stroke_tests import (
    BED,
    FINGER,
    holder_in_place,
    lower_prisms,
    opening_finding,
    upper_prisms,
    with_loading,
)
from server.planning.taking_out import OpenTools, Piece, WayOut
from server.planning.tool_staging import (
    Assembly,
    RunNeed,
    Station,
    Stock,
    all_at_once,
    run_needs,
    run_start,
    serves,
    station_for,
)

LAST = -1
SAME_WAY_DEG = 0.5
MOST_FREE_STROKES = 6
Needs = tuple[tuple[RunNeed, ...], tuple[RunNeed, ...]]


@dataclass(frozen=True, slots=True)
class InMachine:
    """An element in the machine at one sample: solids, what they are seen along the bed, their box.

    The box has the least corner, then the greatest.
    """

    solids: tuple[Solid, ...]
    pieces: tuple[Piece, ...]
    box_mm: tuple[float, ...]


class PartStrokes:
    """The strokes of a flat part; see `StrokeTests`."""

    def __init__(self, task: PlanTask, making: Making) -> None:
        assert isinstance(making.sheet, FlatPart)
        self.task = task
        self.making = making
        self.thick = ThickPart(making.sheet)
        self.tests_made = 0
        self._halves = [
            (
                PartHalf(making, self.thick, stroke, 0),
                PartHalf(making, self.thick, stroke, 1),
            )
            for stroke in making.strokes
        ]
        self.directions = _directions(self._halves)
        self.stations_of: dict[str, list[Station]] = {}
        self._stocks: dict[tuple[str, str], Stock] = {}
        self.gauge = PartGauge(FreeEdges(making.sheet, self.thick), task.brake.finger)
        self._obstacles: dict[tuple[object, ...], Obstacles] = {}
        self._contacts: dict[tuple[int, int, int], Contact | None] = {}
        self._met: dict[tuple[PlacedElement, str, bool], tuple[Met, ...]] = {}
        self._shadows: dict[PlacedElement, np.ndarray] = {}
        self._met_finger: dict[tuple[PlacedElement, float], tuple[Met, ...]] = {}
        self._met_itself: dict[tuple[PlacedElement, PlacedElement], bool] = {}
        self._in_machine: dict[tuple[PlacedElement, int, bool], InMachine] = {}
        self._possible: dict[tuple[object, ...], tuple[int, ...]] = {}
        self._nearest: dict[str, float] = {}
        self._open: dict[tuple[int, str, int], OpenTools] = {}
        self._ways: dict[tuple[object, ...], tuple[WayOut, WayOut]] = {}

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
        one = self.making.strokes[stroke]
        blocked: dict[str, list[Span]] = {punch.name: list(over), one.die.name: []}
        for met in self._all_met(done, stroke, rear, punch):
            if met.tool not in blocked:
                return None
            skin_mm = self.thick.skin_mm
            blocked[met.tool] += [(low - skin_mm, high + skin_mm) for low, high in met.spans]
        spans = self._halves[stroke][0].spans
        upper = run_needs(spans, blocked[punch.name])
        lower = run_needs(spans, blocked[one.die.name])
        return None if upper is None or lower is None else (upper, lower)

    def prepare_stations(self, punch: Punch, rears: tuple[int, ...] = (0, 1)) -> None:
        """Choose stations that serve many strokes, before the search asks for one at a time.

        The narrowest need of each stroke is that with every other bend made. Lengths are chosen so
        that few of them serve all needs (right ends of the intervals first).
        """
        narrow: list[tuple[float, Needs, Stroke]] = []
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
                    most = found[0][0].most_mm if len(found[0]) == 1 else math.inf
                    narrow.append((most, found, stroke))
                    break
        for _, needs, stroke in sorted(narrow, key=lambda one: (one[0], one[2].index)):
            tools = f"{punch.name} / {stroke.die.name}"
            known = self.stations_of.setdefault(tools, [])
            if any(serves(station, *needs) for station in known):
                continue
            made = self._widest_station(needs, stroke, punch)
            if made is not None:
                known.append(made)

    def stand_together(self, tools: str, punch: Punch, stroke: Stroke) -> bool:
        """Whether all stations of a pair of tools can be set up at once."""
        return all_at_once(
            self.stations_of.get(tools, []),
            self.stock("punch", punch.name, punch.segments_mm),
            self.stock("die", stroke.die.name, stroke.die.segments_mm),
            self.task.brake.bed_length_mm,
        )

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

    def possible_x(
        self, stroke: int, rear: int, before: int, later: int
    ) -> frozenset[float] | None:
        """Every X at which a stroke may be gauged with `before` made and `later` not made."""
        behind, _ = self.sides(stroke, rear)
        axis = self.task.brake.x_axis
        still = self.making.strokes[stroke].still
        if still is not None and (rear not in still.rears or still.fold_x_mm is not None):
            return frozenset([still.fold_x_mm] if rear in still.rears and still.fold_x_mm else [])
        from_line_mm = 0.0 if still is None else still.from_line_mm
        least_mm = max(axis.least_mm, self.nearest_x(self.making.strokes[stroke]) - 1e-9)
        found: set[float] = set()
        for number, element in enumerate(behind.elements):
            free = element.mask & ~before & ~later
            if free.bit_count() > MOST_FREE_STROKES:
                return None
            for some in _subsets(free):
                done = element.mask & before | some
                x_mm = self.gauge.offered_x(behind, behind.placed(number, done), done)
                x_mm = [rounded_x(x + from_line_mm) for x in x_mm] if from_line_mm else x_mm
                found.update(x for x in x_mm if least_mm <= x <= axis.most_mm)
        return frozenset(found)

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
        self.tests_made += 1
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
            self.finger_met(done, stroke, rear, contact) is not None
            or self.self_met(done, stroke) is not None
        ):
            return ()
        tools = f"{punch.name} / {one.die.name}"
        known = self.stations_of.setdefault(tools, [])
        wanted = self._asked(done, stroke, rear, punch, needs)
        found = tuple(
            i
            for i, station in enumerate(known)
            if any(
                serves(station, *asked)
                and self.comes_out_of(done, stroke, rear, punch, station, asked)
                for asked in wanted
            )
        )
        if found:
            return found
        for asked in wanted:
            made = station_for(
                *asked,
                self.stock("punch", punch.name, punch.segments_mm),
                self.stock("die", one.die.name, one.die.segments_mm),
            )
            if made is not None and self.comes_out_of(done, stroke, rear, punch, made, asked):
                known.append(made)
                return (len(known) - 1,)
        return ()

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

    def _widest_station(self, needs: Needs, stroke: Stroke, punch: Punch) -> Station | None:
        punch_stock = self.stock("punch", punch.name, punch.segments_mm)
        die_stock = self.stock("die", stroke.die.name, stroke.die.segments_mm)
        if len(needs[0]) != 1 or len(needs[1]) != 1:
            return station_for(*needs, punch_stock, die_stock)
        upper, lower = needs[0][0], needs[1][0]
        bounded = upper.most_mm < self.task.brake.bed_length_mm
        run = (
            punch_stock.longest(upper.least_mm, min(upper.most_mm, upper.nominal_mm * 2))
            if bounded
            else punch_stock.best(upper.least_mm, upper.most_mm, upper.nominal_mm)
        )
        if run is None:
            return None
        under = die_stock.best(lower.least_mm, lower.most_mm, run.length_mm)
        return None if under is None else Station((run,), (under,))

    def stock(self, kind: str, name: str, segments_mm: tuple[float, ...]) -> Stock:
        """What can be put together from a tool's segments."""
        key = (kind, name)
        if key not in self._stocks:
            self._stocks[key] = Stock(segments_mm, self.task.brake.bed_length_mm)
        return self._stocks[key]

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
        """Upper and lower tools as one half sees them, kept by what their motion depends on."""
        stroke, own = half.stroke, None if half.stroke.still is None else half.swing
        motion = (stroke.what, stroke.die.name, stroke.loaded_deg, stroke.loaded_radius_mm)
        if own is not None:
            motion = (f"{stroke.what} {stroke.index} {half.which}", stroke.die.name, 0.0, 0.0)
        above = (*motion, stroke.k_factor, front, punch.name)
        below = (*motion, stroke.k_factor, front)
        if above not in self._obstacles:
            self._obstacles[above] = Obstacles(
                upper_prisms(self.task, punch),
                with_loading(self.task, stroke, punch, own),
                front=front,
            )
        if below not in self._obstacles:
            self._obstacles[below] = Obstacles(
                lower_prisms(self.task, stroke.die), own or stroke.swing, front=front
            )
        return self._obstacles[above], self._obstacles[below]

    def _all_met(self, done: int, stroke: int, rear: int, punch: Punch) -> Iterator[Met]:
        """Everything that both halves meet."""
        for half, is_front in self.tested(stroke, rear):
            for placed in half.placed_elements(done):
                yield from self.element_met(half, placed, punch, front=is_front)

    def element_met(
        self, half: PartHalf, placed: PlacedElement, punch: Punch, *, front: bool
    ) -> tuple[Met, ...]:
        """What one element meets through the stroke."""
        key = (placed, punch.name, front)
        if key not in self._met:
            self.tests_made += 1
            above, below = self.tools(half, punch, front=front)
            pieces = self._shadows_of(placed)
            found = meetings(placed.solids, above, pieces)
            if not placed.flat:
                found += meetings(placed.solids, below, pieces)
            self._met[key] = found
        return self._met[key]

    def finger_met(
        self, done: int, stroke: int, rear: int, contact: Contact
    ) -> tuple[Element, float, int] | None:
        """The first element that meets a finger, with depth and sample."""
        behind, _ = self.sides(stroke, rear)
        half_mm = self.task.brake.finger.width_mm / 2
        for placed in behind.placed_elements(done):
            element = placed.element
            touching = (
                contact.kind == "edge" and element.kind == "face" and element.index == contact.face
            )
            may_reach = placed.high_mm[0] > contact.x_mm or placed.low_mm[1] < 0.0
            if touching or placed.flat or not may_reach:
                continue
            for met in self._finger_meetings(placed, stroke, contact.x_mm):
                if any(
                    low < place + half_mm and place - half_mm < high
                    for low, high in met.spans
                    for place in contact.fingers_mm
                ):
                    tools = self._finger(stroke, contact.x_mm)
                    depth_mm, sample = deepest(placed.solids, tools, FINGER, self.thick.skin_mm)
                    return element, depth_mm, sample
        return None

    def _finger_meetings(self, placed: PlacedElement, stroke: int, x_mm: float) -> tuple[Met, ...]:
        key = (placed, x_mm)
        if key not in self._met_finger:
            self.tests_made += 1
            tools = self._finger(stroke, x_mm)
            self._met_finger[key] = meetings(placed.solids, tools, self._shadows_of(placed))
        return self._met_finger[key]

    def _shadows_of(self, placed: PlacedElement) -> np.ndarray:
        if placed not in self._shadows:
            self._shadows[placed] = shadows_of(placed.solids)[1]
        return self._shadows[placed]

    def _finger(self, stroke: int, x_mm: float) -> Obstacles:
        key = ("finger", stroke, x_mm)
        if key not in self._obstacles:
            finger = Prism(FINGER, finger_outline(self.task.brake.finger, x_mm), moves=False)
            swing = self.making.strokes[stroke].swing
            self._obstacles[key] = Obstacles([finger], swing, front=False)
        return self._obstacles[key]

    def in_machine(
        self, half: PartHalf, placed: PlacedElement, sample: int, *, front: bool
    ) -> InMachine:
        """An element where it is in the machine at one sample."""
        key = (placed, sample, front)
        if key not in self._in_machine:
            self._in_machine[key] = _in_machine(half.swing, placed, sample, front=front)
        return self._in_machine[key]

    def self_met(self, done: int, stroke: int) -> tuple[Element, Element] | None:
        """Two elements of different halves that share space at the end of the stroke."""
        halves = [
            [
                (placed, self.in_machine(half, placed, LAST, front=front))
                for placed in half.placed_elements(done)
                if placed.solids
            ]
            for half, front in zip(self._halves[stroke], (False, True), strict=True)
        ]
        near, far = (np.array([one.box_mm for _, one in half]) for half in halves)
        if near[:, 0].min() >= far[:, 3].max():
            return None
        self.tests_made += 1
        close = np.ones((len(near), len(far)), dtype=bool)
        for axis in range(3):
            close &= near[:, None, axis] < far[None, :, axis + 3]
            close &= far[None, :, axis] < near[:, None, axis + 3]
        for i, j in np.argwhere(close).tolist():
            (a, one), (b, two) = halves[0][i], halves[1][j]
            if a.flat and b.flat:
                continue
            if (a, b) not in self._met_itself:
                self._met_itself[a, b] = any(
                    solids_overlap(first, second) for first in one.solids for second in two.solids
                )
            if self._met_itself[a, b]:
                return a.element, b.element
        return None

    def comes_out_of(
        self, done: int, stroke: int, rear: int, punch: Punch, station: Station, needs: Needs
    ) -> bool:
        """Whether the part can be put in before the stroke and taken out after it."""
        runs = [
            tuple((start, start + one.length_mm) for start, one in _placed(need_list, assemblies))
            for need_list, assemblies in (
                (needs[0], station.punch_runs),
                (needs[1], station.die_runs),
            )
        ]
        return all(way.comes_out(*runs) for way in self._ways_out(done, stroke, rear, punch))

    def _ways_out(self, done: int, stroke: int, rear: int, punch: Punch) -> tuple[WayOut, WayOut]:
        """The part before and after the stroke, as it goes in and comes out."""
        behind, front = self.sides(stroke, rear)
        key = (stroke, rear, punch.name, done & (behind.mask | front.mask))
        if key not in self._ways:
            self.tests_made += 1
            self._ways[key] = (
                self._way_out(done, stroke, rear, punch, 0),
                self._way_out(done, stroke, rear, punch, LAST),
            )
        return self._ways[key]

    def _way_out(self, done: int, stroke: int, rear: int, punch: Punch, sample: int) -> WayOut:
        pieces = tuple(
            piece
            for half, is_front in self.tested(stroke, rear)
            for placed in half.placed_elements(done)
            for piece in self.in_machine(half, placed, sample, front=is_front).pieces
        )
        return WayOut(pieces, self._open_tools(stroke, punch, sample))

    def _open_tools(self, stroke: int, punch: Punch, sample: int) -> OpenTools:
        key = (stroke, punch.name, sample)
        if key not in self._open:
            one = self.making.strokes[stroke]
            open_mm = open_tip_height(self.task, punch, one.die)
            tip_mm = float(one.moving.tip_mm[sample])
            parts = _parts(punch.profile_mm)
            holder = _parts(holder_in_place(self.task, punch))
            lower = {prism.name: prism.outline_mm for prism in lower_prisms(self.task, one.die)}
            self._open[key] = OpenTools(
                punch_low=[shifted(part, y_mm=tip_mm) for part in parts],
                punch_high=[shifted(part, y_mm=open_mm) for part in parts],
                holder_high=[shifted(part, y_mm=open_mm) for part in holder],
                die=_parts(lower.get(one.die.name, ())),
                bed=_parts(lower.get(BED, ())),
            )
        return self._open[key]


def _in_machine(swing: Swing, placed: PlacedElement, sample: int, *, front: bool) -> InMachine:
    solids = []
    for solid in placed.solids:
        corners = solid.corners.copy()
        corners[:, :2] = seen_in_machine(corners[:, :2], swing, sample, front=front)
        solids.append(Solid(corners, solid.faces))
    pieces = tuple(Piece(solid.shadow(), solid.span(2), placed.flat) for solid in solids)
    box_mm = (0.0,) * 6
    if solids:
        every = np.concatenate([solid.corners for solid in solids])
        box_mm = (*every.min(axis=0).tolist(), *every.max(axis=0).tolist())
    return InMachine(tuple(solids), pieces, box_mm)


def _subsets(mask: int) -> Iterator[int]:
    """Every subset of a set of bits."""
    some = mask
    while True:
        yield some
        if not some:
            return
        some = (some - 1) & mask


def _parts(outline: Loop) -> tuple[Loop, ...]:
    return convex_parts(Polygon(outline)) if outline else ()


def _placed(needs: Sequence[RunNeed], runs: Sequence[Assembly]) -> list[tuple[float, Assembly]]:
    return [(run_start(need, run.length_mm), run) for need, run in zip(needs, runs, strict=True)]


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
