"""One job's whole way, in the browser, by clicks and typing alone.

Enquiry, quote on paper, won, scheduled, set up, keyed, run to its count, made, gone, and again.
"""

import os
import re
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from server.storage.queries.job import get_job, get_run
from tests.browser.conftest import OFFICE, TABLET, Watched
from tests.browser.test_every_page import is_wider_than_its_window, serious, too_small

PART, QUANTITY = "HR-3005", 3
SETTLED = 400  # a double tap guard takes a quicker second press for the same one
VIEWER = ("chrome-extension://", "chrome://")  # the browser's own, for the paper
PICTURES = os.environ.get("BENDWRIGHT_PICTURES", "")
"""A folder to keep a picture of every state in; none are kept without it."""


class Walk:
    """A window on the whole way; every page on it is looked at as it is passed."""

    def __init__(self, watched: Watched, size: dict[str, int]) -> None:
        watched.page.set_viewport_size(size)  # type: ignore[arg-type]
        self.watched, self.page, self.width = watched, watched.page, size["width"]
        self.seen = 0

    def look(self, name: str) -> None:
        """What is on the window now is whole, large enough and readable."""
        self.seen += 1
        self.page.wait_for_load_state()
        if PICTURES:
            kept = Path(PICTURES) / f"{self.width}-{self.seen:02}-{name}.png"
            self.page.screenshot(path=kept, full_page=True)
        assert self.cut_off() == [], name
        assert too_small(self.watched) == [], name
        assert serious(self.watched) == [], name

    def cut_off(self) -> list[str]:
        """What makes the page wider than its window, empty when nothing does."""
        if not is_wider_than_its_window(self.watched):
            return []
        found: list[str] = self.page.evaluate(
            """() => [...document.querySelectorAll("body *")]
              .filter(one => one.getBoundingClientRect().right > innerWidth + 0.5)
              .map(one => one.outerHTML.slice(0, 120))"""
        )
        return found or ["wider than its window"]

    def press(self, name: str) -> None:
        """Press the one button of that name, as a hand does: not faster than it can."""
        self.page.wait_for_timeout(SETTLED)
        self.page.get_by_role("button", name=name, exact=True).click()

    def choose(self, name: str) -> None:
        """Follow the link of that name."""
        with self.page.expect_event("load"):
            self.page.get_by_role("link", name=name, exact=True).first.click()


@pytest.mark.parametrize("size", [OFFICE, TABLET], ids=["office", "tablet"])
def test_a_job_goes_from_the_enquiry_to_its_repeat(
    watched: Watched, shop: Any, size: dict[str, int]
) -> None:
    walk = Walk(watched, size)
    number = asked(walk)
    quoted(walk, number)
    scheduled(walk, number)
    run_id = set_up(walk, number)
    bent(walk)
    with shop.reading() as session:
        run, job = get_run(session, run_id), get_job(session, number)
        assert (run.state, run.good_count) == ("done", QUANTITY)
        assert (job.state, job.good_count) == ("made", QUANTITY)
    again = gone_and_repeated(walk, number)
    with shop.reading() as session:
        assert get_job(session, number).state == "gone"
        repeat = get_job(session, again)
        assert (repeat.state, repeat.repeat_of) == ("asked", number)
        assert repeat.quantity_count == QUANTITY


def asked(walk: Walk) -> str:
    """An enquiry is written down."""
    page = walk.watched.open("/office")
    walk.choose("Jobs")
    walk.look("board")
    walk.choose("New enquiry")
    page.get_by_label("Customer").select_option("NORTHGATE")
    page.get_by_label("Their reference").fill("RFQ 77")
    page.locator("#part_number").press_sequentially(PART[:4])
    page.locator(f"#part-hits [data-part='{PART}']").click()
    expect(page.locator("#part_number")).to_have_value(PART)
    page.get_by_label("Pieces").fill(str(QUANTITY))
    page.locator("#line_due").fill("+20 days")
    expect(page.locator("#understood")).to_contain_text("in 20 days")
    walk.look("enquiry")
    walk.press("Save the enquiry")
    expect(page.locator("h1")).to_contain_text("Northgate")
    walk.look("order")
    return page.locator("main table a", has_text="J-").first.inner_text()


