"""The set-up page: what is ticked, measured and signed before the first part, and what blocks it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from server.actions.history import keep
from server.actions.learning import foretell_steps
from server.actions.once import already_done
from server.actions.running import need_current, start_run
from server.actions.setup import TouchOffValues, prepare_stroke, record_touch_off
from server.errors import ShopError, say
from server.findings import Finding, sorted_by_level
from server.mechanics.measured_thickness import mean_thickness
from server.mechanics.stroke_setting import StrokeSetting, check_stroke_setting
from server.mechanics.tooling import Outline
from server.planning.memory_map import programs_named
from server.planning.setup_list import (
    SetupItem,
    SetupJob,
    Tick,
    check_edges,
    check_setup_list,
    setup_list,
    ticked,
)
from server.settings import ShopSettings
from server.storage.database import Session
from server.storage.plain_finding import findings_of
from server.storage.queries.job import get_run
from server.storage.queries.program import list_sequence_programs
from server.storage.queries.setup import SetupPlace, count_dies_of_block, get_setup_place
from server.storage.queries.trial import list_setup_trials
from server.storage.tables.column import utc_now
from server.storage.tables.job import Run
from server.storage.tables.setup import Setup, SetupStep

AFTER_THE_START = frozenset({"first_blank", "correct", "sign"})
STEEL_KG_PER_MM3 = 7.85e-6


@dataclass(frozen=True, slots=True)
class SetupState:
    """The ordered list of a set-up, what is ticked, and what speaks against starting."""

    place: SetupPlace
    items: tuple[SetupItem, ...]
    ticks: dict[str, Tick]
    findings: tuple[Finding, ...]

    @property
    def stops(self) -> tuple[Finding, ...]:
        """What blocks the start."""
        return tuple(one for one in self.findings if one.level == "stop")


def setup_state(session: Session, run: Run) -> SetupState:
    """The set-up list of a run with its ticks, and what speaks against starting. Reads only."""
    place = get_setup_place(session, run.setup_id or 0)
    items = tuple(
        item for item in setup_list(_job(session, place)) if item.code not in AFTER_THE_START
    )
    ticks = ticks_of(place.setup)
    return SetupState(
        place, items, ticks, sorted_by_level(_against(session, run, place, items, ticks))
    )


def tick_item(
    session: Session, run_id: int, code: str, *, on: bool = True, request_key: str = "", by: str
) -> Setup:
    """Tick one point of the set-up with a name, or take the tick away.

    Raises: ShopError `not_found`, `no_such_item`, `name_missing`, `not_in_order`.
    """
    run = get_run(session, run_id)
    state = setup_state(session, run)
    setup = state.place.setup
    if already_done(session, request_key, "tick"):
        return setup
    if on:
        now = ticked(items=state.items, ticks=state.ticks, code=code, by=by, at=utc_now())
    else:
        now = {name: tick for name, tick in state.ticks.items() if name != code}
    setup.checks = _plain_ticks(now)
    session.add(setup)
    session.flush()
    return setup


def measure_sheet(
    session: Session, run_id: int, edges_mm: Sequence[float], *, settings: ShopSettings, by: str
) -> Setup:
    """Keep the sheet's measured edges: every Y, X and stroke height follows their mean.

    Raises: ShopError `not_found`, `out_of_range`.
    """
    run = get_run(session, run_id)
    setup = renewed(session, run)
    mean_mm = mean_thickness(readings_mm=edges_mm)
    before = {"thickness_mm": setup.thickness_mm}
    setup.measured_edges_mm = list(edges_mm)
    setup.thickness_mm, setup.thickness_measured = mean_mm, True
    setup.checks = {**setup.checks, "measure_thickness": _plain_tick(by)}
    prepare_stroke(session, setup, settings=settings)
    foretell_steps(session, setup.id or 0)
    keep(
        session,
        "measured the sheet",
        noun="run",
        key=str(run_id),
        by=by,
        before=before,
        after={"thickness_mm": mean_mm},
    )
    return setup


def touch_off(session: Session, run_id: int, values: TouchOffValues, *, by: str) -> Setup:
    """Keep a touch-off; made again after trials it begins a new set-up, whose offset is its own.

    Raises: ShopError `not_found`, `out_of_range`.
    """
    run = get_run(session, run_id)
    setup = renewed(session, run)
    record_touch_off(session, setup.id or 0, values, by=by)
    setup.checks = {**setup.checks, "touch_off": _plain_tick(by)}
    session.add(setup)
    session.flush()
    foretell_steps(session, setup.id or 0)
    keep(
        session,
        "touched off",
        noun="run",
        key=str(run_id),
        by=by,
        after={"on": values.on, "reading_mm": values.reading_mm},
    )
    return setup


def keep_ram_scale(session: Session, run_id: int, points: Outline, *, by: str) -> None:
    """Keep two readings of the brake's own scale, so that stroke heights can be told in it.

    `points` are (tip above the die top, reading), taken with this set-up's tools; kept is the ram's
    height, which is the same whatever tools stand on the brake.

    Raises: ShopError `not_found`, `same_reading_twice`.
    """
    run = get_run(session, run_id)
    place = get_setup_place(session, run.setup_id or 0)
    (height_1, reading_1), (height_2, reading_2) = points
    if height_1 == height_2 or reading_1 == reading_2:
        raise ShopError(
            "same_reading_twice",
            "The two readings of the scale are the same point.",
            remedy="Record them at two different ram heights.",
            where="form",
        )
    tools_mm = place.setup.tool_height_mm
    place.brake.ram_scale = [[height_1 + tools_mm, reading_1], [height_2 + tools_mm, reading_2]]
    place.setup.changed_at = utc_now()
    session.add_all((place.brake, place.setup))
    keep(session, "read the ram scale", noun="brake", key=place.brake.code, by=by)


def start_setup(session: Session, run_id: int, *, request_key: str = "", by: str) -> Run:
    """Sign the set-up and begin the first article.

    Raises: ShopError `not_found`, `blocked` naming what would unblock it, `superseded`.
    """
    run = get_run(session, run_id)
    if run.state != "setting_up":
        return run
    need_current(session, run)
    state = setup_state(session, run)
    if state.stops:
        first, *more = state.stops
        rest = f" {len(more)} more are listed." if more else ""
        raise ShopError(
            "blocked",
            first.what,
            remedy=say("{frees}{rest}", frees=str(first.frees or ""), rest=rest),
        )
    setup = state.place.setup
    setup.signed_by, setup.signed_at = by, utc_now()
    session.add(setup)
    return start_run(session, run_id, request_key=request_key, by=by)


def renewed(session: Session, run: Run) -> Setup:
    """The run's set-up; a copy of it where trials were made already, because they belong to it."""
    place = get_setup_place(session, run.setup_id or 0)
    setup = place.setup
    if not list_setup_trials(session, setup.id or 0):
        return setup
    values = setup.model_dump(exclude={"id", "version", "created_at", "changed_at", "read_back"})
    again = Setup(**values)
    session.add(again)
    session.flush()
    for entry in place.steps:
        if entry.keyed is not None:
            session.add(
                SetupStep(**entry.keyed.model_dump(exclude={"setup_id"}), setup_id=again.id or 0)
            )
    run.setup_id = again.id
    session.add(run)
    session.flush()
    return again


