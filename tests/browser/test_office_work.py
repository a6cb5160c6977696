"""Work in the office with a real browser: what follows while typing, by mouse and by keyboard."""

import re

import pytest
from playwright.sync_api import Browser, Dialog, expect

from tests.browser.conftest import Watched


def test_the_drawing_follows_the_typed_outline_and_the_caret_stays(watched: Watched) -> None:
    page = watched.open("/office/punch/P2-GOOSE")
    outline = page.locator("#profile")
    outline.focus()
    page.keyboard.press("Control+End")
    with page.expect_response("**/office/punch/shape"):
        page.keyboard.type("; -3 2")
    expect(page.locator("#profile-problem")).to_contain_text("crosses")
    assert page.evaluate("document.activeElement.id") == "profile"
    assert page.evaluate("document.activeElement.selectionStart") == len(outline.input_value())
    with page.expect_response("**/office/punch/shape"):
        for _ in range(len("; -3 2")):
            page.keyboard.press("Backspace")
    expect(page.locator("#profile-problem")).to_have_count(0)
    expect(page.locator("#shape svg.tool")).to_be_visible()


def test_a_new_punch_is_drawn_from_numbers_and_saved(watched: Watched) -> None:
    page = watched.open("/office/punch/new")
    page.get_by_label("Code").fill("P7")
    page.get_by_label("Name").fill("Drawn punch")
    page.get_by_label("Load rating").fill("800")
    page.locator("#tip_radius").fill("1")
    with page.expect_response("**/office/punch/shape"):
        page.locator("#height").fill("120")
    page.get_by_role("button", name="Straight punch").click()
    expect(page.locator("#profile")).to_have_value(re.compile(r"^0 0; .*13 120"))
    page.get_by_label("Pieces", exact=False).last.fill("500x2; 100x3")
    page.get_by_role("button", name="Save").click()
    expect(page.locator("#problem")).to_contain_text("Saved")
    expect(page.get_by_role("heading", level=1)).to_have_text("P7")
    expect(page.locator(".history")).to_contain_text("added")


def test_the_controls_numbers_follow_its_unit_while_the_page_is_open(watched: Watched) -> None:
    page = watched.open("/office/brake/BRAKE-1")
    page.locator("#finger_high").fill("30")
    with page.expect_response("**/office/brake/control"):
        page.locator("#control_unit").select_option("in")
    expect(page.locator("#x_most")).to_have_value("23.62205")
    expect(page.locator("#finger_high")).to_have_value("30")
    with page.expect_response("**/office/brake/control"):
        page.locator("#y_sense").select_option("-1")
    expect(page.locator("#control")).to_contain_text("the smaller the Y")
    page.get_by_role("button", name="Save").click()
    expect(page.locator("#problem")).to_contain_text("Saved")
    expect(page.locator("#x_most")).to_have_value("23.62205")


def test_the_60_percent_rule_comes_and_goes_with_the_line_load(watched: Watched) -> None:
    page = watched.open("/office/brake/BRAKE-1")
    with page.expect_response("**/office/brake/plate"):
        page.locator("#line_load").fill("")
    expect(page.locator("#plate")).to_contain_text("the 60 % rule holds")
    expect(page.locator("#plate")).to_contain_text("609")
    with page.expect_response("**/office/brake/plate"):
        page.locator("#line_load").fill("500")
    expect(page.locator("#plate")).to_contain_text("line load holds")


def test_a_measured_lot_is_judged_while_it_is_typed(watched: Watched) -> None:
    page = watched.open("/office/lot/new")
    page.locator("#material_code").select_option("S235JR")
    page.locator("#thickness").fill("16 ga")
    for edge, reading in enumerate(("1.26", "1.27", "1.28", "1.27"), start=1):
        page.locator(f"#edge_{edge}").fill(reading)
    measure = page.locator("#measure")
    expect(measure).to_contain_text("1.519")  # 0.0598 in, understood from '16 ga'
    expect(measure).to_contain_text("1.270")
    expect(measure).to_contain_text("Measure again")


