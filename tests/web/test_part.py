"""A part's page: its files."""

from typing import Any

from server.storage.queries.attachment import list_attachments
from tests.conftest import Office


def test_a_drawing_is_attached_to_a_part_taken_off_and_put_back(office: Office, shop: Any) -> None:
    page = "/office/part/CH-2210"
    answer = office.send(
        "POST",
        "/office/attachment",
        headers={"origin": office.base},
        data={"noun": "part", "key": "CH-2210"},
        files={"file": ("drawing.pdf", b"%PDF-1.4 bracket", "application/pdf")},
    )
    assert answer.headers["location"] == f"{page}#attachments"
    assert "drawing.pdf" in office.get(page).text
    with shop.reading() as session:
        (row,) = list_attachments(session, "part", "CH-2210")
    office.post(f"/office/attachment/{row.id}/removed", {"removed": "yes"})
    assert "was taken off" in office.get(f"{page}?removed={row.id}").text
    office.post(f"/office/attachment/{row.id}/removed", {"removed": "no"})
    assert f"/office/attachment/{row.id}/drawing.pdf" in office.get(page).text