def ticks_of(setup: Setup) -> dict[str, Tick]:
    """The ticks of a set-up as the planning sees them."""
    return {
        code: Tick(plain["by"], datetime.fromisoformat(plain["at"]))
        for code, plain in setup.checks.items()
    }


def _against(
    session: Session,
    run: Run,
    place: SetupPlace,
    items: Sequence[SetupItem],
    ticks: dict[str, Tick],
) -> list[Finding]:
    setup = place.setup
    found = list(check_setup_list(items=items, ticks=ticks))
    if setup.measured_edges_mm:
        found += check_edges(
            nominal_mm=place.revision.thickness_mm,
            readings_mm=setup.measured_edges_mm,
            tolerance_deg=min((step.angle_tolerance_deg for step, _ in place.keyed), default=1.0),
        )
    found += check_stroke_setting(
        setting=StrokeSetting(**setup.stroke_setting),
        brake_opening_mm=place.brake.opening_mm,
        tool_height_mm=setup.tool_height_mm,
    )
    found += findings_of(place.sequence.findings)
    found += findings_of(setup.findings)
    for entry in place.steps:
        told = [*entry.step.findings, *(entry.keyed.findings if entry.keyed else ())]
        found += [one for one in findings_of(told) if one.level == "stop"]
    if not setup.touch_off_checked and place.keyed:
        found.append(_not_touched_off())
    if setup.read_back and setup.read_back.get("locked") and not setup.read_back.get("override"):
        found.append(_read_back_locked())
    del session, run
    return found