def quoted(walk: Walk, number: str) -> None:
    """It is priced, sent on paper, and won."""
    page = walk.page
    walk.press("Make a quote")
    page.wait_for_url(re.compile(r"/office/quote/Q-\d+"))
    walk.look("quote")
    walk.press("Mark as sent")
    expect(page.get_by_text("Sent: this version stays as it is")).to_be_visible()
    walk.look("sent")
    with page.expect_response("**/quote.pdf*") as answered:
        walk.choose("PDF")
    paper = page.request.get(answered.value.url).body()  # a viewer keeps what it shows to itself
    assert paper.startswith(b"%PDF-")
    assert paper.rstrip().endswith(b"%%EOF")
    page.go_back()
    walk.watched.foreign[:] = [one for one in walk.watched.foreign if not one.startswith(VIEWER)]
    page.get_by_label("Their order number").fill("PO 4711")
    walk.press("Won: make the jobs")
    expect(page.get_by_text("Won on")).to_be_visible()
    walk.look("won")
    page.get_by_role("link", name=f"job {number}").click()
    expect(page.locator("h1")).to_contain_text(number)
    walk.look("job-won")
    page.locator("#sheets .offer button").first.click()
    expect(page.locator("#sheets table")).to_be_visible()
    walk.press("Release to the floor")
    expect(page.locator(".marks")).to_contain_text("ready")
    walk.look("job-ready")


def scheduled(walk: Walk, number: str) -> None:
    """The plan takes it in."""
    page = walk.page
    walk.choose("Schedule")
    walk.look("schedule-before")
    walk.press("Plan again")
    accept = page.get_by_role("button", name="Put this plan on the wall")
    expect(accept).to_be_visible(timeout=90_000)
    verdict = page.locator(".verdict").inner_text()
    assert re.match(r"(Saves|Costs) [^-−]+; ", verdict), verdict
    walk.look("plan")
    accept.click()
    page.wait_for_url(re.compile(r"/office/schedule$"))
    expect(page.locator(f".bar[data-job='{number}']").first).to_be_attached()
    expect(page.locator("main table a", has_text=number).first).to_be_visible()
    walk.look("schedule")


def set_up(walk: Walk, number: str) -> int:
    """It is found on the brake side, set up point by point, and keyed in."""
    page = walk.watched.open("/brake")
    walk.look("queue")
    page.locator("#code").fill(number.lower())
    walk.press("Open")
    page.wait_for_url(re.compile(r"/brake/run/\d+"))
    walk.look("not-set-up")
    page.get_by_role("link", name="Set up", exact=True).click()
    page.locator("#who").fill("Ann")
    walk.press("That is me")
    expect(page.locator("#who")).to_have_count(0)
    walk.look("set-up")
    walk.press("Measure")
    walk.look("edges")
    keys(page, "#edges", "2.04")
    walk.press("Keep these readings")
    ticked(page, "Measure the sheet")
    walk.press("Touch off")
    walk.look("touch-off")
    keys(page, "#touch-off", "71.3")
    walk.press("Keep this touch-off")
    ticked(page, "Touch off on the job")
    walk.choose("Key in")
    walk.look("key-in")
    for tick in page.locator(".key label.tick").all():
        tick.click()
    walk.press("Compare")
    expect(page.locator(".verdict.good")).to_be_visible()
    walk.look("read-back")
    walk.choose("Back to the set-up")
    done = page.locator(".do-it:enabled", has_text="✔ Done")
    while (left := done.count()) > 0:
        done.first.click()
        expect(done).not_to_have_count(left)
    walk.look("all-ticked")
    walk.press("Sign as Ann, first part")
    page.wait_for_url(re.compile(r"/brake/run/\d+$"))
    return int(page.url.rsplit("/", 1)[1])


