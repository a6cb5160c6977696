"""Taking a table in: customers, materials, tools and parts, all rows or none."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from server.actions.customer import CustomerValues, add_customer, save_customer
from server.actions.history import keep
from server.actions.material import MaterialValues, add_material, save_material
from server.actions.part import NOT_BLOCKING_A_DRAWING, save_revision
from server.actions.tool import DieValues, PunchValues, add_tool, save_tool
from server.actions.work_out import WorkedOut, work_out
from server.errors import ShopError, say
from server.planning.drawn_part import DrawnPart
from server.storage.database import Session
from server.storage.queries.customer import get_customer
from server.storage.queries.material import get_material
from server.storage.queries.part import find_newest_revision, get_part
from server.storage.queries.tool import get_die, get_punch
from server.storage.tables.part import Part

ImportNoun = Literal["customer", "material", "punch", "die", "part"]
NOUNS: tuple[ImportNoun, ...] = ("customer", "material", "punch", "die", "part")
MOST_ROWS = 20_000


@dataclass(frozen=True, slots=True)
class PartValues:
    """A part of a table: its name, and its shape where the table has one."""

    name: str
    shape: DrawnPart | None


Values = CustomerValues | MaterialValues | PunchValues | DieValues | PartValues


@dataclass(frozen=True, slots=True)
class ImportRow:
    """One row to take in: its line in the file, what it names, and its values."""

    line: int
    code: str
    values: Values
    is_new: bool


def take_in(session: Session, rows: Iterable[ImportRow], *, flange_margin: float, by: str) -> int:
    """Add or change everything in a table; returns how many rows.

    Raises: ShopError naming the line of the first row that cannot be taken; nothing is kept then.
    """
    count = 0
    for row in rows:
        try:
            _take(session, row, flange_margin=flange_margin, by=by)
        except ShopError as trouble:
            raise ShopError(
                trouble.code,
                say("Line {line}: {what}", line=str(row.line), what=str(trouble.what)),
                remedy=trouble.remedy,
                where="file",
            ) from trouble
        count += 1
    return count


def _take(session: Session, row: ImportRow, *, flange_margin: float, by: str) -> None:
    code, values = row.code, row.values
    match values:
        case CustomerValues():
            if row.is_new:
                add_customer(session, code, values, by=by)
            else:
                version = get_customer(session, code).version
                save_customer(session, code, values, version=version, by=by)
        case MaterialValues():
            if row.is_new:
                add_material(session, code, values, by=by)
            else:
                version = get_material(session, code).version
                save_material(session, code, values, version=version, by=by)
        case PunchValues() | DieValues():
            kind: Literal["punch", "die"] = "punch" if isinstance(values, PunchValues) else "die"
            if row.is_new:
                add_tool(session, kind, code, values, by=by)
            else:
                there = get_punch(session, code) if kind == "punch" else get_die(session, code)
                save_tool(session, kind, code, values, version=there.version, by=by)
        case PartValues():
            _take_part(session, row, values, flange_margin=flange_margin, by=by)
    session.flush()


def _take_part(
    session: Session, row: ImportRow, values: PartValues, *, flange_margin: float, by: str
) -> None:
    """A part without a shape is a name to draw later; another shape is the next revision."""
    if row.is_new and values.shape is None:
        session.add(Part(number=row.code, name=values.name))
        keep(session, "added", noun="part", key=row.code, by=by)
        return
    if not row.is_new:
        part = get_part(session, row.code)
        if part.name != values.name:
            before, part.name = part.name, values.name
            session.add(part)
            names = {"before": {"name": before}, "after": {"name": values.name}}
            keep(session, "renamed", noun="part", key=row.code, by=by, **names)
    if values.shape is None or not _is_other_shape(session, row.code, values.shape):
        return
    worked = _worked(session, values.shape, flange_margin=flange_margin)
    save_revision(session, worked, note="from a table", by=by)


def _is_other_shape(session: Session, number: str, shape: DrawnPart) -> bool:
    newest = find_newest_revision(session, number)
    if newest is None:
        return True
    drawn, profile = newest.drawn, shape.profile
    return (
        newest.material_code != shape.material_code
        or newest.thickness_mm != shape.thickness_mm
        or drawn.get("width_mm") != profile.width_mm
        or tuple(drawn.get("legs_mm", ())) != profile.legs_mm
        or [one["bend_angle_deg"] for one in drawn.get("bends", ())]
        != [bend.bend_angle_deg for bend in profile.bends]
        or (drawn.get("die_code") or None) != shape.die_code
    )


def check_part(session: Session, values: PartValues, *, flange_margin: float) -> None:
    """Refuse a shape that cannot be bent, before anything is taken in.

    Raises: ShopError as `take_in` would.
    """
    if values.shape is not None:
        _worked(session, values.shape, flange_margin=flange_margin)


def _worked(session: Session, shape: DrawnPart, *, flange_margin: float) -> WorkedOut:
    worked = work_out(session, shape, flange_margin=flange_margin)
    for found in worked.findings:
        if found.level == "stop" and found.code not in NOT_BLOCKING_A_DRAWING:
            raise ShopError("blocked", found.what, remedy=found.frees or "", where="legs_mm")
    return worked
