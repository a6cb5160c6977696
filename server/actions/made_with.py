"""What a job rested on: kept when it is made, and asked again when it is to be repeated."""

from collections.abc import Mapping
from typing import Any

from server.actions.learning import believed, depth_keyed, is_learnt, sheet_of
from server.shop.repeat import JobThen, ToolThen
from server.storage.database import Session
from server.storage.queries.bend_sequence import list_bend_sequences, list_steps
from server.storage.queries.job import find_last_run
from server.storage.queries.part import get_revision
from server.storage.queries.setup import SetupPlace, get_setup_place
from server.storage.queries.stock import find_price_per_kg, list_sheets
from server.storage.queries.tool import find_die, find_punch
from server.storage.tables.job import Job
from server.storage.tables.part import Revision


def made_with(session: Session, job: Job) -> dict[str, Any]:
    """What a job rests on now, as plain values for its row."""
    revision = get_revision(session, job.part_number, job.revision_label)
    run = find_last_run(session, job.number)
    setup_id = run.setup_id if run is not None else None
    place = get_setup_place(session, setup_id) if setup_id is not None else None
    price = _price(session, revision)
    return {
        "revision": revision.label,
        "material": revision.material_code,
        "price_per_kg": None if price is None else float(price),
        "thickness_mm": place.setup.thickness_mm if place else None,
        "setup_id": setup_id,
        "tools": dict(_heights(session, job, place)),
        "bend_angles_deg": {
            str(bend): keyed.predicted_deg
            for step, keyed in (place.keyed if place else ())
            if keyed.predicted_deg is not None
            for bend in step.bends
        },
    }


def then_of(kept: Mapping[str, Any]) -> JobThen:
    """What was kept, as the rule of repeats wants it."""
    return JobThen(
        revision=kept["revision"],
        material=kept["material"],
        price_per_kg=kept["price_per_kg"],
        thickness_mm=kept["thickness_mm"],
        tools={code: ToolThen(height) for code, height in kept["tools"].items()},
        bend_angles_deg={int(bend): angle for bend, angle in kept["bend_angles_deg"].items()},
    )


def now_of(
    session: Session,
    kept: Mapping[str, Any],
    *,
    revision: Revision,
    lot_thickness_mm: float | None = None,
) -> JobThen:
    """The same things today, for the revision and lot a repeat would take."""
    price = _price(session, revision)
    sheets = list_sheets(
        session, material_code=revision.material_code, thickness_mm=revision.thickness_mm
    )
    free = [level.free_count for level in sheets.levels().values() if not level.lot.parent]
    return JobThen(
        revision=revision.label,
        material=revision.material_code,
        price_per_kg=None if price is None else float(price),
        thickness_mm=lot_thickness_mm,
        sheets_free_count=sum(free) if sheets.moves else None,
        tools={code: _tool_now(session, code) for code in kept["tools"]},
        bend_angles_deg=_angles_now(session, kept["setup_id"]),
    )


def _price(session: Session, revision: Revision) -> Any:
    return find_price_per_kg(
        session, material_code=revision.material_code, thickness_mm=revision.thickness_mm
    )


def _heights(session: Session, job: Job, place: SetupPlace | None) -> list[tuple[str, float]]:
    if place is not None:
        punches = [(code, punch.height_mm) for code, punch in place.punches.items()]
        return sorted([*punches, *((code, die.height_mm) for code, die in place.dies.items())])
    sequences = list_bend_sequences(session, job.part_number, job.revision_label)
    ready = next((row for row in sequences if row.state == "ready"), None)
    if ready is None:
        return []
    codes = {
        code
        for step in list_steps(session, ready.id or 0)
        for code in (step.punch_code, step.die_code)
    }
    return [(code, _tool_now(session, code).height_mm) for code in sorted(codes)]


def _tool_now(session: Session, code: str) -> ToolThen:
    punch, die = find_punch(session, code), find_die(session, code)
    if punch is not None:
        return ToolThen(punch.height_mm, there=punch.archived_at is None)
    if die is not None:
        return ToolThen(die.height_mm, there=die.archived_at is None)
    return ToolThen(0.0, there=False)


def _angles_now(session: Session, setup_id: int | None) -> dict[int, float]:
    """What the depths keyed then would give by what the shop knows today."""
    if setup_id is None:
        return {}
    place = get_setup_place(session, setup_id)
    angles = {}
    for step, keyed in place.keyed:
        if is_learnt(step):
            belief = believed(session, place, place.dies[step.die_code].v_opening_mm).belief
            angle = belief.angle_deg(sheet_of(place, step), depth_keyed(place, step, keyed.y_mm))
            angles.update(dict.fromkeys(step.bends, round(angle, 2)))
    return angles
