"""A real Chromium on a real server: what only a browser can tell."""

import os
import shutil
import threading
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import pytest
import uvicorn
from fastapi import FastAPI
from playwright.sync_api import Browser, Page, Request, sync_playwright

BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome")
QUIET = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
)
OFFICE, TABLET = {"width": 1280, "height": 800}, {"width": 800, "height": 1280}
WATCH = """
window.blocked = [];
document.addEventListener("securitypolicyviolation", event => {
  window.blocked.push(`${event.violatedDirective} ${event.blockedURI} ${event.sourceFile || ""}`);
});
"""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Everything in this folder drives a browser."""
    for item in items:
        if "tests/browser/" in item.nodeid:
            item.add_marker(pytest.mark.browser)


def browser_path() -> str:
    """Where this machine's Chromium is, empty without one."""
    return os.environ.get("BENDWRIGHT_BROWSER") or next(
        (found for name in BROWSERS if (found := shutil.which(name))), ""
    )


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    """The browser of this machine. Where everything has to pass, a missing one fails."""
    path = browser_path()
    if not path:
        told = "NO BROWSER: set BENDWRIGHT_BROWSER to a Chromium, or install one"
        if os.environ.get("CI"):
            pytest.fail(told)
        pytest.skip(told)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=list(QUIET))
        yield browser
        browser.close()


@pytest.fixture
def address(app: FastAPI) -> Iterator[str]:
    """The application served on a free port, from a thread."""
    config = uvicorn.Config(app, host="127.0.0.1", port=0, log_level="error", lifespan="off")
    server = uvicorn.Server(config)
    listening = config.bind_socket()
    listening.listen()
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{listening.getsockname()[1]}"
    server.should_exit = True
    thread.join(timeout=10)
    listening.close()


@dataclass
class Watched:
    """A page, and everything that went wrong on it."""

    page: Page
    address: str
    said: list[str] = field(default_factory=list)
    foreign: list[str] = field(default_factory=list)

    def open(self, path: str) -> Page:
        """Go to an address of our server and wait until it has loaded."""
        self.page.goto(f"{self.address}{path}", wait_until="load")
        return self.page

    def blocked(self) -> list[str]:
        """What the security policy had to stop."""
        found: list[str] = self.page.evaluate("window.blocked")
        return found

    def watch(self) -> None:
        """Listen to the console, to errors and to every request."""

        def told(message: Any) -> None:
            if message.type in ("error", "warning"):
                self.said.append(f"{message.text} {message.location}")

        def asked(request: Request) -> None:
            if not request.url.startswith((self.address, "data:", "blob:")):
                self.foreign.append(request.url)

        self.page.on("console", told)
        self.page.on("pageerror", lambda error: self.said.append(str(error)))
        self.page.on("request", asked)

    def is_well(self) -> None:
        """Nothing complained, nothing was blocked, nothing came from outside."""
        assert self.blocked() == []
        assert self.said == []
        assert self.foreign == []


@pytest.fixture
def watched(chromium: Browser, address: str) -> Iterator[Watched]:
    """A fresh office window; whatever goes wrong on it fails the test."""
    context = chromium.new_context(viewport=OFFICE)  # type: ignore[arg-type]
    context.add_init_script(WATCH)
    context.set_default_timeout(10_000)
    window = Watched(context.new_page(), address)
    window.watch()
    yield window
    window.is_well()
    context.close()
