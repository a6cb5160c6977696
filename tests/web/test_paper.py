"""Papers over the web: what comes, in which size, and where a traveller's code leads."""

import html
import re
from datetime import UTC, datetime
from typing import Any

import pytest

from server.storage.queries.paper import get_job_paper
from server.web.display import Display
from server.web.pages.paper import PaperReader, traveller_paper
from tests.conftest import Office

A4_PT, LETTER_PT = (595, 842), (612, 792)
NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)


def sheet_of(pdf: bytes) -> tuple[int, int]:
    """The first page's size in points, as the PDF tells it."""
    found = re.search(rb"/MediaBox ?\[0 0 ([0-9.]+) ([0-9.]+)\]", pdf)
    assert found
    return round(float(found[1])), round(float(found[2]))


@pytest.mark.parametrize(
    "path",
    [
        "/paper/job/J-1042/traveller.pdf",
        "/paper/job/J-1042/inspection.pdf",
        "/paper/job/J-1042/labels.pdf?count=9&skip=3",
    ],
)
def test_a_jobs_papers_come_as_pdf_on_the_readers_sheet(office: Office, path: str) -> None:
    answer = office.get(path)
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "application/pdf"
    assert answer.headers["content-disposition"].startswith("inline; filename=")
    assert sheet_of(answer.content) == A4_PT
    more = "&" if "?" in path else "?"
    assert sheet_of(office.get(f"{path}{more}paper=letter").content) == LETTER_PT


def test_a_paper_of_a_job_that_is_not_there_says_so(office: Office) -> None:
    assert office.get("/paper/job/J-9999/traveller.pdf").status_code == 404


def pages_of(pdf: bytes) -> int:
    return len(re.findall(rb"/MediaBox ?\[", pdf))


def test_travellers_of_several_jobs_come_in_one_file_each_on_its_own_sheets(
    office: Office,
) -> None:
    numbers = ("J-1042", "J-1041")
    alone = [office.get(f"/paper/job/{number}/traveller.pdf").content for number in numbers]
    several = office.get("/paper/travellers.pdf?job=J-1042&job=J-1041&job=J-1042")
    assert several.status_code == 200
    assert pages_of(several.content) == sum(pages_of(pdf) for pdf in alone) > 1
    assert office.get("/paper/travellers.pdf?job=J-1042&job=J-9999").status_code == 404


def test_the_list_prints_the_ticked_jobs_in_one_file(office: Office) -> None:
    ticked = {"do": "print", "job": ["J-1042", "J-1041"]}
    page = office.send(
        "POST", "/office/job/several", headers={"origin": office.base}, data=ticked
    ).text
    href = html.unescape(re.findall(r'href="(/paper/travellers[^"]+)"', page)[0])
    assert sorted(re.findall("job=(J-[0-9]+)", href)) == ["J-1041", "J-1042"]
    assert "&job=" in href
    assert "&amp;" not in href
    assert office.get(href).status_code == 200


def test_a_lots_labels_come_whatever_count_is_asked(office: Office) -> None:
    typed = {"code": "L-77", "material_code": "DC01", "thickness": "1.5"}
    assert office.post("/office/lot/new", typed).status_code == 303
    assert office.get("/paper/lot/L-77/labels.pdf?count=-5&skip=100000").status_code == 200


def traveller(shop: Any, number: str, unit: str = "mm") -> Any:
    with shop.reading() as session:
        told = get_job_paper(session, number)
    show = Display(unit="in" if unit == "in" else "mm")
    reader = PaperReader("Shop", "Ann", "http://192.168.1.20:8040", show)
    return traveller_paper(told, None, reader, now=NOW)


def test_the_traveller_tells_each_step_and_leaves_y_to_the_touch_off(shop: Any) -> None:
    paper = traveller(shop, "J-1042")
    assert [row.number for row in paper.steps] == ["1", "2", "3", "4"]
    assert all(row.x and row.picture.startswith("<svg") for row in paper.steps)
    assert {row.y for row in paper.steps} == {""}
    assert dict(paper.facts)["Quantity"] == "16"


def test_the_control_keeps_its_unit_while_the_words_follow_the_reader(shop: Any) -> None:
    metric, inch = traveller(shop, "J-1042"), traveller(shop, "J-1042", "in")
    assert [row.x for row in metric.steps] == [row.x for row in inch.steps]
    assert dict(metric.facts)["Blank"].endswith("mm")
    assert dict(inch.facts)["Blank"].endswith("in")


def test_a_travellers_code_leads_to_the_job_and_later_to_its_run(office: Office) -> None:
    before = office.get("/J/j-1042")
    assert (before.status_code, before.headers["location"]) == (303, "/brake?q=J-1042")
    started = office.post("/brake/open", {"code": "J-1042"})
    run = started.headers["location"].removesuffix("/setup")
    after = office.get("/J/J-1042")
    assert after.headers["location"] == run
    assert office.get("/J/NOTHING").status_code == 404


def test_after_a_checked_touch_off_the_traveller_has_the_very_digits_to_key(
    office: Office, shop: Any
) -> None:
    from server.actions.key_in import key_in
    from server.actions.run import start_job
    from server.settings import ShopSettings
    from server.storage.queries.bend_sequence import get_setup

    with shop.writing() as session:
        run = start_job(session, "J-1042", settings=ShopSettings(), by="Ann")
        get_setup(session, run.setup_id or 0).touch_off_checked = True
        session.flush()
        told = get_job_paper(session, "J-1042")
        keyed = key_in(session, run.id or 0)
    reader = PaperReader("Shop", "Ann", "http://192.168.1.20:8040", Display())
    rows = traveller_paper(told, keyed, reader, now=NOW).steps
    lines = [line for program in keyed.programs for line in program.sheet.lines]
    digits = [{value.name: value.text for value in line.values} for line in lines]
    assert [(row.x, row.y) for row in rows] == [(one["x"], one["y"]) for one in digits]
    assert all(row.y for row in rows)
    assert office.get("/paper/job/J-1042/traveller.pdf").status_code == 200


def test_a_signed_first_article_is_printed_as_it_was_signed(office: Office, shop: Any) -> None:
    from server.actions.first_article import sign_first_article
    from server.actions.run import start_job
    from server.actions.running import start_run
    from server.settings import ShopSettings
    from server.web.pages.inspection_paper import inspection_paper

    with shop.writing() as session:
        run = start_job(session, "J-1042", settings=ShopSettings(), by="Ann")
        start_run(session, run.id or 0, by="Ann")
        signed = sign_first_article(session, run.id or 0, note="burr inside", by="Bo")
        assert signed is not None
        number = signed.id
        told = get_job_paper(session, "J-1042")
    reader = PaperReader("Shop", "Ann", "http://192.168.1.20:8040", Display())
    paper = inspection_paper(told, signed, reader, now=NOW)
    assert paper.verdict == "not measured"
    assert paper.signed.startswith("Bo, ")
    assert {row.measured for row in paper.rows} == {"—"}
    assert office.get(f"/paper/first-article/{number}.pdf").content.startswith(b"%PDF-")