def test_the_unit_is_switched_with_one_press(watched: Watched) -> None:
    page = watched.open("/office/die/D16")
    page.get_by_role("button", name="in", exact=True).click()
    expect(page.locator("#v_opening")).to_have_value("0.62992")
    expect(page.get_by_role("button", name="in", exact=True)).to_have_attribute(
        "aria-pressed", "true"
    )
    page.get_by_role("button", name="mm", exact=True).click()
    expect(page.locator("#v_opening")).to_have_value("16")


def test_two_people_on_one_tool_see_each_other(
    watched: Watched, chromium: Browser, address: str
) -> None:
    page = watched.open("/office/die/D16")
    with chromium.new_context() as other:
        theirs = other.new_page()
        theirs.goto(f"{address}/office/die/D16")
        theirs.locator("#rating").fill("950")
        theirs.get_by_role("button", name="Save").click()
        expect(theirs.locator("#problem")).to_contain_text("Saved")
    page.locator("#rating").fill("900")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_text("two people changed this")).to_be_visible()
    expect(page.locator("#rating")).to_have_value("900")
    page.get_by_role("button", name="Save mine over it").click()
    expect(page.locator("#problem")).to_contain_text("Saved")
    expect(page.locator("#rating")).to_have_value("900")
    watched.said.clear()  # the browser itself notes the 409


def test_a_change_is_put_back_with_one_press(watched: Watched) -> None:
    page = watched.open("/office/setting")
    page.locator("#stroke_s").fill("9")
    page.get_by_role("button", name="Save").click()
    expect(page.locator(".history")).to_contain_text("stroke")
    page.get_by_role("button", name="Put back").click()
    expect(page.locator("#stroke_s")).to_have_value("6")


def test_a_holder_is_added_with_the_keyboard_alone(watched: Watched) -> None:
    page = watched.open("/office/tool")
    page.keyboard.press("Tab")
    expect(page.locator(".skip")).to_be_focused()
    page.keyboard.press("Enter")
    for _ in range(80):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.textContent") == "Add a holder":
            break
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("New holder")
    typed = {"code": "H7", "name": "Keyed in", "rating": "700", "height": "50"}
    for _ in range(80):
        page.keyboard.press("Tab")
        name = page.evaluate("document.activeElement.name || ''")
        if name in typed:
            page.keyboard.type(typed.pop(name))
        elif name == "profile":
            page.keyboard.type("-20 0; 20 0; 20 50; -20 50")
        elif page.evaluate("document.activeElement.textContent") == "Save":
            break
    assert typed == {}
    page.keyboard.press("Enter")
    expect(page.locator("#problem")).to_contain_text("Saved")
    expect(page.get_by_role("heading", level=1)).to_have_text("H7")


def test_focus_is_always_visible(watched: Watched) -> None:
    page = watched.open("/office/material/S235JR")
    for _ in range(30):
        page.keyboard.press("Tab")
        outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
        assert outline != "none", page.evaluate("document.activeElement.outerHTML")


@pytest.mark.parametrize("path", ["/office/tool", "/office/brake/BRAKE-1"])
def test_a_page_works_without_its_scripts(chromium: Browser, address: str, path: str) -> None:
    with chromium.new_context(java_script_enabled=False) as context:
        page = context.new_page()
        page.goto(f"{address}{path}")
        expect(page.get_by_role("heading", level=1)).to_be_visible()
        if path.endswith("BRAKE-1"):
            page.locator("#name").fill("Renamed")
            page.get_by_role("button", name="Save").click()
            expect(page.locator("#problem")).to_contain_text("Saved")
            expect(page.locator("#name")).to_have_value("Renamed")


def test_leaving_a_typed_form_asks_first_and_saving_does_not(watched: Watched) -> None:
    page = watched.open("/office/material/S235JR")
    asked: list[str] = []

    def stay(dialog: Dialog) -> None:
        asked.append(dialog.type)
        dialog.dismiss()

    page.on("dialog", stay)
    page.locator("#name").fill("Typed and not kept")
    page.get_by_role("button", name="in", exact=True).click()
    page.wait_for_timeout(300)
    assert asked == ["beforeunload"]
    expect(page.locator("#name")).to_have_value("Typed and not kept")
    page.get_by_role("button", name="Save").click()
    expect(page.locator("#problem")).to_contain_text("Saved")
    assert asked == ["beforeunload"]