def ticked(page: Page, words: str) -> None:
    """The list has that point done."""
    expect(page.locator(".tick-line.done", has_text=words)).to_be_visible()


def keys(page: Page, panel: str, digits: str) -> None:
    """On our own keypad."""
    for digit in digits:
        page.locator(f"{panel} [data-key='{digit}']").click()


def bent(walk: Walk) -> None:
    """The first part is measured, corrected and signed; then all the others."""
    page = walk.page
    expect(page.locator("#line-state")).to_have_attribute("data-state", "live")
    walk.look("step")
    wanted = float(page.locator("main.run:visible").get_attribute("data-wanted") or 0)
    walk.press("Measure")
    page.locator("#measure .pick", has_text="bend angle").click()
    keys(page, "#measure", f"{wanted - 2:g}")
    walk.press("Keep this measurement")
    expect(page.locator("#trial-answer")).to_contain_text("not bent far enough")
    walk.look("corrected")
    walk.press("Key the learned Y")
    walk.press("Measure")
    page.locator("#measure .pick", has_text="bend angle").click()
    page.locator("#trial-angle").fill(f"{wanted:g}")
    walk.press("Keep this measurement")
    expect(page.locator("#trial-answer .verdict.good")).to_be_visible()
    walk.look("good")
    page.locator("#measure [data-closes]").first.click()
    for part in range(1, QUANTITY + 1):
        while page.locator("#next").is_visible():
            page.wait_for_timeout(SETTLED)
            page.locator("#next").click()
        if part == 1:
            walk.press("✔ First part")
            expect(page.locator("#first-part-lines")).not_to_be_empty()
            walk.look("first-part")
            page.wait_for_timeout(SETTLED)
            page.locator("#sign-first").click()
        else:
            walk.press("✔ Part done")
        if part < QUANTITY:
            expect(page.locator("#part-now")).to_have_text(str(part + 1))
    walk.look("finish")
    walk.press("Finish")
    page.wait_for_url("**/end")
    expect(page.locator(".tallies")).to_contain_text(f"{QUANTITY} good of {QUANTITY}")
    walk.look("end")


def gone_and_repeated(walk: Walk, number: str) -> str:
    """The office sends it off, a price moves, and the customer asks for the same again."""
    page = walk.watched.open(f"/office/job/{number}")
    for bookkeeping in ("made with", "moved at", "{"):
        expect(page.locator(".history")).not_to_contain_text(bookkeeping)
    walk.look("made")
    page.locator(".way button[value=gone]").click()
    expect(page.locator(".marks")).to_contain_text("gone")
    dearer_sheet(walk)
    walk.watched.open(f"/office/job/{number}")
    walk.press("Repeat")
    expect(page.locator("#again")).to_contain_text("The material costs 100.0\u202f% more than then")
    expect(page.locator("#again")).to_contain_text("It will need a new price")
    walk.look("again")
    page.locator("#again-due").fill("+30 days")
    walk.press("Make the new enquiry")
    expect(page.locator("dl.facts a", has_text=number)).to_be_visible()
    walk.look("repeat")
    return page.locator("h1").inner_text().split()[0]


def dearer_sheet(walk: Walk) -> None:
    """A delivery at twice the price of the one before (1.16 in the demo's stock)."""
    page = walk.watched.open("/office/stock/receive")
    page.locator("#lot").fill("L-900")
    page.locator("#material_code").select_option("DC01")
    for name, typed in {
        "thickness": "2",
        "sheet_width": "1250",
        "sheet_length": "2500",
        "sheets_count": "5",
        "price_per_kg": "2.32",
    }.items():
        page.locator(f"#{name}").fill(typed)
    walk.press("Receive")
    expect(page.locator("h1")).to_contain_text("L-900")
