"""The demo shop: its parts, bend sequences and jobs, made by the same actions a person uses."""

from datetime import datetime, timedelta

from server.actions.bend_sequence import PlanWish, plan_task, save_plan
from server.actions.part import save_revision
from server.actions.planning import plan_candidates
from server.actions.work_out import work_out
from server.planning.blank import DrawnBend, DrawnProfile
from server.planning.drawn_part import DrawnPart
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
    for row in seed_rows("part"):
        drawn = _drawn(row)
        worked = work_out(session, drawn, flange_margin=settings.bend.flange_margin_ratio)
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
        good_count=int(row["good"]),
        held_reason=row["note"] if held else "",
        note="" if held else row["note"],
    )
