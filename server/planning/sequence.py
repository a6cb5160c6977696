"""A planned bend sequence: ordered steps with everything an operator and a drawing need."""

from collections.abc import Sequence
from dataclasses import dataclass

from server.errors import Amount, say
from server.findings import Finding, sorted_by_level
from server.geometry.profile import Profile, Rear, Side
from server.mechanics.handling import check_handling
from server.mechanics.ram_depth import ram_depth_per_degree, shoulder_centre
from server.planning.gauging import Contact
from server.planning.making import Making
from server.planning.order import Costs, OrderCost, PlacedStroke, order_cost
from server.planning.part_strokes import PartStrokes
from server.planning.plan_task import PlanTask
from server.planning.profile_strokes import ProfileStrokes
from server.planning.search import REARS
from server.planning.step_picture import StepPicture, StepPictures
from server.planning.step_target import StepTarget, step_target
from server.planning.tool_staging import Assembly, Station, along_the_bed

Tests = ProfileStrokes | PartStrokes


@dataclass(frozen=True, slots=True)
class StationPlace:
    """One tool station of the set-up and where its middle stands from the middle of the bed."""

    tools: str
    punch_runs: tuple[Assembly, ...]
    die_runs: tuple[Assembly, ...]
    punch_offsets_mm: tuple[float, ...]
    die_offsets_mm: tuple[float, ...]
    middle_mm: float


@dataclass(frozen=True, slots=True)
class PlanStep:
    """One stroke of a bend sequence.

    `bends` are indexes of the drawn part, `zones` of the sheet's own bend lines; `rear` is the half of the first bend's line that is behind
    the die. `station` numbers the set-up's stations.
    """

    number: int
    bends: tuple[int, ...]
    zones: tuple[int, ...]
    what: str
    punch: str
    die: str
    station: int
    side_up: Side
    rear: Rear
    turned_over: bool
    turned_end_for_end: bool
    tools_changed: bool
    contact: Contact
    target: StepTarget
    pictures: StepPictures
    findings: tuple[Finding, ...]

    @property
    def before(self) -> StepPicture:
        """The step with the punch just touching."""
        return self.pictures.drawn[0]

    @property
    def after(self) -> StepPicture:
        """The step under full load."""
        return self.pictures.drawn[1]


@dataclass(frozen=True, slots=True)
class BendSequence:
    """Steps in order, their cost, the set-up they need, and what to know beside them."""

    steps: tuple[PlanStep, ...]
    cost: OrderCost
    stations: tuple[StationPlace, ...]
    mass_kg: float
    flat_length_mm: float | None
    order: tuple[PlacedStroke, ...]
    making: Making
    findings: tuple[Finding, ...]


def bend_sequence(
    task: PlanTask, tests: Tests, costs: Costs, order: Sequence[PlacedStroke]
) -> BendSequence:
    """Everything about an order of strokes."""
    done = [sum(1 << one.stroke for one in order[:number]) for number in range(len(order))]
    numbered = [(number + 1, *pair) for number, pair in enumerate(zip(order, done, strict=True))]
    stations = _stations(tests, order)[0]
    return BendSequence(
        steps=plan_steps(task, tests, numbered),
        cost=order_cost(order, costs),
        stations=stations,
        mass_kg=tests.making.mass_kg,
        flat_length_mm=tests.making.flat_length_mm,
        order=tuple(order),
        making=tests.making,
        findings=_set_up_findings(task, stations),
    )