def _not_touched_off() -> Finding:
    return Finding(
        "caution",
        "not_touched_off",
        say("Every Y is predicted from tool heights and an older touch-off."),
        say("Touch off on the job's own sheet before the first bend."),
        source="common practice, no source",
    )


def _read_back_locked() -> Finding:
    return Finding(
        "stop",
        "read_back_differs",
        say("The control does not show what it should."),
        say("Correct the marked numbers on the key-in sheet, or override there with a reason."),
        source="read-back check",
    )


def _job(session: Session, place: SetupPlace) -> SetupJob:
    setting = StrokeSetting(**place.setup.stroke_setting)
    punches = sorted({entry.step.punch_code for entry in place.steps})
    dies = sorted({entry.step.die_code for entry in place.steps})
    first = place.dies[place.steps[0].step.die_code] if place.steps else None
    programs = [row.program for row in list_sequence_programs(session, place.sequence.id or 0)]
    return SetupJob(
        part=place.sequence.part_number,
        revision_label=place.sequence.revision_label,
        punch=" and ".join(punches),
        die=" and ".join(dies),
        v_opening_mm=first.v_opening_mm if first else 0.0,
        thickness_mm=place.revision.thickness_mm,
        speed_change_mm=setting.speed_change_mm,
        top_opening_mm=setting.top_opening_mm,
        mute_opening_mm=place.brake.mute_opening_mm,
        several_vs=any(count_dies_of_block(session, code) > 1 for code in dies),
        heaviest_tool_kg=heaviest_piece(place),
        sheet_kg=place.revision.mass_kg,
        programs=programs_named(sorted(programs)) if programs else "",
    )


def heaviest_piece(place: SetupPlace) -> float | None:
    """Mass of the heaviest segment that has to be lifted, taken as solid steel [kg]."""
    heaviest = 0.0
    for station in place.setup.stations:
        punch_code, die_code = str(station["tools"]).split(" / ")
        for tool, runs in (
            (place.punches.get(punch_code), station["punch_runs"]),
            (place.dies.get(die_code), station["die_runs"]),
        ):
            longest = max((float(one) for run in runs for one in run["segments_mm"]), default=0.0)
            heaviest = max(heaviest, segment_mass(tool.profile_mm, longest) if tool else 0.0)
    return heaviest or None


def segment_mass(outline: Outline, length_mm: float) -> float:
    """Mass of a tool segment, taken as solid steel [kg]; 0 without an outline."""
    if not outline:
        return 0.0
    pairs = zip(outline, (*outline[1:], outline[0]), strict=True)
    area_mm2 = abs(sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in pairs)) / 2
    return area_mm2 * length_mm * STEEL_KG_PER_MM3


def _plain_ticks(ticks: dict[str, Tick]) -> dict[str, dict[str, str]]:
    return {code: {"by": tick.by, "at": tick.at.isoformat()} for code, tick in ticks.items()}


def _plain_tick(by: str) -> dict[str, str]:
    return {"by": by, "at": utc_now().isoformat()}
