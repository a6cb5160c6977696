"""Stock on the office PC: deliveries, levels, remnants, certificates, reorder points."""

from typing import Any

import pytest

from server.storage.queries.job import get_job
from server.storage.queries.lot import find_lot, get_lot
from server.storage.queries.part import get_revision
from server.storage.queries.schedule import find_kept_schedule, list_placements
from server.storage.queries.stock import list_sheets, reserved_by
from tests.conftest import Office

DELIVERY = {
    "lot": "L-400",
    "material_code": "DX51D+Z",
    "thickness": "1.5",
    "sheet_width": "1250",
    "sheet_length": "2500",
    "sheets_count": "12",
    "price_per_kg": "1,2350",
    "heat_number": "H 9",
    "typed_in": "mm",
}
LOT = "/office/stock/lot/L-400"


def on_hand(shop: Any, code: str = "L-400") -> int:
    with shop.reading() as session:
        return list_sheets(session).levels()[code].on_hand_count


def test_a_delivery_is_received_used_counted_and_undone(office: Office, shop: Any) -> None:
    assert office.post("/office/stock/receive", DELIVERY).headers["location"].startswith(LOT)
    assert "1.235" in office.get(LOT).text
    for what, count, left in (("use", 2, 10), ("scrap", 1, 9), ("count", 20, 20)):
        assert office.post(f"{LOT}/{what}", {"sheets_count": str(count)}).status_code == 303
        assert on_hand(shop) == left
    office.post(f"{LOT}/undo", {})
    assert on_hand(shop) == 9
    assert "L-400" in office.get("/office/stock").text
    assert office.post("/office/stock/receive", {**DELIVERY, "sheets_count": "5"})
    assert on_hand(shop) == 14


def test_a_remnant_keeps_the_papers_of_its_sheet(office: Office, shop: Any) -> None:
    office.post("/office/stock/receive", DELIVERY)
    answer = office.post(f"{LOT}/remnant", {"width": "600", "height": "1200", "typed_in": "mm"})
    assert answer.headers["location"].startswith("/office/stock/lot/L-400-R1")
    with shop.reading() as session:
        rest = get_lot(session, "L-400-R1")
    assert (rest.heat_number, rest.parent_code) == ("H 9", "L-400")
    assert on_hand(shop, "L-400-R1") == 1
    too_large = office.post(f"{LOT}/remnant", {"width": "1300", "height": "2600"})
    assert "does not come from a sheet" in too_large.text


def test_lot_job_and_certificate_are_two_taps_apart(office: Office) -> None:
    """Story 15: lot to job to certificate in two taps, both ways."""
    office.post("/office/stock/receive", DELIVERY)
    office.send(
        "POST",
        "/office/attachment",
        headers={"origin": office.base},
        data={"noun": "lot", "key": "L-400", "certificate": "yes"},
        files={"file": ("3.1 H 9.pdf", b"%PDF-1.7 certificate", "application/pdf")},
    )
    office.post("/office/job/J-1044/reserve", {"width_mm": "1250", "height_mm": "2500"})
    job = office.get("/office/job/J-1044").text
    sheets = job.split('id="sheets"')[1].split("</section>")[0]
    assert f'href="{LOT}"' in sheets
    assert "3.1%20H%209.pdf" in sheets
    office.post(f"{LOT}/use", {"sheets_count": "1", "job": "J-1044"})
    lot = office.get(LOT).text
    together = lot.split("Belongs together")[1].split("</section>")[0]
    assert "/office/job/J-1044" in together
    assert "3.1%20H%209.pdf" in together
    assert "H 9" in together


@pytest.mark.parametrize(
    ("changes", "field", "says"),
    [
        ({"sheets_count": "0"}, "sheets_count", "0 is not from 1"),
        ({"material_code": "NOBODY"}, "material_code", "no such material"),
        ({"sheet_width": "wide"}, "sheet_width", "not a length"),
        ({"price_per_kg": "-1"}, "price_per_kg", "below zero"),
        ({"price_per_kg": "1,234.5.6"}, "price_per_kg", "1,234.5.6"),
        ({"thickness": "2", "lot": "L-301"}, "lot", "other sheets"),
    ],
)
def test_bad_deliveries_are_told_beside_their_field(
    office: Office, shop: Any, changes: dict[str, str], field: str, says: str
) -> None:
    answer = office.post("/office/stock/receive", {**DELIVERY, **changes})
    assert answer.status_code in (409, 422)
    assert says in answer.text.split(f'id="{field}-problem"')[1].split("</p>")[0]
    with shop.reading() as session:
        assert find_lot(session, "L-400") is None


def test_low_stock_shows_on_the_stock_and_on_the_board(office: Office) -> None:
    """The demo shop has 3 free sheets of DC01 1.5 less those reserved, and wants at least 4."""
    for page in ("/office/stock", "/office/job"):
        assert "free sheets of DC01" in office.get(page).text
    point = {"material_code": "S235JR", "thickness": "3", "sheet_width": "1500"}
    point |= {"sheet_length": "3000", "least": "9", "up_to": "5", "typed_in": "mm"}
    refused = office.post("/office/stock/reorder", point)
    assert "at least the least" in refused.text
    office.post("/office/stock/reorder", {**point, "up_to": "20"})
    assert "free sheets of S235JR" in office.get("/office/stock").text


def test_a_planned_job_is_told_on_the_schedule_when_its_sheet_is_low(
    office: Office, shop: Any
) -> None:
    with shop.reading() as session:
        kept = find_kept_schedule(session)
        assert kept is not None
        cut = next(
            one.job_number
            for one in list_placements(session, kept.id or 0)
            if one.kind == "cut" and not one.running and not reserved_by(session, one.job_number)
        )
        job = get_job(session, cut)
        revision = get_revision(session, job.part_number, job.revision_label)
    told = f"Job {cut}: "
    point = {"material_code": revision.material_code, "thickness": str(revision.thickness_mm)}
    point |= {"sheet_width": "1500", "sheet_length": "3000", "typed_in": "mm"}
    assert f"{told}" not in office.get("/office/schedule").text
    office.post("/office/stock/reorder", {**point, "least": "900", "up_to": "990"})
    page = office.get("/office/schedule").text
    assert told in page
    assert "below the reorder point" in page


def test_more_than_there_is_cannot_be_used(office: Office, shop: Any) -> None:
    office.post("/office/stock/receive", DELIVERY)
    answer = office.post(f"{LOT}/use", {"sheets_count": "13"})
    assert answer.status_code == 422
    assert "12 are there" in answer.text
    assert on_hand(shop) == 12


def test_the_cut_list_shows_blanks_until_they_are_cut(office: Office) -> None:
    """J-1045 waits in the demo shop, held from nothing that was bent."""
    page = office.get("/office/cut").text
    assert 'href="/office/job/J-1045"' in page
    assert office.post("/office/cut/J-1045", {}).headers["location"] == "/office/cut?done=J-1045"
    assert 'href="/office/job/J-1045"' not in office.get("/office/cut").text
    assert office.post("/office/cut/J-1031", {}).status_code == 422
