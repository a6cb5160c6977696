"""The plan with a real browser: drag a bar to pin it, see what it costs, put it on the wall."""

import re

from playwright.sync_api import expect

from tests.browser.conftest import Watched


def test_a_bar_is_dragged_compared_accepted_and_the_late_list_seen(watched: Watched) -> None:
    page = watched.open("/office/schedule")
    bar = page.locator('.bar[data-job="J-1047"]').nth(1)
    bar.evaluate("bar => bar.scrollIntoView({ block: 'center', inline: 'center' })")
    box = bar.bounding_box()
    assert box
    x, y = box["x"] + box["width"] * 0.6, box["y"] + box["height"] * 0.6
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 60, y, steps=3)
    page.mouse.move(x + 130, y, steps=3)
    page.mouse.up()
    page.wait_for_url(re.compile(r"/office/schedule/\d+"))
    accept = page.get_by_role("button", name="Put this plan on the wall")
    expect(accept).to_be_visible(timeout=30_000)
    expect(page.locator(".bar.pinned[data-job='J-1047']")).to_have_count(1)
    accept.click()
    page.wait_for_url(re.compile(r"/office/schedule$"))
    expect(page.locator(".bar.pinned[data-job='J-1047']")).to_have_count(1)
    expect(page.get_by_role("heading", name="Late", exact=True)).to_be_visible()
    bar = page.locator('.bar[data-job="J-1044"]').last
    bar.locator(".hold").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#task")).to_contain_text("J-1044")
    bar.locator(".hold").focus()
    page.keyboard.press("ArrowRight")
    expect(page.locator("#drag-told")).to_contain_text("BRAKE-1")
    page.keyboard.press("Escape")
    expect(page.locator(".bar.dragged")).to_have_count(0)
