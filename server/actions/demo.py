"""The demo shop: its parts, bend sequences and jobs, made by the same actions a person uses."""

from datetime import datetime, timedelta
from typing import get_args

from server.actions.bend_sequence import PlanWish, plan_task, save_plan
from server.actions.draft import Drawing
from server.actions.part import save_revision, work_out_drawing
from server.actions.planning import plan_candidates
from server.geometry.cutout import Cutout, CutoutKind
from server.geometry.generator import Wall
from server.planning.blank import DrawnBend, DrawnProfile
from server.planning.drawn_flat import (
    NO_WALL,
    BracketSizes,
    DrawnFlat,
    DrawnFlatPart,
    FlatForm,
    PanelSizes,
    Pattern,
    PatternLine,
    SteppedSizes,
    Tab,
)
from server.planning.drawn_part import DrawnPart
from server.planning.plan_task import Way
from server.planning.planner import plan
from server.settings import ShopSettings
from server.storage.database import Session
from server.storage.queries.brake import list_brakes
from server.storage.seed import seed_rows
from server.storage.tables.column import utc_now
from server.storage.tables.customer import Customer
from server.storage.tables.job import Job

BY = "demo"


def load_demo_work(session: Session, *, settings: ShopSettings) -> None:
    """Parts with a released revision and a planned bend sequence each, and jobs in every state."""
    brake = list_brakes(session)[0]
    drawings: list[Drawing] = [_drawn(row) for row in seed_rows("part")]
    drawings += [_drawn_flat(row) for row in seed_rows("flat_part")]
    for drawn in drawings:
        worked = work_out_drawing(session, drawn, flange_margin=settings.bend.flange_margin_ratio)
        revision = save_revision(session, worked, note="demo", by=BY)
        wish = PlanWish(revision.part_number, revision.label, brake.code)
        task = plan_task(session, wish, settings=settings)
        for candidate in plan_candidates(task, wish):
            found = plan(candidate)
            if found.sequence is not None:
                save_plan(session, wish, candidate, found, by=BY)
                break
    session.add_all(_customer(row) for row in seed_rows("customer"))
    session.flush()
    now = utc_now()
    for row in seed_rows("job"):
        session.add(_job(row, now))
    session.flush()


def _drawn(row: dict[str, str]) -> DrawnPart:
    return DrawnPart(
        number=row["number"],
        name=row["name"],
        material_code=row["material_code"],
        thickness_mm=float(row["thickness_mm"]),
        die_code=row["die_code"] or None,
        profile=DrawnProfile(
            width_mm=float(row["width_mm"]),
            legs_mm=tuple(float(leg) for leg in row["legs_mm"].split()),
            bends=tuple(DrawnBend(float(angle)) for angle in row["bend_angles_deg"].split()),
        ),
    )


def _drawn_flat(row: dict[str, str]) -> DrawnFlatPart:
    is_pattern = row["shape"] == "pattern"
    rows = [] if is_pattern else [_numbers(piece) for piece in row["rows_mm"].split(";")]
    relief_mm = float(row["relief_mm"] or 0.0)
    form: FlatForm
    if is_pattern:
        outline = tuple((x, y) for x, y in map(_numbers, row["outline_mm"].split(";")))
        form = Pattern(outline, tuple(_line(piece.split()) for piece in row["rows_mm"].split(";")))
    elif row["shape"] == "panel":
        front, right, back, left = (Wall(one[0], sum(one[1:])) if one else NO_WALL for one in rows)
        form = PanelSizes(
            float(row["width_mm"]), float(row["depth_mm"]), (front, right, back, left), relief_mm
        )
    elif row["shape"] == "bracket":
        tabs = tuple(Tab(*one) for one in rows)
        form = BracketSizes(float(row["width_mm"]), float(row["depth_mm"]), tabs, relief_mm)
    else:
        form = SteppedSizes(float(row["depth_mm"]), tuple((one[0], one[1]) for one in rows))
    holes = [piece.split() for piece in row["holes_mm"].split(";") if piece.strip()]
    return DrawnFlatPart(
        number=row["number"],
        name=row["name"],
        material_code=row["material_code"],
        thickness_mm=float(row["thickness_mm"]),
        flat=DrawnFlat(form, tuple(_hole(words) for words in holes)),
    )


def _line(words: list[str]) -> PatternLine:
    """A bend line from its ends, angle and way, such as `0 12 300 12 180 hem`; no way: air bent."""
    u0, v0, u1, v1, angle_deg = (float(word) for word in words[:5])
    way: Way = next((way for way in get_args(Way) if words[5:] == [way]), "air")
    return PatternLine(((u0, v0), (u1, v1)), DrawnBend(angle_deg, way=way))


def _hole(words: list[str]) -> Cutout:
    """A cut-out from its kind, place and size, such as `round 25 25 6`."""
    kind = next(kind for kind in get_args(CutoutKind) if kind == words[0])
    u, v, long, *wide = (float(word) for word in words[1:])
    return Cutout(kind, (u, v), long, *wide or [long])


def _numbers(text: str) -> list[float]:
    return [float(word) for word in text.split()]


def _customer(row: dict[str, str]) -> Customer:
    return Customer(
        code=row["code"],
        name=row["name"],
        contact=row["contact"],
        email=row["email"],
        address=row["address"].replace(";", "\n"),
        currency=row["currency"],
        terms=row["terms"],
        note=row["note"],
    )


def _job(row: dict[str, str], now: datetime) -> Job:
    due = (now + timedelta(days=int(row["due_in_days"]))).replace(
        hour=15, minute=0, second=0, microsecond=0
    )
    held = row["state"] == "held"
    return Job(
        number=row["number"],
        customer_code=row["customer_code"],
        part_number=row["part_number"],
        revision_label="A",
        quantity_count=int(row["quantity"]),
        state=row["state"],
        due_at=due,
        unit_price_minor=int(row["unit_price_minor"]) if row["unit_price_minor"] else None,
        good_count=int(row["good"]),
        held_reason=row["note"] if held else "",
        note="" if held else row["note"],
    )
