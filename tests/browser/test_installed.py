"""The installed app: over https with the shop's own certificate it opens without a network."""

import base64
import hashlib
import threading
from collections.abc import Iterator
from datetime import UTC, datetime
from ipaddress import ip_address
from pathlib import Path
from typing import Any

import pytest
import uvicorn
from cryptography import x509
from cryptography.hazmat.primitives import serialization
from fastapi import FastAPI
from playwright.sync_api import Browser, expect

from server.files.authority import Certificates, write_certificates
from tests.browser.conftest import OFFICE, QUIET, browser_path
from tests.browser.test_brake_side import a_part, begun, is_live, is_sent, run_of


@pytest.fixture
def certificates(tmp_path: Path) -> Certificates:
    return write_certificates(
        tmp_path / "tls",
        names=["localhost"],
        addresses=[ip_address("127.0.0.1")],
        now=datetime.now(UTC),
    )


@pytest.fixture
def secure_address(app: FastAPI, certificates: Certificates) -> Iterator[str]:
    """The application over https on a free port, from a thread."""
    config = uvicorn.Config(
        app,
        host="127.0.0.1",
        port=0,
        log_level="error",
        lifespan="off",
        ssl_certfile=certificates.server,
        ssl_keyfile=certificates.server_key,
    )
    server = uvicorn.Server(config)
    listening = config.bind_socket()
    listening.listen()
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    yield f"https://127.0.0.1:{listening.getsockname()[1]}"
    server.should_exit = True
    thread.join(timeout=10)
    listening.close()


@pytest.fixture
def trusting(chromium: Browser, certificates: Certificates) -> Iterator[Browser]:
    """A browser that trusts this one server's key, as a tablet does after trusting the authority."""
    made = x509.load_pem_x509_certificate(certificates.server.read_bytes())
    key = made.public_key().public_bytes(
        serialization.Encoding.DER, serialization.PublicFormat.SubjectPublicKeyInfo
    )
    mark = base64.b64encode(hashlib.sha256(key).digest()).decode()
    browser = chromium.browser_type.launch(
        executable_path=browser_path(),
        args=[*QUIET, f"--ignore-certificate-errors-spki-list={mark}"],
    )
    yield browser
    browser.close()


def test_an_installed_page_opens_without_a_network_and_sends_later(
    trusting: Browser, secure_address: str, shop: Any
) -> None:
    run_id = begun(shop, quantity=9)
    context = trusting.new_context(viewport=OFFICE, has_touch=True)  # type: ignore[arg-type]
    page = context.new_page()
    page.goto(f"{secure_address}/brake")
    page.evaluate("navigator.serviceWorker.ready")
    for _ in range(2):  # opened once since the worker stands
        page.goto(f"{secure_address}/brake/run/{run_id}")
        is_live(page)
    context.set_offline(True)
    page.reload()
    expect(page.locator("main.run:visible [data-axis=y]")).to_be_visible()
    a_part(page)
    expect(page.locator("#part-now")).to_have_text("2")
    page.reload()  # what was counted is still here
    expect(page.locator("#part-now")).to_have_text("2")
    page.evaluate("IDBObjectStore.prototype.put = () => ({})")  # a store that is never done
    a_part(page)
    page.reload()
    expect(page.locator("#part-now")).to_have_text("3")
    assert run_of(shop, run_id).good_count == 0
    context.set_offline(False)
    is_sent(page)
    assert run_of(shop, run_id).good_count == 2
    context.close()
