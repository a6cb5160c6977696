"""The set-up page of a run: tools to fetch, heights to set, what to tick, what blocks the start."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

from server.actions.setting_up import SetupState, segment_mass
from server.drawings.bed import BedRun, BedStation, draw_bed, gaps_of
from server.errors import Amount
from server.findings import Finding
from server.mechanics.handling import LOAD_CONSTANT_KG
from server.mechanics.stroke_setting import StrokeSetting
from server.mechanics.tooling import Die, Punch
from server.planning.setup_change import SetupChange
from server.planning.setup_list import SetupItem, Tick
from server.planning.stroke_advice import stroke_advice
from server.storage.queries.brake import ram_scale_of
from server.web.display import Display
from server.web.pages.page import Frame, Page

if TYPE_CHECKING:
    from server.storage.queries.setup import SetupPlace
    from server.storage.tables.brake import Brake
    from server.storage.tables.job import Job, Run
    from server.storage.tables.setup import Setup

TOLD_ELSEWHERE = frozenset({"not_ticked", "not_proof_of_safety"})
PANELS = {"thickness": "edges", "touch-off": "touch-off"}
"""Which panel records what an item needs; every other item is ticked."""


@dataclass(frozen=True, slots=True)
class FetchLine:
    """One tool to fetch: how many pieces of which length, and how heavy one is."""

    kind: str
    code: str
    length_mm: float
    pieces_count: int
    mass_kg: float
    lift: bool


@dataclass(frozen=True, slots=True)
class BedView:
    """The tools that stand on the bed together."""

    tools: str
    picture: str
    fetch: tuple[FetchLine, ...]
    gaps_mm: tuple[float, ...]
    places: tuple[tuple[int, float], ...]


@dataclass(frozen=True, slots=True)
class HeightLine:
    """One height to set by hand: tip above the die, ram above the bed, the brake's own scale."""

    name: str
    above_die_mm: float
    ram_mm: float
    scale: float | None


@dataclass(frozen=True, slots=True)
class SetupLine:
    """One point of the list."""

    item: SetupItem
    tick: Tick | None
    number: int
    panel: str
    open: bool


@dataclass(frozen=True)
class SetupBoard(Page):
    """Everything of the set-up page that changes while it is worked on."""

    template: ClassVar[str] = "setup/_board.html"
    brake: str
    person: str
    run: "Run"
    setup: "Setup"
    machine: "Brake"
    groups: tuple[tuple[str, str, tuple[SetupLine, ...]], ...]
    done_count: int
    all_count: int
    open_safety: int
    lift_above: Amount
    stops: tuple[Finding, ...]
    cautions: tuple[Finding, ...]
    last: str
    changes: tuple[SetupChange, ...]
    beds: tuple[BedView, ...]
    several_vs: bool
    heights: tuple[HeightLine, ...]
    advice: tuple[Finding, ...]
    edges_mm: tuple[float, ...]
    nominal_mm: float


@dataclass(frozen=True)
class SetupShow(Page):
    """The set-up page."""

    template: ClassVar[str] = "setup/show.html"
    frame: Frame
    run: "Run"
    job: "Job | None"
    setup: "Setup"
    board: SetupBoard


GROUPS: tuple[tuple[str, str, frozenset[str]], ...] = (
    ("sheet", "Sheet", frozenset({"read_revision", "measure_thickness", "lift_sheet"})),
    (
        "tools",
        "Tools",
        frozenset(
            {"block_ram", "lift_tools", "fetch_tools", "mark_v", "place_segments", "seat_and_clamp"}
        ),
    ),
    ("control", "Control", frozenset({"touch_off", "key_in", "stroke_heights", "mute_point"})),
    ("checks", "Before use", frozenset()),
)
"""Code, name and items of each part of the list; what is named nowhere is a pre-use check."""


def setup_board(
    *,
    state: SetupState,
    run: "Run",
    last: "SetupPlace | None",
    changes: tuple[SetupChange, ...],
    several_vs: bool,
    show: Display,
    brake: str,
    person: str,
) -> SetupBoard:
    """The set-up as it stands."""
    place = state.place
    setup = place.setup
    lines = _lines(state)
    reach_mm = max((_reach(entry.step.scene) for entry in place.steps), default=0.0)
    return SetupBoard(
        brake=brake,
        person=person,
        run=run,
        setup=setup,
        machine=place.brake,
        groups=_groups(lines),
        done_count=sum(line.tick is not None for line in lines),
        all_count=len(lines),
        open_safety=sum(line.item.safety and line.tick is None for line in lines),
        lift_above=Amount(LOAD_CONSTANT_KG, "kg"),
        stops=tuple(one for one in state.stops if one.code not in TOLD_ELSEWHERE),
        cautions=tuple(
            one for one in state.findings if one.level != "stop" and one.code not in TOLD_ELSEWHERE
        ),
        last=_told_last(last),
        changes=changes,
        beds=tuple(_beds(place, show)),
        several_vs=several_vs,
        heights=_heights(place),
        advice=stroke_advice(
            kinds={entry.step.kind for entry in place.steps},
            longest_reach_mm=reach_mm,
            mute_opening_mm=place.brake.mute_opening_mm,
        ),
        edges_mm=tuple(float(one) for one in setup.measured_edges_mm or ()),
        nominal_mm=place.revision.thickness_mm,
    )


