"""Every page: readable by everyone (axe), whole at each size, and quiet under the security policy."""

from pathlib import Path
from typing import Any

import pytest

from tests.browser.conftest import OFFICE, TABLET, Watched

AXE = (Path(__file__).parent / "vendor" / "axe.min.js").read_text(encoding="utf-8")
PAGES = (
    "/",
    "/nowhere",
    "/office/tool",
    "/office/punch/P2-GOOSE",
    "/office/punch/P5-SLIM",
    "/office/punch/new",
    "/office/die/D16",
    "/office/die/new",
    "/office/holder/H1",
    "/office/holder/new",
    "/office/brake",
    "/office/brake/BRAKE-1",
    "/office/brake/new",
    "/office/job",
    "/office/job?view=list",
    "/office/job/J-1041",
    "/office/job/J-1041/edit",
    "/office/order/new",
    "/office/order/O-990",
    "/office/customer",
    "/office/customer/NORTHGATE",
    "/office/schedule",
    "/office/schedule/hours",
    "/office/stock",
    "/office/stock/lot/L-301",
    "/office/stock/receive",
    "/office/cut",
    "/office/lot",
    "/office/lot/new?material=S235JR",
    "/office/material",
    "/office/material/S235JR",
    "/office/material/new",
    "/office/setting",
    "/office/rate",
    "/office/rate/sheet-price",
    "/office/quote",
    "/office/quote/Q-1024",
    "/office/quote/Q-1025",
    "/office/number",
    "/office/table",
    "/office/sequence/3",
    "/office/sequence/3?order=2::,3::,0::,1::",
    "/office/sequence/3/sheet?thickness=2.1",
    "/office/sequence/3/print",
    "/office/planning/new?part=HR-3005&revision=A",
    "/office/worth",
)
LEAST_TARGET_PX = 44
# a Why? stands in a line of text, beside its number; ticks and rounds stand in a tall label
TARGETS = "button:not(.why), .button, input:not([type=hidden]):not([type=checkbox]):not([type=radio]), select, summary"


def serious(watched: Watched) -> list[str]:
    """What axe-core calls serious or critical."""
    watched.page.evaluate(AXE)
    found: dict[str, Any] = watched.page.evaluate(
        "axe.run(document, {resultTypes: ['violations']})"
    )
    return [
        f"{violation['id']}: {node['html'][:160]} {node['failureSummary']}"
        for violation in found["violations"]
        if violation["impact"] in ("serious", "critical")
        for node in violation["nodes"]
    ]


def is_wider_than_its_window(watched: Watched) -> bool:
    return bool(
        watched.page.evaluate(
            "document.documentElement.scrollWidth > document.documentElement.clientWidth"
        )
    )


def too_small(watched: Watched) -> list[str]:
    found: list[str] = watched.page.evaluate(
        """([targets, least]) => [...document.querySelectorAll(targets)]
          .filter(one => one.checkVisibility() && one.getBoundingClientRect().height < least - 0.5)
          .map(one => `${one.outerHTML.slice(0, 80)} ${one.getBoundingClientRect().height}`)""",
        [TARGETS, LEAST_TARGET_PX],
    )
    return found


def out_of_line(watched: Watched) -> list[str]:
    """Fields that start side by side but whose inputs do not stand on one line."""
    found: list[str] = watched.page.evaluate(
        """() => [...document.querySelectorAll(".fields")].flatMap(row => {
          const tops = new Map();
          for (const field of row.querySelectorAll(":scope > .field")) {
            const input = field.querySelector("input:not([type=checkbox]), select");
            if (!input || !input.checkVisibility()) continue;
            const key = Math.round(field.getBoundingClientRect().top);
            if (!tops.has(key)) tops.set(key, []);
            tops.get(key).push([input.name, Math.round(input.getBoundingClientRect().top)]);
          }
          return [...tops.values()]
            .filter(line => new Set(line.map(([, top]) => top)).size > 1)
            .map(line => line.join(" "));
        })"""
    )
    return found


@pytest.mark.parametrize("size", [OFFICE, TABLET], ids=["office", "tablet"])
@pytest.mark.parametrize("path", PAGES)
def test_a_page_is_whole_and_readable(watched: Watched, path: str, size: dict[str, int]) -> None:
    watched.page.set_viewport_size(size)  # type: ignore[arg-type]
    watched.open(path)
    if path == "/nowhere":
        watched.said.clear()  # the browser itself notes the 404
    watched.is_well()
    assert not is_wider_than_its_window(watched)
    assert too_small(watched) == []
    assert out_of_line(watched) == []
    assert serious(watched) == []


@pytest.mark.parametrize("size", [OFFICE, TABLET], ids=["office", "tablet"])
def test_a_form_full_of_problems_is_whole_and_readable_too(
    watched: Watched, size: dict[str, int]
) -> None:
    watched.page.set_viewport_size(size)  # type: ignore[arg-type]
    watched.open("/office/brake/new").get_by_role("button", name="Save").click()
    watched.page.wait_for_load_state("load")
    assert watched.page.locator(".problem").count() > 15
    watched.said.clear()  # the browser itself notes the 422
    assert not is_wider_than_its_window(watched)
    assert out_of_line(watched) == []
    assert serious(watched) == []


def test_the_checks_find_what_they_look_for(watched: Watched) -> None:
    """The test of the tests: a page with faults has them found."""
    watched.open("/office/material/new")
    watched.page.evaluate(
        """() => {
          document.querySelector("main").insertAdjacentHTML("beforeend",
            "<img src='/static/icon/mark.svg'><input id='bare'><button class='tiny'>x</button>");
          Object.assign(document.querySelector("main > .tiny").style,
            {minHeight: "0", height: "20px", padding: "0"});
          document.querySelector("h1").textContent = "x".repeat(400);
        }"""
    )
    assert any(fault.startswith("image-alt") for fault in serious(watched))
    assert any(fault.startswith("label") for fault in serious(watched))
    assert too_small(watched) != []
    assert is_wider_than_its_window(watched)
    watched.page.evaluate("document.querySelector('main').setAttribute('style', 'color: red')")
    assert watched.blocked() != []
    watched.page.evaluate("window.blocked = []")
    watched.said.clear()
