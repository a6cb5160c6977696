"""Tables in and out over the web."""

import csv
import io
from typing import Any

import httpx
import pytest

from server.actions.table_import import MOST_ROWS, NOUNS
from server.storage.queries.customer import find_customer, get_customer
from server.storage.queries.list_export import list_exports
from server.storage.queries.part import find_newest_revision, get_part
from tests.conftest import Office
from tests.web.form_page import filled_form

PATH, TAKE = "/office/table", "/office/table/taken-in"


def sent(office: Office, noun: str, content: bytes) -> httpx.Response:
    return office.send(
        "POST", PATH, headers={"Origin": office.base}, data={"noun": noun},
        files={"file": ("list.csv", content, "text/csv")},
    )  # fmt: skip


def taken(office: Office, page: httpx.Response) -> httpx.Response:
    return office.post(TAKE, filled_form(page.text, TAKE))


@pytest.mark.parametrize("name", list_exports())
def test_every_list_comes_as_csv_that_a_spreadsheet_knows(office: Office, name: str) -> None:
    answer = office.get(f"{PATH}/{name}.csv")
    assert answer.status_code == 200
    assert answer.content.startswith(b"\xef\xbb\xbf")
    head = next(csv.reader(io.StringIO(answer.content.decode("utf-8-sig"))))
    assert len(head) > 3


@pytest.mark.parametrize("noun", NOUNS)
def test_what_was_given_out_comes_in_again_as_the_same(office: Office, noun: str) -> None:
    content = office.get(f"{PATH}/{noun}.csv").content
    page = sent(office, noun, content)
    assert page.status_code == 200
    assert "0 new, 0 changed" in page.text
    assert "0 refused" in page.text
    assert "There is nothing to take in" in page.text


def test_a_formula_in_a_cell_goes_out_harmless_and_comes_in_as_it_was(
    office: Office, shop: Any
) -> None:
    evil = b'code,name\r\nEVIL,"=HYPERLINK(""http://x"",""y"")"\r\n'
    assert taken(office, sent(office, "customer", evil)).status_code == 303
    out = office.get(f"{PATH}/customer.csv").content
    row = next(row for row in csv.DictReader(io.StringIO(out.decode("utf-8-sig")))
               if row["code"] == "EVIL")  # fmt: skip
    assert row["name"].startswith("'=HYPERLINK")
    with shop.reading() as session:
        assert get_customer(session, "EVIL").name == '=HYPERLINK("http://x","y")'
    assert "0 changed" in sent(office, "customer", out).text


def test_every_row_has_its_fate_and_nothing_changes_before_it_is_taken_in(
    office: Office, shop: Any
) -> None:
    table = (
        "\ufeffcode;name;email;currency\r\n"
        "NEW-1;Quayside Ltd;q@quay.example;EUR\r\n"
        "BRIGHTWATER;Brightwater Pumps & Valves;ines@brightwater.example;EUR\r\n"
        "NEW-1;Twice;;\r\n"
        "NEW-2;;;\r\n"
        "NEW-3;Bad mail;nobody;EUR\r\n"
        "NEW-4;Bad money;;XYZ\r\n"
        "NEW 5;Bad code;;\r\n"
        "FELL-VIEW;Fell View Farms;;EUR\r\n"
    )
    page = sent(office, "customer", table.encode())
    assert "1 new, 1 changed, 1 the same, 5 refused." in page.text
    for told in (
        "This is empty",
        "has an @ in it",
        "not a currency",
        "letters A-Z",
        "changed: name",
    ):
        assert told in page.text
    with shop.reading() as session:
        assert find_customer(session, "NEW-1") is None
    assert taken(office, page).headers["location"] == "/office/table?told=2"
    with shop.reading() as session:
        assert get_customer(session, "NEW-1").name == "Quayside Ltd"
        brightwater = get_customer(session, "BRIGHTWATER")
    assert brightwater.name == "Brightwater Pumps & Valves"
    assert brightwater.contact == "Ines Calder"  # a column left out keeps what is there
    assert taken(office, page).status_code == 404  # once


def test_parts_come_with_their_shape_and_another_shape_is_the_next_revision(
    office: Office, shop: Any
) -> None:
    head = "number,name,material_code,thickness_mm,width_mm,legs_mm,bend_angles_deg\r\n"
    table = head + (
        "TB-1,Angle,S235JR,3,120,40 60,90\r\n"
        "TB-2,Only a name,,,,,\r\n"
        "BR-1040,Shelf bracket,S235JR,3,60,80 125,90\r\n"
        "TB-3,Too short,S235JR,3,120,3 60,90\r\n"
        "TB-4,Miscounted,S235JR,3,120,40 60 40,90\r\n"
        "TB-5,No such metal,WOOD,3,120,40 60,90\r\n"
    )
    page = sent(office, "part", table.encode())
    assert "2 new, 1 changed, 0 the same, 3 refused." in page.text
    assert "3 legs have 2 bends between them, not 1" in page.text
    assert taken(office, page).status_code == 303
    with shop.reading() as session:
        first = find_newest_revision(session, "TB-1")
        again = find_newest_revision(session, "BR-1040")
        assert get_part(session, "TB-2").name == "Only a name"
    assert first is not None
    assert first.label == "A"
    assert again is not None
    assert (again.label, again.drawn["legs_mm"]) == ("B", [80.0, 125.0])


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "There is no file"),
        (b"colour,shape\r\nred,round\r\n", "code"),
        (b"code,name,colour\r\nX,Y,red\r\n", "colour"),
        (b"PK\x03\x04\x00\x00", "not a text file"),
    ],
)
def test_a_file_that_is_no_such_table_is_told_beside_the_field(
    office: Office, content: bytes, says: str
) -> None:
    answer = sent(office, "customer", content)
    assert answer.status_code == 422
    _, _, after = answer.text.partition('id="file-problem"')
    assert says in (after.split("</p>")[0] or answer.text)


def test_more_rows_than_one_import_takes_are_refused_at_once(office: Office) -> None:
    rows = "".join(f"C-{n},Customer {n}\r\n" for n in range(MOST_ROWS + 5))
    answer = sent(office, "customer", b"code,name\r\n" + rows.encode())
    assert answer.status_code == 422
    assert "more than 20000 rows" in answer.text.replace("\u202f", "")


def test_every_fate_comes_as_csv(office: Office) -> None:
    page = sent(office, "customer", b"code,name\r\nNEW-9,Nine\r\nNEW-9,Again\r\n")
    typed = filled_form(page.text, TAKE)
    answer = office.get(f"{PATH}/fates.csv?noun=customer&token={typed['token']}")
    rows = list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"))))
    assert {row["line"]: row["fate"] for row in rows} == {"2": "new", "3": "refused"}
    assert office.get(f"{PATH}/fates.csv?noun=customer&token=../shop").status_code == 404