def plan_steps(
    task: PlanTask, tests: Tests, numbered: Sequence[tuple[int, PlacedStroke, int]]
) -> tuple[PlanStep, ...]:
    """Steps from (number, stroke as placed, strokes done before it); some may be left out."""
    order = [placed for _, placed, _ in numbered]
    number_of = _stations(tests, order)[1]
    steps: list[PlanStep] = []
    before: PlacedStroke | None = None
    for number, placed, done in numbered:
        stroke = tests.making.strokes[placed.stroke]
        steps.append(
            PlanStep(
                number=number,
                bends=stroke.bends,
                zones=stroke.zones,
                what=stroke.what,
                punch=placed.punch.name,
                die=stroke.die.name,
                station=number_of[placed.pose.tools, placed.pose.station],
                side_up="A" if stroke.sign > 0 else "B",
                rear=REARS[placed.rear],
                turned_over=before is not None and before.pose.side != placed.pose.side,
                turned_end_for_end=(
                    before is not None and before.pose.direction != placed.pose.direction
                ),
                tools_changed=before is not None and before.pose.tools != placed.pose.tools,
                contact=placed.contact,
                target=step_target(task, tests.making, placed, order[0]),
                pictures=StepPictures(task, tests, placed, done),
                findings=_step_findings(task, tests, placed, done),
            )
        )
        before = placed
    return tuple(steps)


def _stations(
    tests: Tests, order: Sequence[PlacedStroke]
) -> tuple[tuple[StationPlace, ...], dict[tuple[str, int], int]]:
    used: list[tuple[str, int]] = []
    forces: list[float] = []
    for placed in order:
        key = (placed.pose.tools, placed.pose.station)
        force_kn = tests.making.strokes[placed.stroke].force_kn
        if key in used:
            forces[used.index(key)] = max(forces[used.index(key)], force_kn)
        else:
            used.append(key)
            forces.append(force_kn)
    made: list[Station] = [tests.station(*key) for key in used]
    places: list[float] = [0.0] * len(used)
    for tools in sorted({key[0] for key in used}):
        mine = [i for i, key in enumerate(used) if key[0] == tools]
        for i, middle in zip(
            mine, along_the_bed([made[i] for i in mine], [forces[i] for i in mine]), strict=True
        ):
            places[i] = middle
    found = tuple(
        StationPlace(
            key[0],
            station.punch_runs,
            station.die_runs,
            station.punch_offsets_mm,
            station.die_offsets_mm,
            middle,
        )
        for key, station, middle in zip(used, made, places, strict=True)
    )
    return found, {key: number for number, key in enumerate(used)}


def _step_findings(
    task: PlanTask, tests: Tests, placed: PlacedStroke, done: int
) -> tuple[Finding, ...]:
    """Notes and cautions of one step."""
    stroke = tests.making.strokes[placed.stroke]
    found = [
        *stroke.findings,
        *stroke.findings_of_punch.get(placed.punch.name, ()),
        *tests.cautions(done, placed.stroke, placed.rear, placed.punch),
    ]
    if stroke.depth_mm is not None:
        found += check_handling(
            mass_kg=tests.making.mass_kg,
            longest_leg_mm=tests.longest_reach(placed.stroke, done),
            depth_mm_per_deg=ram_depth_per_degree(
                loaded_bend_angle_deg=stroke.loaded_deg,
                shoulder_centre_mm=shoulder_centre(
                    v_opening_mm=stroke.die.v_opening_mm,
                    die_angle_deg=stroke.die.angle_deg,
                    shoulder_radius_mm=stroke.die.shoulder_radius_mm,
                ),
                roll_radius_mm=(
                    stroke.die.shoulder_radius_mm + task.thickness_mm + stroke.loaded_radius_mm
                ),
            ),
            ram_speed_mm_per_s=task.brake.speed_mm_per_s,
            bend=stroke.bends[0],
        )
    return sorted_by_level(finding for finding in found if finding.level != "stop")


def _set_up_findings(task: PlanTask, stations: Sequence[StationPlace]) -> tuple[Finding, ...]:
    """Cautions about tools standing off the middle of the bed."""
    return tuple(
        Finding(
            "caution",
            "station_off_centre",
            say(
                "Station {number} stands {offset} off the middle of the bed.",
                number=str(number + 1),
                offset=Amount(abs(station.middle_mm), "mm"),
            ),
            say("Keep its force within what the machine's manual allows off centre."),
            source="the machine's manual first; else half (common practice, no source)",
        )
        for number, station in enumerate(stations)
        if abs(station.middle_mm) > 0.05 * task.brake.bed_length_mm
    )


def is_profile(making: Making) -> bool:
    """Whether the part is a constant section."""
    return isinstance(making.sheet, Profile)
