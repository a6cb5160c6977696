"""Setting up, keying in, learning, care and practice in a real browser, by touch alone."""

from collections.abc import Iterator
from functools import partialmethod

import pytest
from playwright.sync_api import Browser, expect

from server.web.practice import Practices
from tests.browser.conftest import OFFICE, TABLET, WATCH, Watched
from tests.browser.test_every_page import is_wider_than_its_window, serious, too_small

PAGES = (
    "/brake/run/9/setup",
    "/brake/run/9/key-in",
    "/brake/memory",
    "/brake/help?looked=power",
    "/brake/care",
    "/brake/coupon",
    "/brake/coupon/new",
    "/office/learned",
    "/office/learned/1",
    "/office/brake/BRAKE-1/care",
)


@pytest.mark.parametrize("size", [OFFICE, TABLET], ids=["wide", "tall"])
def test_every_page_here_is_whole_and_readable(watched: Watched, size: dict[str, int]) -> None:
    watched.page.set_viewport_size(size)  # type: ignore[arg-type]
    trouble = []
    for path in PAGES:
        watched.open(path)
        watched.is_well()
        if is_wider_than_its_window(watched):
            trouble.append(f"{path} is wider than its window")
        trouble += [f"{path} {one}" for one in (*too_small(watched), *serious(watched))]
    assert trouble == []


@pytest.fixture
def tablet(chromium: Browser, address: str) -> Iterator[Watched]:
    """A tablet that is touched; whatever goes wrong on it fails the test."""
    context = chromium.new_context(viewport=TABLET, has_touch=True)  # type: ignore[arg-type]
    context.add_init_script(WATCH)
    context.set_default_timeout(10_000)
    window = Watched(context.new_page(), address)
    window.watch()
    yield window
    window.is_well()
    context.close()


def test_a_new_hand_practises_from_the_queue_to_a_corrected_bend(
    tablet: Watched, monkeypatch: pytest.MonkeyPatch
) -> None:
    seeded = partialmethod(Practices.begin, seed="a day like others")
    monkeypatch.setattr(Practices, "begin", seeded)
    page = tablet.page
    tablet.open("/brake")
    page.get_by_role("button", name="Practise").tap()
    page.wait_for_url("**/practice/*/brake")
    page.locator("#code").fill("J-1041")
    page.get_by_role("button", name="Open", exact=True).tap()
    page.wait_for_url("**/run/*")
    run = page.url.split("/setup")[0]
    page.goto(f"{run}/setup")
    page.locator("#who").fill("Kim")
    page.get_by_role("button", name="That is me").tap()
    for panel, done in (("edges", "Measure the sheet"), ("touch-off", "Touch off on the job")):
        page.locator(f"[data-opens={panel}]").tap()
        page.locator(f"#{panel} .simulate").tap()
        page.locator(f"#{panel} .simulated", has_text="Read off").wait_for()
        page.locator(f"#{panel} .typing .main-target").tap()
        page.locator(".tick-line.done", has_text=done).wait_for()
    undone = page.locator(".tick-line form .do-it:not(.second)")
    while left := undone.count():
        undone.first.tap()
        page.wait_for_function(
            "left => document.querySelectorAll('.tick-line form .do-it:not(.second)').length < left",
            arg=left,
        )
    page.get_by_role("button", name="Sign as Kim").tap()
    page.wait_for_url(run)
    page.locator("#measure-step").tap()
    page.locator("#trial-form .simulate").tap()
    page.locator(".simulated", has_text="bent it to").wait_for()
    page.locator("#trial-form .typing .main-target").tap()
    page.get_by_role("button", name="Key the learned Y").wait_for()
    tablet.is_well()
    page.goto(run.split("/run/")[0])
    page.get_by_role("button", name="Leave practice").tap()
    page.wait_for_url(f"{tablet.address}/brake")


def test_what_one_tablet_ticks_another_sees_without_loading(
    watched: Watched, tablet: Watched
) -> None:
    other = watched.open("/brake")
    other.get_by_role("button", name="J-1044").click()
    run = other.url.rstrip("/")
    other.goto(f"{run}/setup")
    expect(other.locator("#line-word")).to_have_text("live")
    ticking = tablet.page
    ticking.goto(f"{run}/setup")
    ticking.locator("#who").fill("Kim")
    ticking.get_by_role("button", name="That is me").tap()
    ticking.locator(".do-it:enabled", has_text="✔ Done").first.tap()
    expect(other.locator(".tick-line.done")).to_have_count(1)
    expect(other.locator(".tick-line.done")).to_contain_text("Kim")
    other.goto(f"{run}/key-in")
    expect(other.locator("#line-word")).to_have_text("live")

    def touch_off(reading: str) -> None:
        ticking.goto(f"{run}/setup")
        ticking.locator("[data-opens=touch-off]").tap()
        ticking.locator("#reading").fill(reading)
        ticking.locator("#touch-off .typing .main-target").tap()
        ticking.locator(".tick-line.done", has_text="Touch off on the job").wait_for()

    touch_off("71.3")
    expect(other.locator(".datum")).to_contain_text("71.30")
    digits = other.locator(".key .digits").all_inner_texts()
    other.locator(".key label.tick").first.click()  # half read: nothing moves under the hand
    touch_off("72.3")
    expect(other.locator("#older")).to_be_visible()
    assert other.locator(".key .digits").all_inner_texts() == digits
    assert not is_wider_than_its_window(watched)
    assert serious(watched) == []
    other.get_by_role("link", name="Show what holds now").click()
    expect(other.locator(".datum")).to_contain_text("72.30")
