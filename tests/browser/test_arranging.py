"""Arranging steps with a real browser: dragged, explained, taken back; by keyboard too; two tabs."""

import re

from playwright.sync_api import Browser, Page, expect

from tests.browser.conftest import Watched

HAT = "/office/sequence/3"
PATIENT_MS = 30_000
"""The first check waits for the planner's process to start."""


def drag(page: Page, origin: int, target: int) -> None:
    """Take a step by its grip to the middle of another one."""
    steps = page.locator("#steps > .step")
    steps.nth(origin - 1).scroll_into_view_if_needed()
    grip = steps.nth(origin - 1).locator("[data-grip]").bounding_box()
    goal = steps.nth(target - 1).bounding_box()
    assert grip is not None
    assert goal is not None
    page.mouse.move(grip["x"] + 12, grip["y"] + 12)
    page.mouse.down()
    page.mouse.move(goal["x"] + goal["width"] / 2, goal["y"] + goal["height"] / 2, steps=6)
    expect(steps.nth(origin - 1)).to_have_class(re.compile("held"))
    with page.expect_response("**/order"):
        page.mouse.up()


def first_bends(page: Page) -> list[str]:
    return re.findall(r"Bend (\d)", " ".join(page.locator("#steps > .step h2").all_inner_texts()))


def test_a_dragged_step_is_explained_and_taken_back(watched: Watched) -> None:
    watched.page.set_viewport_size({"width": 1280, "height": 1600})
    watched.page.set_default_timeout(PATIENT_MS)
    page = watched.open(HAT)
    assert first_bends(page) == ["4", "3", "1", "2"]
    drag(page, 1, 2)
    expect(page.locator(".bar .state")).to_contain_text("1 step is blocked")
    assert first_bends(page) == ["3", "4", "1", "2"]
    blocked = page.locator("#steps > .step.blocked")
    expect(blocked).to_contain_text("meets the bed by")
    expect(blocked).to_contain_text("Use a taller die, or bend in another order.")
    expect(blocked.locator("svg.close")).to_be_visible()
    expect(page.get_by_role("button", name="Keep this order")).to_be_disabled()
    page.reload()
    assert first_bends(page) == ["3", "4", "1", "2"]
    page.get_by_role("link", name="Back to what is kept").click()
    drag(page, 1, 2)
    with page.expect_response("**/order"):
        page.keyboard.press("Control+z")
    expect(page.locator(".bar .state")).to_contain_text("proven best")
    assert first_bends(page) == ["4", "3", "1", "2"]


def test_a_step_is_moved_with_the_keyboard_and_keeps_the_focus(watched: Watched) -> None:
    watched.page.set_default_timeout(PATIENT_MS)
    page = watched.open(HAT)
    page.get_by_role("button", name="Move step 3 later").focus()
    with page.expect_response("**/order"):
        page.keyboard.press("Enter")
    expect(page.get_by_role("button", name="Move step 4 earlier")).to_be_focused()
    assert first_bends(page) == ["4", "3", "2", "1"]


def test_the_second_tab_is_told_and_keeps_its_own_beside(
    watched: Watched, chromium: Browser, address: str
) -> None:
    page = watched.open(f"{HAT}?order=0::,1::,3::,2::")
    with chromium.new_context() as other:
        theirs = other.new_page()
        theirs.goto(f"{address}{HAT}?order=0::,1::,3::,2::")
        theirs.get_by_role("button", name="Keep this order").click()
        expect(theirs.get_by_role("heading", level=1)).to_contain_text(
            "Bend sequence 2", timeout=PATIENT_MS
        )
    page.get_by_role("button", name="Keep this order").click()
    expect(page.locator("#strip")).to_contain_text(
        "kept another order meanwhile, as sequence 2", timeout=PATIENT_MS
    )
    assert first_bends(page) == ["1", "2", "4", "3"]
    watched.said.clear()  # the browser itself notes the 409
    page.get_by_role("button", name="Keep mine beside it").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text(
        "Bend sequence 3", timeout=PATIENT_MS
    )
