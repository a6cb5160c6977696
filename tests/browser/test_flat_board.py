"""A box in a real browser: typed, turned, folded, released, planned, its steps seen."""

import re

from playwright.sync_api import expect

from tests.browser.conftest import Watched


def test_a_box_is_typed_released_planned_and_its_steps_are_seen(watched: Watched) -> None:
    page = watched.open("/office/part")
    page.get_by_role("button", name="Draw a part").click()
    page.get_by_role("button", name="Box", exact=True).click()
    board = page.locator("#board")
    page.locator("#width").fill("160")
    page.locator("#depth").fill("100")
    page.locator("#height_1").fill("30")
    page.keyboard.press("Enter")
    expect(page.locator("#folded")).to_contain_text("160.00 × 100.00 × 30.00")
    expect(board.locator("svg.pattern")).to_be_visible()

    view = page.locator("figure.fold canvas")
    before = view.evaluate("canvas => canvas.toDataURL()")
    view.focus()
    page.keyboard.press("ArrowLeft")
    page.wait_for_timeout(120)
    assert view.evaluate("canvas => canvas.toDataURL()") != before  # it turned
    page.locator("#fold-board-place").fill("0")
    expect(page.locator(".fold-state")).to_have_text("flat")

    page.get_by_role("button", name="+ Round hole").click()
    expect(page.locator("#cut_1_u")).to_have_value("80")
    page.locator("#canvas").scroll_into_view_if_needed()
    handle = page.locator(".pull-cut").bounding_box()
    assert handle is not None
    middle = (handle["x"] + handle["width"] / 2, handle["y"] + handle["height"] / 2)
    page.mouse.move(*middle)
    page.mouse.down()
    page.mouse.move(middle[0] + 40, middle[1], steps=4)
    page.mouse.up()
    expect(page.locator("#cut_1_u")).not_to_have_value("80")

    page.locator("#cut_1_u").fill("0")
    page.keyboard.press("Tab")
    expect(page.locator("#cut_1_u-problem")).to_contain_text("does not lie in the base")
    expect(page.locator("#cut_1_u")).to_have_value("0")
    watched.said.clear()  # the browser itself notes the 422
    page.locator("#cut_1_u").fill("80")
    page.keyboard.press("Tab")
    expect(page.locator("#cut_1_u-problem")).to_have_count(0)

    page.locator("#number").fill("BX-160")
    page.get_by_role("button", name="Save as revision").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("BX-160")
    expect(page.locator("figure.fold canvas")).to_be_visible()
    page.get_by_role("button", name="Plan the bends").click()
    page.wait_for_url(re.compile(r"/office/sequence/\d+"), timeout=30_000)
    expect(page.locator("li.step")).to_have_count(4)