def _lines(state: SetupState) -> tuple[SetupLine, ...]:
    blocked = False
    lines = []
    for number, item in enumerate(state.items, start=1):
        tick = state.ticks.get(item.code)
        panel = PANELS.get(item.needs, "")
        lines.append(SetupLine(item, tick, number, panel, open=not blocked))
        blocked = blocked or (item.before_hands and tick is None)
    return tuple(lines)


def _groups(
    lines: Sequence[SetupLine],
) -> tuple[tuple[str, str, tuple[SetupLine, ...]], ...]:
    named = frozenset().union(*(codes for _, _, codes in GROUPS))
    return tuple(
        (
            code,
            name,
            tuple(
                line
                for line in lines
                if (line.item.code in codes if codes else line.item.code not in named)
            ),
        )
        for code, name, codes in GROUPS
    )


def _told_last(last: "SetupPlace | None") -> str:
    if last is None:
        return ""
    return f"{last.sequence.part_number} revision {last.sequence.revision_label}"


def _heights(place: "SetupPlace") -> tuple[HeightLine, ...]:
    setting = StrokeSetting(**place.setup.stroke_setting)
    scale = ram_scale_of(place.brake)
    return tuple(
        HeightLine(name, above_mm, ram_mm, scale.reading(ram_mm) if scale else None)
        for name, above_mm, ram_mm in (
            ("Top of stroke", setting.top_opening_mm, setting.top_ram_mm),
            ("Speed change", setting.speed_change_mm, setting.speed_change_ram_mm),
        )
    )


def _beds(place: "SetupPlace", show: Display) -> list[BedView]:
    """One view for each pair of tools: they stand on the bed one after the other."""
    pairs: dict[str, list[tuple[int, dict[str, Any]]]] = {}
    for number, station in enumerate(place.setup.stations, start=1):
        pairs.setdefault(str(station["tools"]), []).append((number, station))
    return [_bed(place, tools, stations, show) for tools, stations in pairs.items()]


def _bed(
    place: "SetupPlace", tools: str, stations: list[tuple[int, dict[str, Any]]], show: Display
) -> BedView:
    punch_code, die_code = tools.split(" / ")
    drawn = [
        BedStation(
            number,
            _runs(station["punch_runs"], station["punch_offsets_mm"], station["middle_mm"]),
            _runs(station["die_runs"], station["die_offsets_mm"], station["middle_mm"]),
        )
        for number, station in stations
    ]
    fetch = (
        *_fetch("Punch", punch_code, place.punches.get(punch_code), [one.punch for one in drawn]),
        *_fetch("Die", die_code, place.dies.get(die_code), [one.die for one in drawn]),
    )
    return BedView(
        tools=tools,
        picture=draw_bed(
            stations=drawn,
            bed_length_mm=place.brake.bed_length_mm,
            told=lambda length_mm: show.short(length_mm).split("\u202f")[0],
        ),
        fetch=tuple(fetch),
        gaps_mm=tuple(end - start for start, end in gaps_of(drawn)),
        places=tuple((one.number, one.span_mm[0]) for one in drawn),
    )


def _runs(
    runs: Sequence[dict[str, Any]], offsets_mm: Sequence[float], middle_mm: float
) -> tuple[BedRun, ...]:
    """A tool's runs along the bed, the whole of it centred where its station stands."""
    length_mm = float(offsets_mm[-1]) + float(runs[-1]["length_mm"])
    start_mm = float(middle_mm) - length_mm / 2
    return tuple(
        BedRun(start_mm + float(offset), tuple(float(one) for one in run["segments_mm"]))
        for run, offset in zip(runs, offsets_mm, strict=True)
    )


def _fetch(
    kind: str, code: str, tool: Punch | Die | None, stations: Sequence[tuple[BedRun, ...]]
) -> list[FetchLine]:
    counts = Counter(
        segment for station in stations for run in station for segment in run.segments_mm
    )
    lines = []
    for length_mm, pieces_count in sorted(counts.items(), reverse=True):
        mass_kg = segment_mass(tool.profile_mm, length_mm) if tool else 0.0
        lines.append(
            FetchLine(kind, code, length_mm, pieces_count, mass_kg, mass_kg > LOAD_CONSTANT_KG)
        )
    return lines


def _reach(scene: dict[str, Any]) -> float:
    """How far the sheet stands out in front of the die before a step [mm]."""
    points = [x for loop in scene["before"]["sheet_mm"] for x, _ in loop]
    return max((-x for x in points), default=0.0)
